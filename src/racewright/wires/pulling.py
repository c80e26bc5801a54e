"""Pulling wire through a run: tension and sidewall pressure part by part, both ways round, and the better way.

Notation (forces N, lengths mm)
    feed     the end where the wires go in; the pull is at the other end
    use      the largest of tension / its limit and sidewall pressure / its limit: above 1 is too much
The wires run along the inside of a bend, so the sidewall's radius is the bend's less half the bore.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees
from typing import Literal

import msgspec

from racewright.route.run_line import (
    Part,
    RunShape,
    clipped,
    parts_of,
    sections,
    slope_rad,
    turned_round,
)
from racewright.units.factors import LBF_PER_FT
from racewright.wires.pull_formulas import (
    bend_tension_n,
    capstan_tension_n,
    sidewall_n_per_mm,
    straight_tension_n,
)
from racewright.wires.pull_wires import Pulled, PullWire, gather

Feed = Literal["A", "B"]


class PullSettings(msgspec.Struct, frozen=True, kw_only=True):
    """How the pull is reckoned. `friction` 0.5: dry, the usual figure of ICEA-based guides; a lubricant's maker gives
    less. `sidewall_limit_n_per_mm` None: 300 lb/ft (ICEA-based guides; many wires are allowed more by their maker).
    `feed_tension_n`: drag of the reel. `weight_in_bends` False: the plain capstan rule in bends."""

    friction: float = 0.5
    sidewall_limit_n_per_mm: float | None = None
    feed_tension_n: float = 0.0
    basket_grip: bool = False
    weight_in_bends: bool = True

    @property
    def sidewall_limit(self) -> float:
        """The limit that holds, N/mm."""
        given = self.sidewall_limit_n_per_mm
        return 300.0 * LBF_PER_FT if given is None else given


class PullStep(msgspec.Struct, frozen=True, kw_only=True):
    """One straight or bend in the direction of the pull. `slope_deg` at its entry, positive uphill. `slack`: the
    tension would fall below zero here and the reel must be held back."""

    kind: Literal["straight", "bend"]
    start_mm: float
    end_mm: float
    length_mm: float
    angle_deg: float
    radius_mm: float
    slope_deg: float
    tension_in_n: float
    tension_out_n: float
    sidewall_n_per_mm: float
    slack: bool


class Pull(msgspec.Struct, frozen=True, kw_only=True):
    """One way round: wires fed in at end `feed`, pulled out at the other."""

    feed: Feed
    steps: tuple[PullStep, ...]
    tension_n: float
    greatest_tension_n: float
    sidewall_n_per_mm: float
    use: float

    @property
    def pulled_from(self) -> Feed:
        """The end where the pull is."""
        return "B" if self.feed == "A" else "A"


#: Beyond every rope and wire: a pull that would be harder is told as this (our own bound; it keeps figures finite).
MOST_TENSION_N = 1e9


class PullComparison(msgspec.Struct, frozen=True, kw_only=True):
    """One section between pull points, pulled both ways. `better` is the end to feed from, or '' where the two
    differ by less than 1 %."""

    start_mm: float
    end_mm: float
    wires: Pulled
    fed_at_a: Pull
    fed_at_b: Pull
    better: Literal["A", "B", ""]

    @property
    def chosen(self) -> Pull:
        """The better way round (fed at A where there is no difference)."""
        return self.fed_at_b if self.better == "B" else self.fed_at_a


def compare_pulls(
    shape: RunShape, wires: Sequence[PullWire], settings: PullSettings | None = None
) -> tuple[PullComparison, ...]:
    """Every section between pull points, both ways. Raises InputError or LimitError as `gather` does."""
    have = settings or PullSettings()
    pulled = gather(wires, shape.raceway.inside_diameter_mm, basket_grip=have.basket_grip)
    parts = parts_of(shape)
    out = []
    for a, b in sections(shape):
        way = clipped(parts, a, b)
        fed_a = pull_through(way, "A", pulled, shape, have)
        fed_b = pull_through(turned_round(way), "B", pulled, shape, have)
        better: Literal["A", "B", ""] = "A" if fed_a.use < fed_b.use else "B"
        if abs(fed_a.use - fed_b.use) <= 0.01 * max(fed_a.use, fed_b.use):
            better = ""
        out.append(PullComparison(start_mm=a, end_mm=b, wires=pulled, fed_at_a=fed_a, fed_at_b=fed_b, better=better))
    return tuple(out)


def greatest_friction(
    shape: RunShape, wires: Sequence[PullWire], settings: PullSettings | None = None, most: float = 2.0
) -> float:
    """The friction up to which every section stays within its limits when fed at its better end (bisected to 0.001,
    rounded down; `most` where even that holds, 0 where none does). Raises as `compare_pulls` does."""
    have = settings or PullSettings()

    def holds(friction: float) -> bool:
        pairs = compare_pulls(shape, wires, msgspec.structs.replace(have, friction=friction))
        return all(min(pair.fed_at_a.use, pair.fed_at_b.use) <= 1.0 for pair in pairs)

    low, high = 0.0, most
    if holds(most):
        return most
    while high - low > 0.001:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low


def pull_through(parts: Sequence[Part], feed: Feed, pulled: Pulled, shape: RunShape, settings: PullSettings) -> Pull:
    """Tension through parts given in the direction of the pull."""
    tension = greatest = settings.feed_tension_n
    steps = []
    for part in parts:
        step = _step(part, tension, pulled, shape, settings)
        tension = step.tension_out_n
        greatest = max(greatest, tension)
        steps.append(step)
    sidewall = max((s.sidewall_n_per_mm for s in steps), default=0.0)
    return Pull(
        feed=feed,
        steps=tuple(steps),
        tension_n=tension,
        greatest_tension_n=greatest,
        sidewall_n_per_mm=sidewall,
        use=max(greatest / pulled.limit_n, sidewall / settings.sidewall_limit),
    )


def _step(part: Part, tension: float, pulled: Pulled, shape: RunShape, settings: PullSettings) -> PullStep:
    friction = settings.friction * pulled.correction
    weight = pulled.weight_n_per_mm
    slope = slope_rad(part.axis, shape.down)
    sidewall = 0.0
    if not part.is_bend:
        out = straight_tension_n(tension, weight, part.length_mm, friction, slope)
    else:
        if settings.weight_in_bends:
            out = bend_tension_n(
                tension, weight, part.radius_mm, friction, part.angle_rad, part.axis, part.toward, shape.down
            )
        else:
            out = capstan_tension_n(tension, friction, part.angle_rad)
        out = min(out, MOST_TENSION_N)
        inside = max(part.radius_mm - shape.raceway.inside_diameter_mm / 2.0, 1e-6)
        sidewall = sidewall_n_per_mm(pulled.bundle, max(tension, out), inside, pulled.correction)
    return PullStep(
        kind="bend" if part.is_bend else "straight",
        start_mm=part.start_mm,
        end_mm=part.end_mm,
        length_mm=part.length_mm,
        angle_deg=degrees(part.angle_rad),
        radius_mm=part.radius_mm,
        slope_deg=round(degrees(slope), 9) + 0.0,
        tension_in_n=tension,
        tension_out_n=out,
        sidewall_n_per_mm=sidewall,
        slack=out <= 0.0 and weight > 0.0 and part.length_mm > 0.0 and slope < 0.0,
    )
