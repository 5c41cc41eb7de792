"""Keeping the record: copies of it, whether they are whole, which are kept, and the way back."""
