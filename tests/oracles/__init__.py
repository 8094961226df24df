"""Slow, plain twins of the fast algorithms."""
