"""From the display of the balancing machine to unbalance in the crankshaft frame, and back."""
