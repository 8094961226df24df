"""Eggtooth runs a ball python breeding season."""
