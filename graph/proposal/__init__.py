"""Proposals: a colleague's one checked, one's own written."""
