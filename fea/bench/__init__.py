"""A page on this computer only, on which a frame's figures follow switches and sliders."""
