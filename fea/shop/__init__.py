"""What a shop does with a frame before and while it welds: measuring, supporting, welding."""
