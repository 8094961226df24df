"""Changes of the store, in order."""
