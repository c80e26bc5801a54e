"""Sticks, bending order and handling: which bend first, which way round, what clears."""
