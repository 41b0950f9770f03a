"""Thin-walled sections."""
