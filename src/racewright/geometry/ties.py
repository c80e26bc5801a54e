"""Choosing among figures that are equal but for a float's last bits, the same way on every machine."""

from __future__ import annotations


def even(value: float) -> float:
    """The figure without its last bits, to order by: two C libraries differ there. What is chosen by it names an index
    (or stands in a fixed sequence) to decide between equals."""
    return round(value, 9) + 0.0
