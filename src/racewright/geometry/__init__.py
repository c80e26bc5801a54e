"""Vectors, the carried frame, the chain of straights and arcs, and distances to solids."""
