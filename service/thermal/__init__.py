"""The vessel's heat: what it loses, where it is going, and the fermentation seen in it. Pure.

Modules that import numpy (`estimate` and all it is made of) run only in a worker process
(`python -m service.thermal.worker`) that ends; everything else here is plain Python.
"""
