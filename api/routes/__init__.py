"""The routes: each translates and calls; none decides anything."""
