"""The chance that a Gaussian error stays inside a disc, or inside disc, slab and cone at once.

Notation
    m1, m2, s1, s2   means and standard deviations along the two principal axes
    r                radius of the disc
    Phi              the normal distribution function
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache, lru_cache
from math import asin, cos, erf, exp, hypot, pi, sin, sqrt
from statistics import NormalDist

_NORMAL = NormalDist()
_SQRT2 = sqrt(2.0)
#: Points of the lattice: a prime; the sum is good to about half a percent.
_POINTS = 1009


@lru_cache(maxsize=4)
def legendre(count: int) -> tuple[tuple[float, float], ...]:
    """Nodes and weights of Gauss-Legendre quadrature on [-1, 1], by Newton steps on the Legendre polynomial."""
    out = []
    for k in range(count):
        x = cos(pi * (k + 0.75) / (count + 0.5))
        slope = 1.0
        for _ in range(50):
            low, high = 1.0, x
            for j in range(2, count + 1):
                low, high = high, ((2 * j - 1) * x * high - (j - 1) * low) / j
            slope = count * (x * high - low) / (x * x - 1.0)
            step = high / slope
            x -= step
            if abs(step) < 1e-15:
                break
        out.append((x, 2.0 / ((1.0 - x * x) * slope * slope)))
    return tuple(out)


def slab_chance(mean: float, sd: float, half_width: float) -> float:
    """P(|x| <= half_width) for one Gaussian."""
    if sd <= 0.0:
        return 1.0 if abs(mean) <= half_width else 0.0
    high = erf((half_width - mean) / (sd * _SQRT2))
    low = erf((-half_width - mean) / (sd * _SQRT2))
    return 0.5 * (high - low)


def disc_chance(sd_1: float, sd_2: float, radius: float, mean_1: float = 0.0, mean_2: float = 0.0) -> float:
    """P(x1^2 + x2^2 <= radius^2) for two independent Gaussians, to about 1e-9.

    The inner integral is closed (Phi); the outer one runs over x1 = r sin t by Gauss-Legendre panels cut to nine
    standard deviations about the mean, so that a needle-thin spread is met as well.
    """
    if sd_1 < sd_2:
        sd_1, sd_2, mean_1, mean_2 = sd_2, sd_1, mean_2, mean_1
    if sd_1 <= 0.0:
        return 1.0 if hypot(mean_1, mean_2) <= radius else 0.0
    low, high = max(-radius, mean_1 - 9.0 * sd_1), min(radius, mean_1 + 9.0 * sd_1)
    if low >= high:
        return 0.0
    t_low, t_high = asin(max(-1.0, low / radius)), asin(min(1.0, high / radius))
    panels = min(400, max(8, int(8.0 * radius / sd_1), int(2.0 * sqrt(radius / max(sd_2, radius * 1e-5)))))
    width = (t_high - t_low) / panels
    total = 0.0
    for panel in range(panels):
        middle = t_low + (panel + 0.5) * width
        for node, weight in legendre(12):
            t = middle + 0.5 * width * node
            reach = radius * cos(t)
            x = radius * sin(t)
            z = (x - mean_1) / sd_1
            density = exp(-0.5 * z * z) / (sd_1 * sqrt(2.0 * pi))
            total += weight * 0.5 * width * density * slab_chance(mean_2, sd_2, reach) * reach
    return min(1.0, max(0.0, total))


def cholesky(cov: Sequence[Sequence[float]]) -> list[list[float]]:
    """Lower L with L L^T = cov; a row that is a mix of those before gets a zero on the diagonal."""
    n = len(cov)
    out = [[0.0] * n for _ in range(n)]
    for i in range(n):
        for j in range(i + 1):
            rest = cov[i][j] - sum(out[i][k] * out[j][k] for k in range(j))
            if i == j:
                out[i][i] = sqrt(rest) if rest > 1e-12 * max(cov[i][i], 1e-300) else 0.0
            elif out[j][j] > 0.0:
                out[i][j] = rest / out[j][j]
    return out


def joint_chance(cov: Sequence[Sequence[float]], across: float, along: float, angle: float) -> float:
    """P of all three at once: hypot(x0, x1) <= across, hypot(x2, x3) <= angle, |x4| <= along, centred Gaussian
    with covariance `cov` (5 x 5, in that order).

    The slab is integrated in closed form given the other four; those by a rank-1 lattice (the same points
    every time) in the cube of their distribution functions. Held between the product of the single
    chances, which is a proved lower bound for symmetric convex sets (Royen 2014, Gaussian correlation
    inequality), and the least of them. Good to about half a percent.
    """
    lower = cholesky(cov)
    (a, _, _, _, _), (b, c, _, _, _), (d, e, f, _, _), (g, h, i, j, _), (k, m, n, o, rest) = lower
    total = 0.0
    for p, q, r, s in _lattice():
        if (
            hypot(a * p, b * p + c * q) <= across
            and hypot(d * p + e * q + f * r, g * p + h * q + i * r + j * s) <= angle
        ):
            total += slab_chance(k * p + m * q + n * r + o * s, rest, along)
    return total / _POINTS


@cache
def _lattice() -> tuple[tuple[float, ...], ...]:
    """Points of the lattice as normal deviates."""
    axes = [sqrt(prime) % 1.0 for prime in (2.0, 3.0, 5.0, 7.0)]
    deviate = _NORMAL.inv_cdf
    return tuple(zip(*([deviate(_fold((k + 0.5) * a)) for k in range(_POINTS)] for a in axes), strict=True))


def _fold(x: float) -> float:
    """Baker's fold of the fractional part: makes the lattice sum of a smooth function converge faster."""
    part = x % 1.0
    return 1.0 - abs(2.0 * part - 1.0)
