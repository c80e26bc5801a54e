"""Where the straps go: the fewest that the spacing allows, on straights that lie on their surface only, clear of bends,
couplings and ends.

Notation (stations and lengths mm along the run)
    places   closed intervals in which a strap's centre may stand
    first    farthest that the first strap may be from a termination (box, conduit body, free end)
    reach    x -> the farthest station that the next strap after x may have
The farthest strap that is allowed, again and again, is a smallest set: whatever k straps reach, these k reach at
least as far, because `reach` never falls as x grows. With the smallest count known, all limits are shrunk by the same
part as long as the count stays: the straps then stand with as much to spare as can be had.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from itertools import pairwise
from math import inf
from typing import Literal

import msgspec

from racewright.catalogue.raceways import Raceway
from racewright.codebook.edition import Edition, Row
from racewright.geometry.vector import even
from racewright.route.run_line import RunShape, arc_spans, sections, straights_of
from racewright.units.factors import MM_PER_FOOT

Span = tuple[float, float]
_EPS = 1e-6
#: Two straps stand no nearer than this without need (mm, own choice): nearer, the second carries nothing.
NEAR_MM = 150.0
#: A length between two terminations that has no room for a strap is called short up to this (mm; 18 in, common
#: practice, no source): whether it needs one is not for a program to say.
SHORT_MM = 457.2


class SupportRule(msgspec.Struct, frozen=True, kw_only=True):
    """Support figures of one raceway in one size range, mm. `straight_threaded_mm` holds between two straps on one
    straight with threaded couplings; `first_relaxed_mm` where structure does not allow the nearer place."""

    spacing_mm: float
    straight_threaded_mm: float | None
    first_mm: float
    first_relaxed_mm: float | None
    article: str
    relaxed_article: str
    source: str
    standing: str


def support_rule(raceway: Raceway, edition: Edition) -> SupportRule | None:
    """The support figures of this raceway, or None where the tables have none for it."""
    for row in edition.rows("supports"):
        if row.cells["type"] != raceway.family:
            continue
        if int(row.cells["md_from"]) <= raceway.metric_designator <= int(row.cells["md_to"]):
            return SupportRule(
                spacing_mm=float(row.cells["spacing_ft"]) * MM_PER_FOOT,
                straight_threaded_mm=_feet(row, "straight_threaded_ft"),
                first_mm=float(row.cells["first_ft"]) * MM_PER_FOOT,
                first_relaxed_mm=_feet(row, "first_relaxed_ft"),
                article=row.cells["article"],
                relaxed_article=row.cells["relaxed_article"],
                source=row.source,
                standing=row.standing,
            )
    return None


def _feet(row: Row, column: str) -> float | None:
    value = row.number(column)
    return None if value is None else float(value) * MM_PER_FOOT


class SupportSettings(msgspec.Struct, frozen=True, kw_only=True):
    """Room that a strap needs, mm (common practice, no source; measure your own). `strap_half_width_mm` and
    `clear_mm` keep it off bends and couplings, `end_clear_mm` is what the connector takes at a box."""

    strap_half_width_mm: float = 12.7
    clear_mm: float = 12.7
    end_clear_mm: float = 50.8


class Shortfall(msgspec.Struct, frozen=True):
    """A distance that no strap can keep: 'first' from a termination, 'gap' between straps, 'last' to a termination;
    'short': a short length between two terminations with no room for any strap."""

    kind: Literal["first", "gap", "last", "short"]
    from_mm: float
    to_mm: float
    allowed_mm: float


class Wanted(msgspec.Struct, frozen=True):
    """Where a strap is wanted whatever the spacing asks; the nearest place between `low_mm` and `high_mm` will do."""

    at_mm: float
    low_mm: float
    high_mm: float


class SupportPlan(msgspec.Struct, frozen=True, kw_only=True):
    """Straps of a run, `stations_mm` from end A, and the distances that no strap can keep."""

    rule: SupportRule
    stations_mm: tuple[float, ...]
    shortfalls: tuple[Shortfall, ...]

    @property
    def count(self) -> int:
        """How many straps."""
        return len(self.stations_mm)


class _Task(msgspec.Struct, frozen=True):
    """One section between terminations, or straps that stand in any case (`after_strap`, `before_strap`): where, the
    limits, and the straights that the wider spacing holds on."""

    start: float
    end: float
    first: float
    last: float
    spacing: float
    straight_spacing: float
    straights: tuple[Span, ...]
    after_strap: bool = False
    before_strap: bool = False

    @property
    def wants_none(self) -> bool:
        """Whether the strap that stands at an end of it is all that it needs."""
        near = self.end - self.start <= min(self.first, self.last) + _EPS
        return near and (self.after_strap or self.before_strap)

    def reach(self, x: float, scale: float = 1.0) -> float:
        """The farthest next strap after one at x, all limits times `scale`."""
        far = x + self.spacing * scale
        for a, b in self.straights:
            if a - _EPS <= x <= b + _EPS:
                far = max(far, min(x + self.straight_spacing * scale, b))
        return far


def plan_supports(
    shape: RunShape,
    settings: SupportSettings | None = None,
    *,
    edition: Edition,
    wanted: Sequence[Wanted] = (),
    swept: Sequence[Span] | None = None,
) -> SupportPlan | None:
    """Straps of a run with the fewest pieces, those `wanted` among them; None where the tables have no spacing for the
    raceway. `swept`: where the bodies of its couplings come over the year; None: they stay.

    Where no place satisfies a limit the nearest place beyond is taken and the shortfall is reported.
    """
    rule = support_rule(shape.raceway, edition)
    if rule is None:
        return None
    have = settings or SupportSettings()
    places = strap_places(shape, have, swept)
    stand = [at for want in wanted if (at := _nearest_place(places, want)) is not None]
    stations: list[float] = list(stand)
    shortfalls: list[Shortfall] = []
    for task in _tasks(shape, rule, stand):
        if task.wants_none:
            continue
        # beside a strap that stands in any case as near as need be
        tried = []
        for beside in (NEAR_MM, 2.0 * have.strap_half_width_mm):
            inside = _within(places, task.start + beside * task.after_strap, task.end - beside * task.before_strap)
            tried.append((inside, *_apart(*_farthest(inside, task), task)))
        inside, forward, short = min(tried, key=lambda one: len(one[2]))
        if not forward and task.end - task.start <= SHORT_MM + _EPS:
            short = [Shortfall("short", task.start, task.end, task.first)]
        shortfalls += [_between_straps(one, task) for one in short]
        stations += forward if short else _spread(inside, task, forward)
    return SupportPlan(rule=rule, stations_mm=tuple(sorted(stations)), shortfalls=tuple(shortfalls))


def _apart(stations: list[float], short: list[Shortfall], task: _Task) -> tuple[list[float], list[Shortfall]]:
    """The same without straps that stand on the one before, and from which no next one is in reach all the same: such a
    distance is told from the one before."""
    kept, told = list(stations), list(short)
    for i, one in enumerate(told):
        at = kept.index(one.from_mm) if one.from_mm in kept else -1
        before = kept[at - 1] if at > 0 else task.start if at == 0 and task.after_strap else None
        if before is not None and kept[at] - before < NEAR_MM - _EPS:
            told[i] = msgspec.structs.replace(one, from_mm=before)
            del kept[at]
    return kept, told


def _nearest_place(places: Sequence[Span], want: Wanted) -> float | None:
    """The place nearest to one that is wanted; None where there is none within its bounds."""
    inside = [(max(a, want.low_mm), min(b, want.high_mm)) for a, b in places]
    near = [min(max(want.at_mm, a), b) for a, b in inside if a <= b]
    return min(near, key=lambda at: (even(abs(at - want.at_mm)), at), default=None)


def _between_straps(short: Shortfall, task: _Task) -> Shortfall:
    """A shortfall from a strap that stands in any case, or to one, is one between straps."""
    to_strap = (short.kind == "first" and task.after_strap) or (short.kind == "last" and task.before_strap)
    return msgspec.structs.replace(short, kind="gap") if to_strap else short


def bodies_of(shape: RunShape) -> tuple[Span, ...]:
    """Where the bodies of the run's couplings stand when it is put up."""
    return tuple((c.at_mm - c.half_mm, c.at_mm + c.half_mm) for c in shape.couplings)


def strap_places(shape: RunShape, settings: SupportSettings, swept: Sequence[Span] | None = None) -> tuple[Span, ...]:
    """Where a strap's centre may stand: the run less bends, couplings with all that they are `swept` over, pull points,
    ends and what does not lie on its surface, each with its margin."""
    margin = settings.strap_half_width_mm + settings.clear_mm
    blocked = [(a - margin, b + margin) for a, b in arc_spans(shape)]
    half = settings.strap_half_width_mm
    blocked += [(a - half, b + half) for a, b in shape.off_surface_mm]
    blocked += [(a - margin, b + margin) for a, b in (bodies_of(shape) if swept is None else swept)]
    end = settings.end_clear_mm + settings.strap_half_width_mm
    blocked += [(s - end, s + end) for s in shape.pull_points_mm]
    low = settings.strap_half_width_mm if shape.start == "free" else end
    high = settings.strap_half_width_mm if shape.end == "free" else end
    blocked += [(-1.0, low), (shape.length_mm - high, shape.length_mm + 1.0)]
    return free_spans(0.0, shape.length_mm, blocked)


def free_spans(start: float, end: float, blocked: Sequence[Span]) -> tuple[Span, ...]:
    """What open intervals leave of [start, end]: closed intervals, single points included."""
    out: list[Span] = []
    at = start
    for a, b in sorted(blocked):
        if a >= at:
            out.append((at, min(a, end)))
        at = max(at, b)
        if at > end:
            break
    if at <= end:
        out.append((at, end))
    return tuple((a, b) for a, b in out if start <= a <= b <= end)


def fewest(
    places: Sequence[Span],
    start: float,
    end: float,
    first: float,
    last: float,
    reach: Callable[[float], float],
    at_most: int | None = None,
) -> tuple[list[float], list[Shortfall]]:
    """A smallest set of straps: the first within `first` of `start`, the last within `last` of `end`, each next one
    within `reach` of the one before (`reach` must not fall as x grows). Shortfalls where no place will do.

    With `at_most` the search stops, with a shortfall, as soon as it needs more straps or meets an impossible limit.
    """
    out: list[float] = []
    short: list[Shortfall] = []
    lows = [a for a, _ in places]
    far, at = start + first, -inf
    while not out or end - out[-1] > last + _EPS:
        if at_most is not None and (short or len(out) == at_most):
            break
        x = _last_place(places, lows, far)
        if x is None or x <= at + _EPS:
            x = next((a for a in lows if a > at + _EPS), None)
            if x is None:
                break
            came = out[-1] if out else start
            kind: Literal["first", "gap"] = "gap" if out else "first"
            short.append(Shortfall(kind, came, x, far - came))
        out.append(x)
        at, far = x, reach(x)
    if not out or end - out[-1] > last + _EPS:
        short.append(Shortfall("last", out[-1] if out else start, end, last))
    return out, short


def _tasks(shape: RunShape, rule: SupportRule, stand: Sequence[float] = ()) -> list[_Task]:
    """The sections whose straps are sought one by one. `stand`: straps that stand in any case, in order."""
    wide = rule.spacing_mm
    if shape.threaded_couplings and rule.straight_threaded_mm is not None:
        wide = rule.straight_threaded_mm
    straights = straights_of(shape) if wide > rule.spacing_mm else ()
    tasks = []
    for start, end in sections(shape):
        for a, b in pairwise((start, *(at for at in stand if start < at < end), end)):
            # An end that goes on as another run is no termination: only the spacing counts there, as from a strap.
            goes_on_a, goes_on_b = (
                a <= 0.0 and shape.start == "coupling",
                b >= shape.length_mm and shape.end == "coupling",
            )
            at_a = rule.spacing_mm if goes_on_a or a > start else rule.first_mm
            at_b = rule.spacing_mm if goes_on_b or b < end else rule.first_mm
            tasks.append(_Task(a, b, at_a, at_b, rule.spacing_mm, wide, straights, a > start, b < end))
    return tasks


def _farthest(
    places: Sequence[Span], task: _Task, scale: float = 1.0, at_most: int | None = None
) -> tuple[list[float], list[Shortfall]]:
    first, last = task.first * scale, task.last * scale
    return fewest(places, task.start, task.end, first, last, lambda x: task.reach(x, scale), at_most)


def _spread(places: Sequence[Span], task: _Task, forward: list[float]) -> list[float]:
    """The straps at the smallest scale of all limits that keeps the count."""
    low, high, best = 0.0, 1.0, forward
    for _ in range(40):
        scale = 0.5 * (low + high)
        stations, short = _farthest(places, task, scale, len(forward))
        if short:
            low = scale
        else:
            high, best = scale, stations
    return best


def _within(places: Sequence[Span], start: float, end: float) -> list[Span]:
    return [(max(a, start), min(b, end)) for a, b in places if start <= end and b >= start and a <= end]


def _last_place(places: Sequence[Span], lows: list[float], far: float) -> float | None:
    """The farthest allowed station that is not beyond `far` (to rounding)."""
    i = bisect_right(lows, far + _EPS) - 1
    return None if i < 0 else max(places[i][0], min(far, places[i][1]))
