"""Samples that arrive over MQTT: where the broker is, and the thread that listens to it."""
