"""Writing knowledge: checks with places, overlays, sheets, what a change changes."""
