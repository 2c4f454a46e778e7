"""The knowledge as a book: entries, counts, ways between things, search."""
