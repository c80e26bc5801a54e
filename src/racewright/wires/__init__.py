"""Wires in a raceway: fill, ampacity, drop, grounding, boxes, pulling."""
