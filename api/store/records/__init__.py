"""Records in the store: documents with their history, lists, pictures, shares."""
