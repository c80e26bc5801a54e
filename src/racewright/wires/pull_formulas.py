"""Pulling wire through one straight or one bend: the formulas, on numbers.

Notation (forces N, lengths mm, weights N/mm, angles radians)
    T1, T2   tension where the wires enter and where they leave the part, in the direction of the pull
    w        weight of all wires together, per length
    f        coefficient of friction times the weight correction factor c of the bundle
    L, R, A  length of a straight; centreline radius and angle of a bend
    slope    elevation of the axis above level, positive uphill in the direction of the pull
    D, d     inside diameter of the raceway, outside diameter of one wire
Wires cannot push: a tension that would fall below zero is zero, and the reel must be held back there.
A wire in a bend obeys  dT/ds = w sin(slope) + f |T n / R + w g'|  with n toward the bend's centre and g' the part of
gravity that is square to the axis. The capstan rule leaves w out of it.
"""

from __future__ import annotations

from collections.abc import Callable
from math import ceil, cos, cosh, exp, hypot, pi, sin, sinh, sqrt
from typing import Literal

from racewright.errors import LimitError
from racewright.geometry.vector import Vec, cross, dot, unit
from racewright.units.said import said_finely

Bundle = Literal["single", "pair", "triangular", "cradled", "diamond", "complex"]
_SQUARE = 1e-9
# Bore over wire diameter at which 2, 3 and 4 equal wires just touch: 2, 1 + 2/sqrt(3), 1 + sqrt(2) (geometry).
_LEAST_BORE: dict[Bundle, float] = {
    "pair": 2.0,
    "triangular": 1.0 + 2.0 / sqrt(3.0),
    "cradled": 1.0 + 2.0 / sqrt(3.0),
    "diamond": 1.0 + sqrt(2.0),
}
_LEAST_COUNT: dict[Bundle, str] = {"pair": "Two", "triangular": "Three", "cradled": "Three", "diamond": "Four"}


def straight_tension_n(
    tension_n: float, weight_n_per_mm: float, length_mm: float, friction: float, slope_rad: float = 0.0
) -> float:
    """Tension after a straight."""
    # ICEA-based pulling guides: level T2 = T1 + w f L; incline T2 = T1 + w L (sin slope + f cos slope).
    per_mm = weight_n_per_mm * (sin(slope_rad) + friction * abs(cos(slope_rad)))
    return max(0.0, tension_n + per_mm * length_mm)


def capstan_tension_n(tension_n: float, friction: float, angle_rad: float) -> float:
    """Tension after a bend, the weight of the wires in the bend left out."""
    # ICEA-based pulling guides: T2 = T1 e^(f A).
    return tension_n * exp(friction * angle_rad)


def level_bend_tension_n(
    tension_n: float, weight_n_per_mm: float, radius_mm: float, friction: float, angle_rad: float
) -> float:
    """Tension after a level bend, with weight."""
    # Solves dT/dA = f sqrt(T^2 + (w R)^2): T2 = T1 cosh(f A) + sqrt(T1^2 + (w R)^2) sinh(f A).
    x = friction * angle_rad
    return tension_n * cosh(x) + hypot(tension_n, weight_n_per_mm * radius_mm) * sinh(x)


def bend_tension_n(
    tension_n: float,
    weight_n_per_mm: float,
    radius_mm: float,
    friction: float,
    angle_rad: float,
    axis: Vec,
    toward: Vec,
    down: Vec,
) -> float:
    """Tension after a bend that lies any way in the room, with weight.

    `axis` and `toward`: unit vectors at the entry, in the direction of the pull. Level bends in closed form, bends in
    an upright plane in closed form where the wires stay on one wall, all others by Runge-Kutta steps (error below
    1e-5 of the tension or of w R, whichever is larger).
    """
    g = unit(down)
    if abs(dot(axis, g)) < _SQUARE and abs(dot(toward, g)) < _SQUARE:
        return level_bend_tension_n(tension_n, weight_n_per_mm, radius_mm, friction, angle_rad)
    wr = weight_n_per_mm * radius_mm
    if abs(dot(cross(axis, toward), g)) < _SQUARE:
        closed = _upright_tension_n(tension_n, wr, friction, angle_rad, axis, toward, g)
        if closed is not None:
            return closed
    return _stepped_tension_n(tension_n, wr, friction, angle_rad, axis, toward, g)


def _upright_tension_n(
    tension_n: float, wr: float, friction: float, angle_rad: float, axis: Vec, toward: Vec, g: Vec
) -> float | None:
    """Closed form in an upright plane; None where the wires change walls or go slack on the way."""
    # Along the bend sin(slope) = p sin a + q cos a with p = -toward.g, q = -axis.g (slope of the turned axis), and
    # the wall force is e (T - wR m), m = p cos a - q sin a, e = +1 on the inner wall, -1 on the outer wall.
    # Particular solution of T' = wR (sin slope) + f e (T - wR m); the rest is (T1 - T_p(0)) e^(f e a).
    p, q = -dot(toward, g), -dot(axis, g)
    wall = tension_n - wr * p
    e = 1.0 if wall >= 0.0 else -1.0
    k = friction * e

    def particular(a: float) -> float:
        s, m = p * sin(a) + q * cos(a), p * cos(a) - q * sin(a)
        return wr * (-2.0 * k * s - (1.0 - k * k) * m) / (1.0 + k * k)

    def tension_at(a: float) -> float:
        return (tension_n - particular(0.0)) * exp(k * a) + particular(a)

    for i in range(1, 65):
        a = angle_rad * i / 64
        t = tension_at(a)
        if t < 0.0 or e * (t - wr * (p * cos(a) - q * sin(a))) < 0.0:
            return None
    return tension_at(angle_rad)


def _stepped_tension_n(
    tension_n: float, wr: float, friction: float, angle_rad: float, axis: Vec, toward: Vec, g: Vec
) -> float:
    along0, across0, side = dot(axis, g), dot(toward, g), dot(cross(axis, toward), g)

    def slope(a: float, t: float) -> float:
        c, k = cos(a), sin(a)
        t = max(t, 0.0)
        pressed = hypot(t + wr * (across0 * c - along0 * k), wr * side)
        return -wr * (along0 * c + across0 * k) + friction * pressed

    return _runge_kutta(slope, tension_n, angle_rad, max(64, ceil(angle_rad / (pi / 2.0) * 512)))


def _runge_kutta(slope: Callable[[float, float], float], start: float, to: float, steps: int) -> float:
    h, t = to / steps, start
    for i in range(steps):
        a = i * h
        k1 = slope(a, t)
        k2 = slope(a + h / 2, t + h / 2 * k1)
        k3 = slope(a + h / 2, t + h / 2 * k2)
        k4 = slope(a + h, t + h * k3)
        t = max(0.0, t + h / 6 * (k1 + 2 * k2 + 2 * k3 + k4))
    return t


def bundle_of(count: int, bore_mm: float, wire_mm: float, *, equal: bool = True) -> Bundle:
    """How the wires lie. Three equal wires: triangular where D/d is below 2.5, cradled above (between 2.5 and 3 either
    happens and cradled is the heavier); four: diamond where D/d is below 3 (limits of D/d from memory). Unequal wires,
    more than four, or four in a wide bore: 'complex'."""
    if count == 1:
        return "single"
    if not equal or count > 4:
        return "complex"
    if count == 2:
        return "pair"
    if count == 3:
        return "triangular" if bore_mm / wire_mm < 2.5 else "cradled"
    return "diamond" if bore_mm / wire_mm < 3.0 else "complex"


def weight_correction(bundle: Bundle, bore_mm: float, wire_mm: float) -> float:
    """How much more the bundle presses on the walls than its weight. Raises LimitError where the wires do not fit."""
    if bundle == "single":
        return 1.0
    # Cable makers' pulling guides (formulas read in a reprint): four or more, complex: c = 1.4.
    if bundle == "complex":
        return 1.4
    if bore_mm <= _LEAST_BORE[bundle] * wire_mm:
        raise LimitError(
            f"{_LEAST_COUNT[bundle]} wires {said_finely(wire_mm)} across do not go into a bore of "
            f"{said_finely(bore_mm)}.",
            hint="take a larger raceway or fewer wires.",
            quantity="wire diameter",
            asked=wire_mm,
            limit=bore_mm / _LEAST_BORE[bundle],
        )
    # Cable makers' pulling guides: x = d / (D - d); triangular (and a pair) 1/sqrt(1 - x^2); cradled 1 + 4/3 x^2;
    # diamond 1 + 2 x^2 (diamond from memory).
    x = wire_mm / (bore_mm - wire_mm)
    if bundle == "cradled":
        return 1.0 + 4.0 / 3.0 * x * x
    if bundle == "diamond":
        return 1.0 + 2.0 * x * x
    return 1.0 / sqrt(1.0 - x * x)


def sidewall_n_per_mm(bundle: Bundle, tension_n: float, radius_mm: float, correction: float) -> float:
    """Force per length that presses the most loaded wire on the wall of a bend; `tension_n` leaving it."""
    # Cable makers' pulling guides: single T/R; pair and triangular c T/(2R); cradled (3c - 2) T/(3R); diamond
    # (c - 1) T/R. Complex: no form found, so the whole load T/R is taken to lie on one wire.
    whole = tension_n / radius_mm
    if bundle in ("pair", "triangular"):
        return whole * correction / 2.0
    if bundle == "cradled":
        return whole * (3.0 * correction - 2.0) / 3.0
    if bundle == "diamond":
        return whole * (correction - 1.0)
    return whole
