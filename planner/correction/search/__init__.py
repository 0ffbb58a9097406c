"""The plan and its proof: bounds, exact searches, moves on the grid of the shop."""
