"""Pages: one module a page or a group of pages; each translates, calls, and renders."""
