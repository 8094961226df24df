"""Timings that print what they measured."""
