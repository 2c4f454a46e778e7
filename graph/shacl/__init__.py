"""SHACL Core over columns."""
