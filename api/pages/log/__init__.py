"""Pages: the treatment record and past treatments."""
