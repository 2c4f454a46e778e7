"""The case record: its form, how it is read and checked, the invented cases."""
