"""bobplan: plans the correction of an engine crankshaft on the balancing machine."""

__version__ = "0.1.0"
