"""The brewer's numbers: pure functions with units in every name and their working beside every answer.

`calls.CALLS` lists the computations that need no batch; `reading` corrects what an instrument said,
`readiness` judges whether a beer may be packaged.
"""
