"""From options to a plan: what goes with what, in which order, within which means."""
