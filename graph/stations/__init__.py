"""Humidification worked out for an object: which part when, with what, for how long."""
