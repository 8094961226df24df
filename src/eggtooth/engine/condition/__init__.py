"""Weights, readiness, male wear and meals."""
