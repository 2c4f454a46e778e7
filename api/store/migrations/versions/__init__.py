"""One file a step, named r and its number; each names the one before it."""
