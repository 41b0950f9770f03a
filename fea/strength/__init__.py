"""Strength of what holds a frame together: welds, bolts, seams, and where fatigue is to be feared.

A planning aid: it sizes what a drawing must say, and replaces no engineer.
"""
