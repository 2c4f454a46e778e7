"""Sourced knowledge as Turtle; found as package data."""
