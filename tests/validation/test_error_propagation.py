"""First-order spread (JCGM 100:2008, law of propagation) against a Monte Carlo of the exact chain (JCGM 101:2008).

The Monte Carlo is written apart from the package: axes and place turned and moved in numpy, relative spins. Whichever
bend is made first, its plane is the one that the others are sighted on.
Spreads agree to 0.5 % of each other at hand-bending size, plus what the runs leave to chance: drawn from a scrambled
Sobol sequence (scipy), 32,768 leave less than 200,000 drawn each by itself (0.5 %).
"""

from functools import cache
from math import hypot, radians
from typing import Any

import pytest

from racewright.bends.model import Bend, BentPiece
from racewright.fit.accuracy import Accuracy, Capture
from racewright.fit.chance import disc_chance, joint_chance, slab_chance
from racewright.fit.forecast import forecast

pytestmark = pytest.mark.oracle
numpy = pytest.importorskip("numpy")
qmc, special = pytest.importorskip("scipy.stats.qmc"), pytest.importorskip("scipy.special")
RUNS = 2**15
R = 113.6
SHAPES = {
    "offset": [(254.0, 30.0, 0.0), (480.0, 30.0, 180.0)],
    "stub": [(200.0, 90.0, 0.0)],
    "saddle": [(200.0, 22.5, 0.0), (430.0, 45.0, 180.0), (710.0, 22.5, 0.0)],
    "kick": [(480.0, 9.0, 0.0), (900.0, 90.0, 90.0)],
    "rolling": [(200.0, 45.0, 0.0), (600.0, 30.0, 120.0), (1000.0, 90.0, 205.0)],
}
LENGTH = 1400.0


def build(name: str) -> BentPiece:
    return BentPiece(
        cut_length_mm=LENGTH,
        outside_diameter_mm=17.9,
        bends=tuple(
            Bend(arc_start_mm=s, angle_rad=radians(a), roll_rad=radians(r), radius_mm=R) for s, a, r in SHAPES[name]
        ),
    )


def shift(pose: Any, x: Any) -> Any:
    ex, ey, ez, at = pose
    return ex, ey, ez, at + ex * x


def spin(pose: Any, t: Any) -> Any:
    """About x, right-handed: normal z toward binormal x cross z = -y."""
    ex, ey, ez, at = pose
    return ex, ey * numpy.cos(t) + ez * numpy.sin(t), ez * numpy.cos(t) - ey * numpy.sin(t), at


def arc(pose: Any, a: Any) -> Any:
    """In the x-z plane, from x toward z."""
    ex, ey, ez, at = pose
    out = at + ex * (R * numpy.sin(a)) + ez * (R * (1.0 - numpy.cos(a)))
    return ex * numpy.cos(a) + ez * numpy.sin(a), ey, ez * numpy.cos(a) - ex * numpy.sin(a), out


@cache
def normal_draws(count: int, runs: int) -> Any:
    """So many independent standard normal errors, run by run."""
    return special.ndtri(qmc.Sobol(count, seed=20260101).random(runs)).T


def monte_carlo(name: str, accuracy: Accuracy, hook: str, first: int, runs: int = RUNS) -> Any:
    """The pose at the far end, run by run: axes x, y, z and the place, each one row a run."""
    drawn = normal_draws(3 * len(SHAPES[name]) + 1, runs)
    pose: Any = [numpy.tile(column, (runs, 1)).T for column in numpy.eye(3, 4).T]
    at = numpy.zeros(runs)
    for i, (start, angle, roll) in enumerate(SHAPES[name]):
        d_mark = accuracy.mark_mm * drawn[3 * i]
        d_angle = accuracy.angle_rad * drawn[3 * i + 1]
        d_roll = (0.0 if i + 1 == first else accuracy.roll_rad) * drawn[3 * i + 2]
        s = start + d_mark - (R * d_angle if hook == "B" else 0.0)
        turn = radians(angle) + d_angle
        phi = radians(roll) + d_roll
        pose = spin(arc(spin(shift(pose, s - at), phi), turn), -phi)
        at = s + R * turn
    cut = LENGTH + accuracy.cut_mm * drawn[-1]
    return [column.T for column in shift(pose, cut - at)]


@pytest.mark.parametrize(("name", "first"), [(n, k + 1) for n, bends in SHAPES.items() for k in range(len(bends))])
@pytest.mark.parametrize("hook", ["A", "B"])
def test_spreads_and_chance_agree_with_monte_carlo(name: str, first: int, hook: str) -> None:
    accuracy, capture = Accuracy(), Capture(across_mm=12.0, along_mm=6.0, angle_rad=radians(2.0))
    told = forecast(
        build(name),
        accuracy,
        capture,
        hooks=[hook] * len(SHAPES[name]),  # type: ignore[list-item]
        first=first,
    )
    runs = monte_carlo(name, accuracy, hook, first)
    none = Accuracy(mark_mm=0.0, angle_rad=0.0, roll_rad=0.0, cut_mm=0.0)
    exact = monte_carlo(name, none, "A", first, 1)
    axes = numpy.stack([axis[0] for axis in exact[:3]], axis=1)
    off = (runs[3] - exact[3]) @ axes
    lean = (runs[0] - exact[0]) @ axes
    across = numpy.sqrt(numpy.linalg.eigvalsh(numpy.cov(off[:, 1:].T)))
    leans = numpy.sqrt(numpy.linalg.eigvalsh(numpy.cov(lean[:, 1:].T)))
    whole = numpy.sqrt((off.var(axis=0)).sum())
    assert hypot(told.along_mm, told.across_most_mm, told.across_least_mm) == pytest.approx(whole, rel=0.008)
    # lengthwise the first order can be small, and the second order (lean squared) then shows: up to 4 % here
    assert told.along_mm == pytest.approx(off[:, 0].std(), rel=0.045)
    assert told.across_most_mm == pytest.approx(across[1], rel=0.01)
    assert told.across_least_mm == pytest.approx(across[0], rel=0.012, abs=0.03)
    assert told.angle_most_rad == pytest.approx(leans[1], rel=0.01)
    assert told.angle_least_rad == pytest.approx(leans[0], rel=0.012, abs=2e-4)
    inside = numpy.hypot(off[:, 1], off[:, 2]) <= capture.across_mm
    within = numpy.abs(off[:, 0]) <= capture.along_mm
    straight = numpy.hypot(lean[:, 1], lean[:, 2]) <= capture.angle_rad
    # chances in absolute terms: 0.005 for the first-order step and 0.004 for the runs
    assert told.chance_across == pytest.approx(inside.mean(), abs=0.009)
    assert told.chance_along == pytest.approx(within.mean(), abs=0.009)
    assert told.chance_angle == pytest.approx(straight.mean(), abs=0.009)
    assert told.chance == pytest.approx((inside & within & straight).mean(), abs=0.02)


def test_disc_chance_against_scipy() -> None:
    """Equal spreads: the noncentral chi-squared law with two degrees of freedom, in scipy."""
    stats = pytest.importorskip("scipy.stats")
    for offset in (0.0, 0.3, 1.0, 4.0):
        for radius in (0.1, 1.0, 2.5, 5.0):
            wanted = stats.ncx2.cdf(radius**2, 2, offset**2 + 1e-300)
            assert disc_chance(1.0, 1.0, radius, offset * 0.6, offset * 0.8) == pytest.approx(wanted, abs=1e-8)


def test_disc_chance_of_unequal_spreads_against_adaptive_quadrature() -> None:
    integrate = pytest.importorskip("scipy.integrate")
    for ratio in (0.9, 0.3, 0.05, 0.002):
        for radius in (0.2, 1.0, 3.0):

            def density(t: float, ratio: float = ratio, radius: float = radius) -> float:
                # polar form of the same integral: the radius is integrated in closed form
                q = numpy.cos(t) ** 2 + numpy.sin(t) ** 2 / ratio**2
                return float((1.0 - numpy.exp(-0.5 * radius**2 * q)) / (2.0 * numpy.pi * ratio * q))

            wanted = 4.0 * integrate.quad(density, 0.0, numpy.pi / 2, limit=500, points=[2 * ratio, 0.1])[0]
            assert disc_chance(ratio, 1.0, radius) == pytest.approx(wanted, abs=1e-7)


def test_joint_chance_of_independent_errors_is_the_product() -> None:
    cov = [[0.0] * 5 for _ in range(5)]
    for i, sd in enumerate((1.0, 0.5, 0.8, 0.2, 0.7)):
        cov[i][i] = sd * sd
    wanted = disc_chance(1.0, 0.5, 1.2) * disc_chance(0.8, 0.2, 0.9) * slab_chance(0.0, 0.7, 0.8)
    assert joint_chance(cov, 1.2, 0.8, 0.9) == pytest.approx(wanted, abs=0.01)
