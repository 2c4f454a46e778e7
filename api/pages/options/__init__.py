"""Pages: options, their reasons, and what reaches what."""
