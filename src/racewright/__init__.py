"""Racewright: lay out, mark, bend and check electrical conduit by hand, exactly, on the person's own bender."""

__version__ = "0.1.0"
