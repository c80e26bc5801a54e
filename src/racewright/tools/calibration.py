"""A bender's constants from test bends: radius, lead, marks and springback, with standard errors.

Notation (mm, radians)
  A  angle after relaxing      C  cut length       m  mark, from the stub's end (hook toward that end)
  s  where the arc begins: s = m - p, with p the position of the mark used
  p  arrow: -a; centre: R pi/8; star: R (pi/2 - 1) - D/2; or unknowns of their own where the shoe's are fitted
  W  setback of the back: from a tangent point to the corner where the two outer lines meet

The outer line of each straight runs D/2 outside the axis, so an arc of radius R + D/2 touches both outer lines and
their corner lies W = (R + D/2) tan(A/2) past the tangent points. Stub and leg are measured from the cut ends to that
corner (for a 90: to the back of the bend; for other angles, lay straight-edges along both backs):
  stub = s + W
  leg  = C - s - R A + W
Both are linear in R, a and the marks' positions. At A = 90 degrees they are the take-up and the gain of a 90:
stub - m = R + D/2 + a, stub + leg - C = D + R (2 - pi/2).

Every length read (stub, mark, leg, cut) has standard error `length_se_mm`, the angle `angle_se_rad`; an angle read
wrong moves stub and leg together by dW/dA and dW/dA - R, and a mark read wrong moves them apart, which is why the
weights are a 2 x 2 block for each bend. dW/dA needs R, so the fit is repeated until R stands still. The covariance
comes from the stated reading errors (linear propagation, JCGM 100:2008, 5.2), not from the residuals: a few test bends
are too few for that.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, degrees, inf, isfinite, pi, radians, sqrt, tan

import msgspec

from racewright.catalogue.raceways import Raceway
from racewright.errors import InputError, LimitError
from racewright.geometry.linalg import Matrix, condition_number, svd
from racewright.geometry.vector import even
from racewright.tools.benders import (
    BenderProfile,
    Reference,
    centre_position_mm,
    profile_from_radius_and_lead,
    star_position_mm,
)
from racewright.units.said import said_finely

LENGTH_SE_MM = 0.8  # half a sixteenth: common practice, no source
ANGLE_SE_RAD = radians(0.5)  # a pocket level read to half a degree: common practice, no source
MOST_CONDITION = 50.0  # a single 45 passes (37), a single 30 (85) does not: its radius would be anyone's guess
LEAST_ANGLE_RAD = radians(5.0)
MOST_ANGLE_RAD = radians(135.0)
SAME_ANGLE_RAD = radians(10.0)  # angles closer than this tell no slope of springback
#: Pointers of conduit that opens as conduit does pass this `held` once in 40 times at most.
MOST_HELD = 1.96


class TestBend(msgspec.Struct, frozen=True, kw_only=True):
    """One test bend. `angle_rad` after relaxing; `stub_mm`, `leg_mm` to the corner of the backs; `mark_mm` from the
    stub's end, set at `reference` with the hook toward the stub. Leg and cut length may be left out, both together.
    `pointer_rad`: what the pointer showed while pulling, if it was read."""

    __test__ = False  # not a test case, whatever a test runner thinks of the name

    angle_rad: float
    stub_mm: float
    mark_mm: float
    leg_mm: float | None = None
    cut_length_mm: float | None = None
    reference: Reference = "arrow"
    pointer_rad: float | None = None


class Residual(msgspec.Struct, frozen=True, kw_only=True):
    """Measured minus fitted: `bend` counts from 1, `what` is 'stub' or 'leg'."""

    bend: int
    what: str
    off_mm: float


class Springback(msgspec.Struct, frozen=True, kw_only=True):
    """Pointer = A + b0 + b1 A, where neither b0 nor b1 is below 0: conduit opens, and the more the further it is bent.
    `alone_b0_rad`, `alone_b1`: the line by the pointers alone, whatever it is; its standard errors and covariance, its
    `misfit` as of a calibration, and `worst`: the bend, from 1, whose pointer is the furthest off it. `held`: by how
    many times what readings can be off the line that is taken is further from the pointers than that one. `terms` 1:
    one angle tells no b0, and it is taken as 0 (the errors and covariance are then of b1)."""

    b0_rad: float
    b1: float
    alone_b0_rad: float
    alone_b1: float
    held: float
    terms: int
    b0_se_rad: float
    b1_se: float
    covariance: tuple[tuple[float, ...], ...]
    degrees_of_freedom: int
    misfit: float | None
    worst: int


class Calibration(msgspec.Struct, frozen=True, kw_only=True):
    """Fitted constants. `names` orders `standard_errors_mm` and `covariance_mm2`. `misfit` is the root of chi squared
    over the degrees of freedom: near 1 the bends agree as well as the readings allow, and beyond `most_misfit` they do
    not; None with nothing left over."""

    radius_mm: float
    arrow_lead_mm: float
    centre_mm: float
    star_mm: float
    names: tuple[str, ...]
    standard_errors_mm: tuple[float, ...]
    covariance_mm2: tuple[tuple[float, ...], ...]
    residuals: tuple[Residual, ...]
    degrees_of_freedom: int
    misfit: float | None
    condition: float
    springback: Springback | None = None


def calibrate(
    raceway: Raceway,
    bends: Sequence[TestBend],
    *,
    fit_marks: Sequence[Reference] = (),
    length_se_mm: float = LENGTH_SE_MM,
    angle_se_rad: float = ANGLE_SE_RAD,
) -> Calibration:
    """Radius, lead and, for the marks named in `fit_marks` ('center', 'star'), their own positions on the shoe.

    Raises InputError for a bend that cannot be (angle out of 5..135 degrees, a length not over zero, leg without cut
    length), LimitError where the bends do not determine what is asked; its hint says which bend to add.
    """
    _check_bends(bends)
    names = ("radius", "lead", *(mark for mark in ("center", "star") if mark in fit_marks))
    diameter = raceway.outside_diameter_mm
    rows, right, labels = _equations(bends, names, diameter)
    condition = _determined(rows, names, bends)
    radius = 6.0 * diameter
    for _ in range(30):
        weighted, values = _weighted(
            rows, right, labels, bends, radius + diameter / 2.0, radius, length_se_mm, angle_se_rad
        )
        parts = svd(weighted)
        solution, covariance = parts.solution(values), parts.covariance()
        moved, radius = abs(solution[0] - radius), solution[0]
        if not isfinite(radius) or radius <= diameter / 2.0:
            raise LimitError(
                f"The test bends mean a radius of {said_finely(radius)}, which no conduit of"
                f" {said_finely(diameter)} can have.",
                hint="look for a slip: stub and leg to the corner of the backs, mark from the stub's end",
                quantity="radius",
                asked=radius,
                limit=diameter / 2.0,
            )
        if moved < 1e-12 * radius:
            break
    found = dict(zip(names, solution, strict=True))
    freedom = len(rows) - len(names)
    chi = sum((value - _dot(row, solution)) ** 2 for row, value in zip(weighted, values, strict=True))
    return Calibration(
        radius_mm=radius,
        arrow_lead_mm=found["lead"],
        centre_mm=found.get("center", centre_position_mm(radius)),
        star_mm=found.get("star", star_position_mm(radius, diameter)),
        names=names,
        standard_errors_mm=tuple(sqrt(covariance[i][i]) for i in range(len(names))),
        covariance_mm2=tuple(tuple(row) for row in covariance),
        residuals=tuple(
            Residual(bend=index + 1, what=what, off_mm=value - _dot(row, solution))
            for row, value, (index, what) in zip(rows, right, labels, strict=True)
        ),
        degrees_of_freedom=freedom,
        misfit=sqrt(chi / freedom) if freedom else None,
        condition=condition,
        springback=fit_springback(bends, angle_se_rad=angle_se_rad),
    )


def fit_springback(bends: Sequence[TestBend], *, angle_se_rad: float = ANGLE_SE_RAD) -> Springback | None:
    """Overbend by regression of (pointer - A) on A, over the bends whose pointer was read; None if there are none.

    Two terms where two angles 10 degrees apart were bent, else b1 alone: bends at one angle tell how far it springs
    back, and springing back grows with the angle (every part of an arc opens alike).
    """
    pairs = [(n, bend.angle_rad, bend.pointer_rad) for n, bend in enumerate(bends, 1) if bend.pointer_rad is not None]
    if not pairs:
        return None
    angles = [angle for _, angle, _ in pairs]
    over = [pointer - angle for _, angle, pointer in pairs]
    terms = 2 if max(angles) - min(angles) >= SAME_ANGLE_RAD else 1
    rows = [[1.0, angle][-terms:] for angle in angles]
    parts = svd(rows)
    *_, b0, b1 = (0.0, *parts.solution(over))
    alone = (b0, b1)
    taken = _opening(angles, over, alone)
    variance = 2.0 * angle_se_rad**2  # the pointer and the angle are both read
    off = [abs(value - alone[0] - alone[1] * angle) for value, angle in zip(over, angles, strict=True)]
    apart = sum((alone[0] - taken[0] + (alone[1] - taken[1]) * angle) ** 2 for angle in angles)
    freedom = len(rows) - terms
    covariance = tuple(tuple(value * variance for value in row) for row in parts.covariance())
    return Springback(
        b0_rad=taken[0],
        b1=taken[1],
        alone_b0_rad=alone[0],
        alone_b1=alone[1],
        held=sqrt(apart / variance),
        terms=terms,
        b0_se_rad=sqrt(covariance[0][0]) if terms == 2 else 0.0,
        b1_se=sqrt(covariance[-1][-1]),
        covariance=covariance,
        degrees_of_freedom=freedom,
        misfit=sqrt(sum(value**2 for value in off) / variance / freedom) if freedom else None,
        worst=max(zip(off, pairs, strict=True), key=lambda one: even(one[0]))[1][0],
    )


def _opening(angles: Sequence[float], over: Sequence[float], alone: tuple[float, float]) -> tuple[float, float]:
    """The nearest (b0, b1) of which neither is below 0: `alone`, or one of the two alone, or none."""
    if min(alone) >= 0.0:
        return alone
    same = max(0.0, sum(over) / len(over))
    grows = max(0.0, _dot(angles, over) / _dot(angles, angles))
    return min(
        ((0.0, grows), (same, 0.0)),
        key=lambda one: even(
            sum((value - one[0] - one[1] * angle) ** 2 for value, angle in zip(over, angles, strict=True))
        ),
    )


def most_misfit(degrees_of_freedom: int) -> float:
    """The error left that readings without a slip pass once in 100 times: the root of the 99 % point of chi squared
    over its degrees of freedom (Wilson and Hilferty 1931, from memory; within 0.5 %)."""
    ninth = 2.0 / (9.0 * degrees_of_freedom)
    return float((1.0 - ninth + 2.3263 * sqrt(ninth)) ** 1.5)


def profile_from_calibration(name: str, raceway: Raceway, calibration: Calibration) -> BenderProfile:
    """The fitted constants as a bender profile; its standing names what was measured."""
    measured = (*calibration.names, *(("springback",) if calibration.springback else ()))
    profile = profile_from_radius_and_lead(
        name,
        raceway,
        calibration.radius_mm,
        calibration.arrow_lead_mm,
        source=f"least squares, test bends: {len({r.bend for r in calibration.residuals})}",
        standing=f"{', '.join(measured[:-1])} and {measured[-1]} measured by the user",
    )
    springback = calibration.springback
    return msgspec.structs.replace(
        profile,
        centre_mm=calibration.centre_mm,
        star_mm=calibration.star_mm,
        springback_b0_rad=springback.b0_rad if springback else None,
        springback_b1=springback.b1 if springback else None,
    )


def _dot(row: Sequence[float], solution: Sequence[float]) -> float:
    return sum(a * b for a, b in zip(row, solution, strict=True))


def _check_bends(bends: Sequence[TestBend]) -> None:
    for number, bend in enumerate(bends, 1):
        if not LEAST_ANGLE_RAD <= bend.angle_rad <= MOST_ANGLE_RAD:
            raise InputError(
                f"Test bend {number}: {degrees(bend.angle_rad):g} degrees cannot be used.",
                hint="use angles from 5 to 135 degrees: outside them the corner of the backs cannot be measured",
                field=f"bend {number} angle",
            )
        if bend.stub_mm <= 0 or bend.mark_mm < 0:
            raise InputError(
                f"Test bend {number}: stub and mark must be lengths from the stub's end.", field=f"bend {number} stub"
            )
        if (bend.leg_mm is None) != (bend.cut_length_mm is None):
            raise InputError(
                f"Test bend {number}: leg and cut length say something only together.",
                hint="give both or leave both out",
                field=f"bend {number} leg",
            )


def _start_terms(reference: Reference, names: Sequence[str], diameter: float) -> tuple[dict[str, float], float]:
    """s = m + constant + sum of coefficient * unknown."""
    if reference == "arrow":
        return {"lead": 1.0}, 0.0
    if reference in names:
        return {reference: -1.0}, 0.0
    if reference == "center":
        return {"radius": -pi / 8.0}, 0.0
    return {"radius": -(pi / 2.0 - 1.0)}, diameter / 2.0


def _equations(
    bends: Sequence[TestBend], names: Sequence[str], diameter: float
) -> tuple[Matrix, list[float], list[tuple[int, str]]]:
    rows: Matrix = []
    right: list[float] = []
    labels: list[tuple[int, str]] = []
    for index, bend in enumerate(bends):
        half = tan(bend.angle_rad / 2.0)
        terms, constant = _start_terms(bend.reference, names, diameter)
        start = [terms.get(name, 0.0) for name in names]
        known = bend.mark_mm + constant
        rows.append([start[0] + half, *start[1:]])
        right.append(bend.stub_mm - known - diameter / 2.0 * half)
        labels.append((index, "stub"))
        if bend.leg_mm is not None and bend.cut_length_mm is not None:
            rows.append([half - bend.angle_rad - start[0], *(-value for value in start[1:])])
            right.append(bend.leg_mm - bend.cut_length_mm + known - diameter / 2.0 * half)
            labels.append((index, "leg"))
    return rows, right, labels


def _determined(rows: Matrix, names: Sequence[str], bends: Sequence[TestBend]) -> float:
    used = {bend.reference for bend in bends}
    missing = [
        n for n, ref in (("lead", "arrow"), ("center", "center"), ("star", "star")) if n in names and ref not in used
    ]
    if missing:
        what = "arrow" if missing[0] == "lead" else missing[0]
        raise LimitError(
            f"No test bend was set on the {what}, so its place on the shoe cannot be found.",
            hint=f"make one bend with the mark at the {what}, and give its stub, leg, cut length and mark",
            quantity="unknowns",
            asked=len(names),
            limit=len(names) - len(missing),
            unit="",
        )
    condition = condition_number(rows)
    if condition > MOST_CONDITION:
        shown = "no limit" if condition == inf else f"{condition:.0f}"
        raise LimitError(
            f"{len(rows)} readings from {len(bends)} test bend(s) do not determine {len(names)} unknowns"
            f" ({', '.join(names)}): condition number {shown}, at most {MOST_CONDITION:.0f}.",
            hint="add a bend of 90 degrees with stub, leg, cut length and mark; or stubs at two angles far apart",
            quantity="condition number",
            asked=condition,
            limit=MOST_CONDITION,
            unit="",
        )
    return condition


def _weighted(
    rows: Matrix,
    right: list[float],
    labels: list[tuple[int, str]],
    bends: Sequence[TestBend],
    outer_mm: float,
    radius_mm: float,
    length_se_mm: float,
    angle_se_rad: float,
) -> tuple[Matrix, list[float]]:
    """Rows divided by the Cholesky factor of each bend's 2 x 2 covariance of (stub, leg)."""
    out: Matrix = []
    values: list[float] = []
    base = length_se_mm**2  # a stub has two lengths read in it (stub, mark), a leg three (leg, cut, mark)
    for position, (index, what) in enumerate(labels):
        angle = bends[index].angle_rad
        # dW/dA = (R + D/2) / (2 cos^2(A/2)); the arc of the leg grows by R dA
        by_stub = outer_mm / (2.0 * cos(angle / 2.0) ** 2) * angle_se_rad
        by_leg = by_stub - radius_mm * angle_se_rad
        first = sqrt(2.0 * base + by_stub**2)
        if what == "stub":
            out.append([value / first for value in rows[position]])
            values.append(right[position] / first)
            continue
        cross = (by_stub * by_leg - base) / first
        second = sqrt(3.0 * base + by_leg**2 - cross**2)
        above, above_value = out[-1], values[-1]
        out.append([(v - cross * a) / second for v, a in zip(rows[position], above, strict=True)])
        values.append((right[position] - cross * above_value) / second)
    return out, values
