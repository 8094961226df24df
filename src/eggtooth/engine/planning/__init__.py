"""Who goes with whom."""
