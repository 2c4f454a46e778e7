"""Drawings as SVG, made from values; they know no page."""
