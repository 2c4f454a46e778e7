"""Accounts in the store: names, keys, sessions, tokens, and their events."""
