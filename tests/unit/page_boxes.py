"""How much of a page each primitive takes: to see that nothing leaves the page or lies on another."""

from __future__ import annotations

from math import cos, hypot, radians, sin

from racewright.drawing.metrics import MM_PER_PT
from racewright.drawing.scene import Arc, Box, Circle, Line, Polygon, Polyline, Primitive, Text, around

#: The letters that the cards use: tallest accented capital and deepest descender, in parts of the type size.
ASCENT, DESCENT = 0.76, 0.24


def text_box(text: Text) -> Box:
    """The upright rectangle that the line of text takes (ascent to descent, advance width)."""
    width = text.width_mm
    size = text.size_pt * MM_PER_PT
    left = {"start": 0.0, "middle": -width / 2.0, "end": -width}[text.anchor]
    a = radians(text.rotation_deg)
    c, s = cos(a), sin(a)
    corners = []
    for dx in (left, left + width):
        for dy in (-ASCENT * size, DESCENT * size):
            corners.append((text.at[0] + dx * c + dy * s, text.at[1] - dx * s + dy * c))
    return around(tuple(corners))


def bounds(item: Primitive) -> Box:
    """The upright rectangle that a primitive takes, half its stroke included."""
    match item:
        case Text():
            return text_box(item)
        case Circle():
            (x, y), r = item.centre, item.radius_mm + item.width_mm / 2.0
            return Box(x - r, y - r, x + r, y + r)
        case Arc():
            steps = tuple(item.point_at(item.start_deg + item.sweep_deg * k / 24.0) for k in range(25))
            return around(steps).grown(item.width_mm / 2.0)
        case Line():
            return around((item.start, item.end)).grown(item.width_mm / 2.0)
        case Polyline(points=(a, b), cap="butt"):
            # cut off square at both ends: half the stroke across, nothing along
            length = hypot(b[0] - a[0], b[1] - a[1]) or 1.0
            x, y = (item.width_mm / 2.0 * (b[k] - a[k]) / length for k in (1, 0))
            return around(((a[0] + x, a[1] - y), (a[0] - x, a[1] + y), (b[0] + x, b[1] - y), (b[0] - x, b[1] + y)))
        case Polyline() | Polygon():
            return around(item.points).grown(item.width_mm / 2.0)
