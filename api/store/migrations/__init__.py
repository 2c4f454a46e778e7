"""How the tables came about, step by step; see ``env.py`` for how to add a step."""
