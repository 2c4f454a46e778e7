"""Small drawings of damages and techniques whose words are easily taken for one another."""
