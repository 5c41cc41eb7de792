"""A kitchen that is not there: rooms, vessels, a fermentation and probes, computed for any time."""
