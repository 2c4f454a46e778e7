"""Rules as SHACL; found as package data."""
