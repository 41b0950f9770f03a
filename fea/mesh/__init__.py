"""From a frame to arrays of nodes, elements, ties and springs."""
