"""Loads of a vehicle on the road, from the masses in its document."""
