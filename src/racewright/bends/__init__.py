"""Centreline -> bends: one file a shape. Bends know a radius, never a bender."""
