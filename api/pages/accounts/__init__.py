"""Pages: accounts, signing in, sharing."""
