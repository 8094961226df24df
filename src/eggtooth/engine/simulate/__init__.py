"""An invented colony of our own with hidden truth, for demo data, calibration and benchmarks."""
