"""Is it good: tolerance, grades, and what a verdict is worth."""
