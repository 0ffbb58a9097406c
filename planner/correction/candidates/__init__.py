"""What could be cut where: blocks of candidates, what fits, and how far they reach."""
