"""Element mechanics, vectorised over elements."""
