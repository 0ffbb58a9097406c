"""The shared words: vectors, planes, crankshaft, throws, counterweights, materials."""
