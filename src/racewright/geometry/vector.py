"""Three-component vectors as plain tuples of floats (small, hashable, quick, the same in the browser), and the
frame that is carried along the conduit."""

from __future__ import annotations

from math import cos, hypot, sin, sqrt
from typing import NamedTuple

Vec = tuple[float, float, float]

ZERO: Vec = (0.0, 0.0, 0.0)
EX: Vec = (1.0, 0.0, 0.0)
EY: Vec = (0.0, 1.0, 0.0)
EZ: Vec = (0.0, 0.0, 1.0)


def add(a: Vec, b: Vec) -> Vec:
    """a + b."""
    return (a[0] + b[0], a[1] + b[1], a[2] + b[2])


def sub(a: Vec, b: Vec) -> Vec:
    """a - b."""
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def scale(a: Vec, k: float) -> Vec:
    """k times a."""
    return (a[0] * k, a[1] * k, a[2] * k)


def along(origin: Vec, direction: Vec, distance: float) -> Vec:
    """The point `distance` from `origin` in `direction`."""
    return (
        origin[0] + direction[0] * distance,
        origin[1] + direction[1] * distance,
        origin[2] + direction[2] * distance,
    )


def dot(a: Vec, b: Vec) -> float:
    """Scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vec, b: Vec) -> Vec:
    """Vector product, right-handed."""
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def norm(a: Vec) -> float:
    """Length, without overflow."""
    return hypot(a[0], a[1], a[2])


def distance(a: Vec, b: Vec) -> float:
    """Distance between two points."""
    return hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2])


def unit(a: Vec) -> Vec:
    """a at length 1. Raises ZeroDivisionError for the zero vector."""
    n = sqrt(a[0] * a[0] + a[1] * a[1] + a[2] * a[2])
    return (a[0] / n, a[1] / n, a[2] / n)


def rotate(v: Vec, axis: Vec, angle_rad: float) -> Vec:
    """v turned right-handed by `angle_rad` about the unit vector `axis` (Rodrigues)."""
    c, s = cos(angle_rad), sin(angle_rad)
    k = dot(axis, v) * (1.0 - c)
    x = cross(axis, v)
    return (v[0] * c + x[0] * s + axis[0] * k, v[1] * c + x[1] * s + axis[1] * k, v[2] * c + x[2] * s + axis[2] * k)


class Frame(NamedTuple):
    """`origin` on the axis, unit `axis` from end A to end B, unit `normal`: a bend at roll 0 turns toward it."""

    origin: Vec = ZERO
    axis: Vec = EX
    normal: Vec = EZ

    @property
    def binormal(self) -> Vec:
        """axis x normal: a bend at roll +90 degrees turns toward it."""
        return cross(self.axis, self.normal)

    def toward(self, roll_rad: float) -> Vec:
        """The direction that a bend at this roll turns toward (right-handed about the axis)."""
        c, s = cos(roll_rad), sin(roll_rad)
        n, b = self.normal, self.binormal
        return (n[0] * c + b[0] * s, n[1] * c + b[1] * s, n[2] * c + b[2] * s)

    def advanced(self, length_mm: float) -> Frame:
        """The frame after a straight."""
        return Frame(along(self.origin, self.axis, length_mm), self.axis, self.normal)

    def bent(self, radius_mm: float, angle_rad: float, roll_rad: float) -> Frame:
        """The frame after an arc, carried without twist."""
        return bent_toward(self, self.toward(roll_rad), radius_mm, angle_rad, cos(roll_rad))


def bent_toward(frame: Frame, toward: Vec, radius_mm: float, angle_rad: float, cos_roll: float) -> Frame:
    """The frame after an arc toward a unit vector square to its axis: `Frame.bent` with the rotations written out, so
    that a hundred bends in a row keep it square to the last bits.

    normal = cos(phi) d - sin(phi) b, and turning about b takes d to d cos A - u sin A.
    """
    (x, y, z), (ux, uy, uz), (nx, ny, nz) = frame
    dx, dy, dz = toward
    c, k = cos(angle_rad), sin(angle_rad)
    p, q = radius_mm * k, 2.0 * radius_mm * sin(0.5 * angle_rad) ** 2
    e, f = cos_roll * (c - 1.0), cos_roll * k
    return Frame(
        (x + ux * p + dx * q, y + uy * p + dy * q, z + uz * p + dz * q),
        (ux * c + dx * k, uy * c + dy * k, uz * c + dz * k),
        (nx + dx * e - ux * f, ny + dy * e - uy * f, nz + dz * e - uz * f),
    )


def even(value: float) -> float:
    """The figure without its last bits, to order by: two C libraries differ there. What is chosen by it names an index
    (or stands in a fixed sequence) to decide between equals."""
    return round(value, 9) + 0.0
