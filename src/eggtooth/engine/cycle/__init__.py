"""A female's season: where she stands and when what comes next."""
