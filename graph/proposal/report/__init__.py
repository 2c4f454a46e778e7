"""The written proposal, section by section."""
