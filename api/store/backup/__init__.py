"""Copies of the store: written, read back, checked, in open formats."""
