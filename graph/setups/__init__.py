"""Physics asked from files and records: set-ups of layers, doses, air, light and load."""
