"""Processes in which work runs that may have to be ended, and the pipes to them."""
