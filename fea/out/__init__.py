"""Pictures, pages and files made of results."""
