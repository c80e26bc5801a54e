"""The pulling formulas against the rope's own equation, integrated by an outside solver (scipy, tight tolerance)."""

from __future__ import annotations

from math import cos, hypot, pi, sin, sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from racewright.geometry.vector import Vec, cross, dot, rotate, unit
from racewright.wires.pull_formulas import bend_tension_n, capstan_tension_n, level_bend_tension_n

DOWN: Vec = (0.0, 0.0, -1.0)


def _solved(tension: float, weight: float, radius: float, friction: float, angle: float, u: Vec, d: Vec) -> float:
    from scipy.integrate import solve_ivp

    def rate(a: float, y: list[float]) -> list[float]:
        t = max(y[0], 0.0)
        axis = tuple(p * cos(a) + q * sin(a) for p, q in zip(u, d, strict=True))
        inward = tuple(q * cos(a) - p * sin(a) for p, q in zip(u, d, strict=True))
        along = -weight * radius * axis[2]
        gravity = (0.0, 0.0, -weight * radius)
        square = [g - along * x for g, x in zip(gravity, axis, strict=True)]
        press = [t * n + g for n, g in zip(inward, square, strict=True)]
        grows = weight * radius * axis[2] + friction * sqrt(sum(p * p for p in press))
        return [max(grows, 0.0) if y[0] <= 0.0 else grows]

    done = solve_ivp(rate, (0.0, angle), [tension], rtol=1e-9, atol=1e-9, max_step=angle / 200)
    return max(0.0, float(done.y[0, -1]))


@pytest.mark.oracle
@given(
    st.floats(0.0, 5000.0),
    st.floats(0.001, 0.1),
    st.floats(100.0, 3000.0),
    st.floats(0.05, 0.9),
    st.floats(0.1, pi / 2),
    st.floats(-pi / 2, pi / 2),
    st.floats(-pi, pi),
)
@settings(max_examples=40, deadline=None)
def test_any_bend(t: float, w: float, r: float, f: float, a: float, slope: float, roll: float) -> None:
    u: Vec = (cos(slope), 0.0, sin(slope))
    d = rotate((0.0, 1.0, 0.0), u, roll)
    want = _solved(t, w, r, f, a, u, d)
    assert bend_tension_n(t, w, r, f, a, u, d, DOWN) == pytest.approx(want, rel=2e-5, abs=2e-5 * (t + w * r))


@pytest.mark.oracle
@given(
    st.floats(0.0, 2000.0),
    st.floats(0.001, 0.1),
    st.floats(100.0, 3000.0),
    st.floats(0.05, 0.9),
    st.floats(0.1, pi / 2),
    st.floats(-pi / 2, pi / 2),
    st.sampled_from([1.0, -1.0]),
)
@settings(max_examples=40, deadline=None)
def test_upright_bend(t: float, w: float, r: float, f: float, a: float, slope: float, way: float) -> None:
    u: Vec = (cos(slope), 0.0, sin(slope))
    d: Vec = (-way * sin(slope), 0.0, way * cos(slope))
    want = _solved(t, w, r, f, a, u, d)
    assert bend_tension_n(t, w, r, f, a, u, d, DOWN) == pytest.approx(want, rel=2e-5, abs=2e-5 * (t + w * r))


@given(
    st.floats(0.0, 5000.0), st.floats(0.001, 0.1), st.floats(100.0, 3000.0), st.floats(0.05, 0.9), st.floats(0.1, pi)
)
@settings(max_examples=100, deadline=None)
def test_level_bend_is_never_below_the_capstan(t: float, w: float, r: float, f: float, a: float) -> None:
    level, capstan = level_bend_tension_n(t, w, r, f, a), capstan_tension_n(t, f, a)
    assert level >= capstan * (1.0 - 1e-12)
    # The weight adds at most what it would on a straight as long as the arc, carried on by the capstan.
    assert level <= capstan_tension_n(t + w * r * f * a, f, a) * (1.0 + 1e-12)


@given(
    st.floats(10.0, 5000.0),
    st.floats(0.05, 0.9),
    st.floats(0.1, pi / 2),
    st.floats(-pi / 2, pi / 2),
    st.floats(-pi, pi),
)
@settings(max_examples=100, deadline=None)
def test_weightless_wire_is_the_capstan(t: float, f: float, a: float, slope: float, roll: float) -> None:
    u: Vec = (cos(slope), 0.0, sin(slope))
    d = unit(rotate((0.0, 1.0, 0.0), u, roll))
    assert abs(dot(u, d)) < 1e-9
    assert hypot(*cross(u, d)) == pytest.approx(1.0)
    assert bend_tension_n(t, 0.0, 500.0, f, a, u, d, DOWN) == pytest.approx(capstan_tension_n(t, f, a), rel=1e-9)
