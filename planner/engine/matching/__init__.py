"""Weights matched: which part on which rod, which piston with which pin, and how well."""
