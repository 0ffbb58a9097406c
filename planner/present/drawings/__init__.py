"""Drawings of counterweights, crankshafts, vectors and charts."""
