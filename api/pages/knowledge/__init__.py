"""Pages: the knowledge as a book, its ways and queries."""
