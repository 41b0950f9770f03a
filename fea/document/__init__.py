"""Documents: from text to validated entries."""
