"""Random jobs and command lines: what must hold whatever is given."""
