"""The frame and its load cases as plain data."""
