"""The query service: queries run in a process of their own, within limits."""
