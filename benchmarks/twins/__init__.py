"""Invented batches whose true gravity is known, from two makers that share no equation."""
