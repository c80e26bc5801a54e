"""Three-component vectors as plain tuples of floats: small, hashable, quick, the same in the browser."""

from __future__ import annotations

from math import cos, hypot, sin, sqrt

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
    return (
        v[0] * c + x[0] * s + axis[0] * k,
        v[1] * c + x[1] * s + axis[1] * k,
        v[2] * c + x[2] * s + axis[2] * k,
    )
