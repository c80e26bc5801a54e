"""Editions of a wiring code as data, each row with its source and standing."""
