"""Questions on an answer: why, what if, which test first, how sure the order is."""
