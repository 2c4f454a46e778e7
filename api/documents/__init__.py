"""Documents that are written to a folder: the book of reference."""
