"""Plumbrail: stiffness of ladder and perimeter frames, and what added parts buy."""
