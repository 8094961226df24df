"""Kinship and inbreeding, who carries what, who sired whom."""
