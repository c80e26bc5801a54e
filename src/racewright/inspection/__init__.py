"""Checks of a planned run against the codebook and its wires: findings, never an approval."""
