"""Invented colonies with known truth, for the demo, calibration and benchmarks."""
