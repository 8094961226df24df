"""The csv files: `animals.csv`, `log.csv`, `wishes.csv`, `incubators.csv`. Knows nothing of the store."""
