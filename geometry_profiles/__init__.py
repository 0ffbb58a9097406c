"""Counterweight outlines in mm and whether a hole fits them; knows nothing of the planner."""
