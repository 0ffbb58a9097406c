"""One correction cut: closed formulas for mass, moment and depth."""
