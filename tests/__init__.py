"""Tests: one file a module; slow, obviously right twins under `oracles`."""
