"""Display worked out: the figure and its padding, loads, headings, slopes, and what supports."""
