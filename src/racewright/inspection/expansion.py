"""Thermal expansion: how much a straight moves, whether it needs a fitting, how many, where, and how to set it.

Notation (lengths mm, temperatures degrees Celsius inside, Fahrenheit at the edge)
    a        length change per length and kelvin: PVC 6.084e-5 (3.38e-5 in/in/F), steel 1.17e-5
    L        a straight between securely mounted items: boxes, conduit bodies, bends, terminations
    dT       highest less lowest temperature of the conduit itself over the year
    travel   what one fitting can take up, end to end
    open     how far the piston stands out of its seat when set: what the conduit can still grow
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil
from typing import Literal

import msgspec

from racewright.catalogue.raceways import Raceway
from racewright.codebook.edition import Cited, Edition, cited
from racewright.errors import Finding
from racewright.inspection.anchors import Reach, swept_spans
from racewright.inspection.supports import Span, bodies_of
from racewright.route.run_line import Part, RunShape, clipped, parts_of, sections, slope_rad
from racewright.survey.model import Climate
from racewright.units.tape import MM_PER_INCH, TapeStyle
from racewright.units.tape import format_length as _show
from racewright.units.warmth import Scale, format_warmth

_STEEP_RAD = 1.0


class ExpansionRow(msgspec.Struct, frozen=True, kw_only=True):
    """Length change in mm per mm and kelvin, and the change (mm) at which a fitting is needed (None: not said)."""

    per_kelvin: float
    fitting_at_mm: float | None
    article: str
    standing: str


def expansion_row(raceway: Raceway, edition: Edition) -> ExpansionRow | None:
    """The expansion figures of this raceway's material: PVC, or steel for the metal types."""
    row = edition.find("expansion", "type", "PVC" if raceway.family == "PVC" else "STEEL")
    if row is None:
        return None
    at = row.number("fitting_at_in")
    return ExpansionRow(
        per_kelvin=float(row.cells["per_degree_f"]) * 1.8,
        fitting_at_mm=None if at is None else float(at * MM_PER_INCH),
        article=row.cells["article"],
        standing=row.standing,
    )


class PistonSetting(msgspec.Struct, frozen=True, kw_only=True):
    """How far to leave the piston out of its seat (mm) with the conduit at `day_c` (degrees Celsius; said in the scale
    `day_in`), of its whole travel; any setting from `least_mm` to `most_mm` still has room for the hottest and the
    coldest day. All three are less by `per_kelvin_mm` for each kelvin that the conduit is warmer. `takes_mm`: what it
    takes up over the year, of the conduit between the places that hold it fast on both its sides. `barrel`: toward
    which end of the run the barrel lies; on a riser the upper one, so that rain does not run in."""

    travel_mm: float
    takes_mm: float
    open_mm: float
    least_mm: float
    most_mm: float
    day_c: float
    day_in: Scale
    per_kelvin_mm: float
    barrel: Literal["A", "B"] = "A"

    @property
    def day(self) -> str:
        """The conduit's temperature for which it is set, as it is said."""
        return format_warmth(self.day_c, self.day_in)


class StraightMove(msgspec.Struct, frozen=True, kw_only=True):
    """One straight between fixed items: how much it moves over the year and what it needs."""

    start_mm: float
    end_mm: float
    change_mm: float
    fitting_at_mm: float | None
    fittings: int
    stations_mm: tuple[float, ...]
    setting: PistonSetting | None


def length_change_mm(length_mm: float, kelvin: float, per_kelvin: float) -> float:
    """Length change of a straight."""
    # NFPA 70-2023 Table 352.44(A) is this product, rounded to 0.01 in per 100 ft.
    return length_mm * per_kelvin * kelvin


def fittings_needed(change_mm: float, travel_mm: float, fitting_at_mm: float | None) -> int:
    """How many fittings take up the change; none below the change at which the article asks for one."""
    # NFPA 70-2023 352.44(A): a change of 1/4 in or more in a straight run between securely mounted items.
    if fitting_at_mm is None or change_mm < fitting_at_mm - 1e-9:
        return 0
    return max(1, ceil(change_mm / travel_mm - 1e-9))


def piston_setting(climate: Climate, change_each_mm: float) -> PistonSetting:
    """The setting of one fitting that takes up `change_each_mm` over the year."""
    # PVC makers' handbooks: open = travel (hottest - installation) / (hottest - lowest).
    if climate.swing_k <= 0.0:
        half = climate.travel_mm / 2.0
        return PistonSetting(
            travel_mm=climate.travel_mm,
            takes_mm=change_each_mm,
            open_mm=half,
            least_mm=0.0,
            most_mm=climate.travel_mm,
            day_c=climate.install_c,
            day_in=climate.scale,
            per_kelvin_mm=0.0,
        )
    part = min(1.0, max(0.0, (climate.hottest_c - climate.install_c) / climate.swing_k))
    grow, shrink = change_each_mm * part, change_each_mm * (1.0 - part)
    return PistonSetting(
        travel_mm=climate.travel_mm,
        takes_mm=change_each_mm,
        open_mm=climate.travel_mm * part,
        least_mm=grow,
        most_mm=max(grow, climate.travel_mm - shrink),
        day_c=climate.install_c,
        day_in=climate.scale,
        per_kelvin_mm=change_each_mm / climate.swing_k,
    )


def expansion_of(shape: RunShape, climate: Climate, edition: Edition) -> tuple[StraightMove, ...]:
    """Every straight of the run with its yearly movement. A level straight with n fittings is cut into n equal
    lengths with a fitting in the middle of each; on a riser the single fitting goes near the top."""
    row = expansion_row(shape.raceway, edition)
    if row is None:
        return ()
    parts = parts_of(shape)
    out = []
    for a, b in sections(shape):
        for part in clipped(parts, a, b):
            if part.is_bend:
                continue
            change = length_change_mm(part.length_mm, max(0.0, climate.swing_k), row.per_kelvin)
            count = fittings_needed(change, climate.travel_mm, row.fitting_at_mm)
            out.append(
                StraightMove(
                    start_mm=part.start_mm,
                    end_mm=part.end_mm,
                    change_mm=change,
                    fitting_at_mm=row.fitting_at_mm,
                    fittings=count,
                    stations_mm=_stations(part, count, shape),
                    setting=_set(climate, change / count, part, shape) if count else None,
                )
            )
    return tuple(out)


def _set(climate: Climate, change_each_mm: float, part: Part, shape: RunShape) -> PistonSetting:
    slope = slope_rad(part.axis, shape.down)
    upper: Literal["A", "B"] = "B" if slope > _STEEP_RAD else "A"
    return msgspec.structs.replace(piston_setting(climate, change_each_mm), barrel=upper)


def _stations(part: Part, count: int, shape: RunShape) -> tuple[float, ...]:
    slope = slope_rad(part.axis, shape.down)
    if count == 1 and abs(slope) > _STEEP_RAD:
        # Near the top, the barrel's opening down, so that rain does not run in (PVC makers' handbooks).
        share = 0.9 if slope > 0.0 else 0.1
        return (part.start_mm + share * part.length_mm,)
    each = part.length_mm / count if count else 0.0
    return tuple(part.start_mm + each * (i + 0.5) for i in range(count))


def settings_between(
    shape: RunShape, climate: Climate | None, edition: Edition, reaches: Sequence[Reach]
) -> tuple[PistonSetting, ...]:
    """How each expansion fitting of the run is set, by what it takes up between the places that hold the conduit fast
    on both its sides; none without a `climate`."""
    if climate is None or not reaches:
        return ()
    moves = expansion_of(shape, climate, edition)
    out = []
    for reach in reaches:
        move = next(m for m in moves if m.start_mm <= reach.at_mm <= m.end_mm)
        takes = move.change_mm * (reach.high_mm - reach.low_mm) / (move.end_mm - move.start_mm)
        barrel = "A" if move.setting is None else move.setting.barrel
        out.append(msgspec.structs.replace(piston_setting(climate, takes), barrel=barrel))
    return tuple(out)


def swept_bodies(
    shape: RunShape, climate: Climate | None, edition: Edition, reaches: Sequence[Reach]
) -> tuple[Span, ...]:
    """Where the bodies of the run's couplings come over the year; without a `climate` they stay."""
    row = expansion_row(shape.raceway, edition)
    if climate is None or row is None:
        return bodies_of(shape)
    warmer, colder = climate.hottest_c - climate.install_c, climate.install_c - climate.lowest_c
    return swept_spans(shape, reaches, max(0.0, warmer) * row.per_kelvin, max(0.0, colder) * row.per_kelvin)


def _fittings_words(
    move: StraightMove, there: Sequence[tuple[Reach, PistonSetting]], wanted: PistonSetting, tape: TapeStyle
) -> str:
    """How many expansion fittings, where and how set; `there`: those that the run has. What is said to do does for each
    of them."""
    have = len(there) == move.fittings
    at = ", ".join(_show(s, tape) for s in ([reach.at_mm for reach, _ in there] if have else move.stations_mm))
    set_as = [setting for _, setting in there] if have else [wanted]
    what = f"{move.fittings} expansion fitting{'s' if move.fittings > 1 else ''}"
    what += f" at {at} take{'' if move.fittings > 1 else 's'} it up" if have else f" wanted at {at}"
    least = max(setting.least_mm for setting in set_as)
    most = max(least, min(setting.most_mm for setting in set_as))
    return (
        f"{what}, piston left {_show(wanted.open_mm, tape)} out with the conduit at {wanted.day}"
        f" (from {_show(least, tape)} to {_show(most, tape)} will do)."
    )


def _beyond_travel(reach: Reach, setting: PistonSetting, tape: TapeStyle, article: Cited) -> Iterator[Finding]:
    """A fitting between places that hold the conduit so far apart that it runs out of travel."""
    if setting.takes_mm <= setting.travel_mm + 1e-6:
        return
    low, high = (_show(at, tape) for at in reach.held_mm)
    yield Finding(
        rule="run.travel",
        severity="caution",
        message=f"The expansion fitting at {_show(reach.at_mm, tape)} has to take up {_show(setting.takes_mm, tape)}"
        f" over the year, for the conduit is held fast at {low} and at {high}; its travel is"
        f" {_show(setting.travel_mm, tape)}."
        " Hold the conduit fast nearer to it, or take one that travels farther.",
        **article,
        where=f"{low} to {high}",
        measured=setting.takes_mm,
        allowed=setting.travel_mm,
        unit="mm",
    )


def expansion_findings(
    shape: RunShape,
    climate: Climate | None,
    tape: TapeStyle,
    book: Edition,
    fittings: Sequence[tuple[Reach, PistonSetting]] = (),
) -> Iterator[Finding]:
    """What each straight's movement over the year asks for, and the expansion `fittings` of the run that take it up;
    without a `climate` that it was not worked."""
    row = expansion_row(shape.raceway, book)
    if row is None:
        return
    article = cited(f"{book.name} {row.article}", row.standing)
    if climate is None:
        if row.fitting_at_mm is not None:
            yield Finding(
                rule="run.expansion",
                severity="info",
                message="Expansion was not worked: give the lowest and highest temperature of the place.",
                **article,
            )
        return
    for move in expansion_of(shape, climate, book):
        limit = move.fitting_at_mm
        if limit is not None and move.setting is not None:
            there = [one for one in fittings if move.start_mm < one[0].at_mm < move.end_mm]
            yield Finding(
                rule="run.expansion",
                severity="info" if len(there) == move.fittings else "caution",
                message=f"This straight moves {_show(move.change_mm, tape)} over the year: "
                + _fittings_words(move, there, move.setting, tape),
                **article,
                where=f"{_show(move.start_mm, tape)} to {_show(move.end_mm, tape)}",
                measured=move.change_mm,
                allowed=limit,
                unit="mm",
            )
            for reach, setting in there:
                yield from _beyond_travel(reach, setting, tape, article)
        elif limit is None and move.change_mm >= 6.35:
            yield Finding(
                rule="run.expansion",
                severity="info",
                message=f"This steel straight moves {_show(move.change_mm, tape)} over the year; a fitting is wanted "
                "where it cannot give.",
                **article,
                where=f"{_show(move.start_mm, tape)} to {_show(move.end_mm, tape)}",
                measured=move.change_mm,
                unit="mm",
            )
