"""Pages: the record of a case, entered step by step."""
