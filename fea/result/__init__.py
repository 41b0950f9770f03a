"""What is read off a solution."""
