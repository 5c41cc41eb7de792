"""A batch's report: one page that needs nothing else, to print or to keep."""
