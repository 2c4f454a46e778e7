"""Who asks, how they prove it, and what they may do."""
