"""Physics at the bench: moisture, air, light and load, with their uncertainty."""
