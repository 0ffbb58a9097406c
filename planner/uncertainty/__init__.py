"""How sure a number is: the error model, draws, chances and odds."""
