"""Which cuts, where and how deep: the search, its proof, and verification by another route."""
