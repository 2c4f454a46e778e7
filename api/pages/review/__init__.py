"""Pages: frozen versions and what was said of them."""
