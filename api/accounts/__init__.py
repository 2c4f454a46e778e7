"""Accounts of those who share a store: names, passwords, sessions, tokens, sign-in elsewhere."""
