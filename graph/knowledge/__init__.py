"""Knowledge: Turtle read once, its concepts as values, the rules, what a claim rests on."""
