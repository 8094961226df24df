"""Genotype notation, crosses, clutch odds, sex linkage and welfare cautions."""
