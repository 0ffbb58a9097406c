"""Results made visible: texts, JSON and drawings."""
