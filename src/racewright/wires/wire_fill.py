"""Do these wires go into that raceway, which trade size do they need, how many more fit, and can three of them jam.

Notation: D inside diameter of the raceway (in), p percent of its cross-section that may be filled, A = p pi/4 D^2
rounded to 0.001 in2 (as the raceway table prints it), a tabled area of one wire (in2), n count.
The tables decide: a wire's area is the tabled figure, not pi/4 of its tabled diameter squared; where the two differ
at an edge, the table holds.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from math import floor, pi

import msgspec

from racewright.catalogue.raceways import Raceway, all_raceways, canonical_type
from racewright.codebook.edition import FROM_MEMORY, MM2_PER_IN2, Cited, Edition, RuleStep, cited
from racewright.errors import Finding, InputError, LimitError
from racewright.units.length import parse_length
from racewright.units.said import said_area, said_finely
from racewright.units.tape import MM_PER_INCH
from racewright.wires.conductors import MOST_WIRES, Wire, WireGroup

_PI_4 = Fraction(pi / 4)
#: A bend out of round widens the ratio of jamming by this (some pulling guides, read in a reprint); not put on here.
OVAL_BORE = 1.05


class Fill(msgspec.Struct, frozen=True, kw_only=True):
    """Wires in one raceway: areas in mm2 (and in2, the table's own unit), `percent` filled of the tabled inside area.

    `same_size_most` is how many of the same wire Chapter 9 Note 7 gives (None for mixed wires), `by_diameter_most` the
    same from the diameters without rounding (Annex C prints now one, now the other); `jam_ratio` the raceway's inside
    diameter over the wire's diameter (None where jamming is no question)."""

    raceway: str
    wires: tuple[str, ...]
    count: int
    wires_area_in2: float
    allowed_area_in2: float
    wires_area_mm2: float
    allowed_area_mm2: float
    limit_percent: float
    percent: float
    fits: bool
    same_size_most: int | None
    by_diameter_most: int | None
    jam_ratio: float | None
    steps: tuple[RuleStep, ...]
    findings: tuple[Finding, ...]


class FillSize(msgspec.Struct, frozen=True, kw_only=True):
    """The smallest raceway of a type for a set of wires: `trade_size`, its fill, and the sizes that were too small."""

    trade_size: str
    fill: Fill
    too_small: tuple[str, ...]
    note: str


class MoreFit(msgspec.Struct, frozen=True, kw_only=True):
    """How many further wires go in beside what is there, and what binds."""

    more: int
    wire: str
    fill_with_more: Fill | None
    note: str


def check_fill(raceway: Raceway, groups: Sequence[WireGroup], edition: Edition, *, nipple: bool = False) -> Fill:
    """Fill of `raceway` by `groups`. `nipple`: no longer than 24 in between boxes. Grounds and bare wires count.

    Raises InputError where there are no wires.
    """
    count = sum(group.count for group in groups)
    if count < 1:
        raise InputError("There are no wires to fill the raceway.", hint="name at least one wire", field="wires")
    area = sum((group.count * group.wire.area for group in groups), Fraction(0))
    percent = _limit_percent(count, nipple, edition)
    allowed = allowed_area_in2(raceway, percent)
    most = _same_size_most(raceway, groups, nipple, edition)
    fits = area <= allowed or (most is not None and count <= most)
    ratio = _jam_ratio(raceway, groups)
    tabled = Fraction(raceway.area_mm2) / MM2_PER_IN2
    fill = Fill(
        raceway=raceway.name,
        wires=tuple(group.label for group in groups),
        count=count,
        wires_area_in2=float(area),
        allowed_area_in2=float(allowed),
        wires_area_mm2=float(area * MM2_PER_IN2),
        allowed_area_mm2=float(allowed * MM2_PER_IN2),
        limit_percent=float(percent),
        percent=float(100 * area / tabled),
        fits=fits,
        same_size_most=most,
        by_diameter_most=_by_diameter_most(raceway, groups, nipple, edition),
        jam_ratio=ratio,
        steps=(),
        findings=(),
    )
    steps, findings = _steps(fill, groups, nipple, edition), _findings(fill, groups, nipple, edition)
    return msgspec.structs.replace(fill, steps=steps, findings=findings)


def size_raceway(raceway_type: str, groups: Sequence[WireGroup], edition: Edition, *, nipple: bool = False) -> FillSize:
    """The smallest trade size of `raceway_type` that takes `groups`. Raises LimitError where none does."""
    name = canonical_type(raceway_type)
    small: list[str] = []
    last: Fill | None = None
    for raceway in (each for each in all_raceways() if each.type == name):
        last = check_fill(raceway, groups, edition, nipple=nipple)
        if last.fits:
            note = "a nipple may be filled further than a run" if nipple else ""
            return FillSize(trade_size=raceway.trade_size, fill=last, too_small=tuple(small), note=note)
        small.append(raceway.trade_size)
    assert last is not None
    raise LimitError(
        f"The wires need {said_area(last.wires_area_mm2)}; the largest {last.raceway} allows "
        f"{said_area(last.allowed_area_mm2)} ({last.limit_percent:g} percent).",
        hint="split the wires over two raceways, or take a type with larger sizes",
        quantity="area of the wires",
        asked=last.wires_area_mm2,
        limit=last.allowed_area_mm2,
        unit="mm2",
    )


def how_many_fit(
    raceway: Raceway, wire: Wire, edition: Edition, *, beside: Sequence[WireGroup] = (), nipple: bool = False
) -> MoreFit:
    """How many of `wire` go into `raceway` beside `beside`: the largest number that the table allows."""
    most = floor(allowed_area_in2(raceway, edition.limit("fill_nipple")) / wire.area) + 2
    for more in range(min(most, MOST_WIRES), 0, -1):
        fill = check_fill(raceway, (*beside, WireGroup(count=more, wire=wire)), edition, nipple=nipple)
        if fill.fits:
            note = _count_note(fill, edition) if not beside else ""
            return MoreFit(more=more, wire=wire.label, fill_with_more=fill, note=note)
    return MoreFit(more=0, wire=wire.label, fill_with_more=None, note="not one more fits")


def is_nipple(length: str, edition: Edition) -> bool:
    """Whether a nipple is asked for: its length as written, '' where none is. Raises InputError for what is no length,
    LimitError where it is too long to count as a nipple."""
    if not length:
        return False
    length_mm = float(parse_length(length, field="nipple", allow_zero=False))
    longest_mm = float(edition.limit("nipple_longest") * MM_PER_INCH)
    if length_mm > longest_mm + 1e-9:
        raise LimitError(
            f"A raceway of {said_finely(length_mm)} is no nipple; a nipple is no longer than "
            f"{said_finely(longest_mm)}.",
            hint="leave the nipple out: the ordinary fill holds for a longer raceway",
            quantity="length of the nipple",
            asked=length_mm,
            limit=longest_mm,
            unit="mm",
            field="nipple",
        )
    return True


def allowed_area_in2(raceway: Raceway, percent: Fraction) -> Fraction:
    """p pi/4 D^2 in square inches, rounded to 0.001 as the raceway table prints its columns."""
    # NFPA 70-2023 Chapter 9 Table 4: the printed columns are pi/4 D^2 times the percentage, to three decimals.
    exact = _PI_4 * _inside_in(raceway) ** 2 * percent / 100
    cents = Decimal(exact.numerator) / Decimal(exact.denominator)
    return Fraction(cents.quantize(Decimal("0.001"), rounding=ROUND_HALF_UP))


def _inside_in(raceway: Raceway) -> Fraction:
    """Inside diameter in inches as the table prints it: thousandths."""
    return Fraction(round(Fraction(raceway.inside_diameter_mm) / MM_PER_INCH * 1000), 1000)


def _limit_percent(count: int, nipple: bool, edition: Edition) -> Fraction:
    if nipple:
        return edition.limit("fill_nipple")
    return edition.limit({1: "fill_one", 2: "fill_two"}.get(count, "fill_more"))


def _same_size_most(raceway: Raceway, groups: Sequence[WireGroup], nipple: bool, edition: Edition) -> int | None:
    """The count that Note 7 gives for wires all of one area, None for mixed ones."""
    areas = {group.wire.area for group in groups}
    if len(areas) != 1:
        return None
    area = areas.pop()
    return _note_7(lambda percent: allowed_area_in2(raceway, percent) / area, nipple, edition)


def _by_diameter_most(raceway: Raceway, groups: Sequence[WireGroup], nipple: bool, edition: Edition) -> int | None:
    """The same from (D / d)^2 without any rounded area; None for mixed wires."""
    diameters = {group.wire.diameter_in for group in groups}
    if len(diameters) != 1 or "" in diameters:
        return None
    ratio = (_inside_in(raceway) / Fraction(diameters.pop())) ** 2
    return _note_7(lambda percent: ratio * percent / 100, nipple, edition)


def _note_7(room: Callable[[Fraction], Fraction], nipple: bool, edition: Edition) -> int:
    # Chapter 9 Note 7: the next whole number where the decimal is 0.8 or larger.
    spare = 1 - edition.limit("count_rounds_up_from")
    most = floor(room(_limit_percent(3, nipple, edition)) + spare)
    if most >= 3:
        return most
    for count in (2, 1):
        if floor(room(_limit_percent(count, nipple, edition)) + spare) >= count:
            return count
    return 0


def _jam_ratio(raceway: Raceway, groups: Sequence[WireGroup]) -> float | None:
    """D over the diameter of three wires, None where there are not three that can lie side by side.

    Three wires in all: their mean diameter. More: only where exactly three are the thickest.
    """
    sizes: dict[str, int] = {}
    for group in groups:
        if not group.wire.diameter_in:
            return None
        sizes[group.wire.diameter_in] = sizes.get(group.wire.diameter_in, 0) + group.count
    inside_in = raceway.inside_diameter_mm / float(MM_PER_INCH)
    if sum(sizes.values()) == 3:
        mean = sum(float(text) * count for text, count in sizes.items()) / 3
        return inside_in / mean
    thick = max(sizes, key=float)
    return inside_in / float(thick) if sizes[thick] == 3 else None


def _steps(fill: Fill, groups: Sequence[WireGroup], nipple: bool, edition: Edition) -> tuple[RuleStep, ...]:
    count, area, allowed, most = fill.count, fill.wires_area_in2, fill.allowed_area_in2, fill.same_size_most
    steps = []
    for group in groups:
        each, kind = group.wire.area, group.wire.kind
        key = {"insulated": "fill_areas", "bare": "bare", "cable": "cable"}[kind]
        extra = "; a cable counts as one conductor, by its largest diameter" if kind == "cable" else ""
        text = f"{group.label}: {group.count} x {float(each):.4f} = {float(group.count * each):.4f} in2{extra}"
        steps.append(edition.step(text, key, group.wire.standing))
    grounds = any(group.role == "ground" or group.wire.kind == "bare" for group in groups)
    counted = ", grounding conductors and bare wires included" if grounds else ""
    steps.append(
        edition.step(
            f"together {area:.4f} in2, {count} conductor{'s' if count > 1 else ''}{counted}",
            "fill_grounds" if grounds else "fill",
        )
    )
    why = "nipple, no longer than 24 in" if nipple else f"{count if count < 3 else 'more than 2'} conductors"
    why = why if count > 1 or nipple else "1 conductor"
    text = f"{why}: {fill.limit_percent:g} percent of {fill.raceway} is {allowed:.3f} in2"
    steps.append(edition.step(text, "nipple" if nipple else "fill"))
    if most is not None and count <= most and area > allowed:
        text = f"all wires are of one size: {allowed / (area / count):.2f} rounds up to {most}"
        steps.append(edition.step(text, "round_up", edition.limit_standing("count_rounds_up_from")))
    return tuple(steps)


def _findings(fill: Fill, groups: Sequence[WireGroup], nipple: bool, edition: Edition) -> tuple[Finding, ...]:
    recalled = [group.wire.standing for group in groups if group.wire.standing == FROM_MEMORY]
    found = [each for each in (_over_or_edge(fill, nipple, recalled, edition),) if each is not None]
    low, high = float(edition.limit("jam_low")), float(edition.limit("jam_high"))
    if fill.jam_ratio is not None and low <= fill.jam_ratio <= high:
        alone = fill.count == 3
        found.append(
            Finding(
                rule="wire.jam",
                severity="caution" if alone else "info",
                message=f"Three wires can wedge side by side in a bend: inside diameter over wire diameter is "
                f"{fill.jam_ratio:.2f}, the risk lies between {low:g} and {high:g}. Another trade size removes it"
                + ("." if alone else "; it is small with more than three wires."),
                **_with_areas("jam", recalled, edition),
                where=fill.raceway,
                measured=fill.jam_ratio,
                allowed=high if fill.jam_ratio > (low + high) / 2 else low,
                unit="ratio",
            )
        )
    if nipple:
        found.append(
            Finding(
                rule="wire.nipple",
                severity="info",
                message="Filled up to 60 percent only as a nipple: up to "
                f"{said_finely(float(edition.limit('nipple_longest') * MM_PER_INCH))}, from one box or cabinet to the "
                "next. So short a piece takes no count factor off the ampacity.",
                **edition.cited("nipple"),
                where=fill.raceway,
            )
        )
    return tuple(found)


def _with_areas(key: str, recalled: Sequence[str], edition: Edition) -> Cited:
    """What a finding on wires follows, and their areas' table beside it where an area is from memory."""
    if not recalled:
        return edition.cited(key)
    return cited(f"{edition.cite(key)}; {edition.cite('fill_areas')}", *recalled)


def _over_or_edge(fill: Fill, nipple: bool, recalled: Sequence[str], edition: Edition) -> Finding | None:
    """Too full, or at the edge of the tables' rounding: one finding with one verdict, that of the tabled areas.
    `recalled`: the standings of the areas that are from memory."""
    by_area, by_diameter = fill.same_size_most, fill.by_diameter_most
    edge = by_area is not None and by_diameter is not None and min(by_area, by_diameter) < fill.count
    edge = edge and fill.count <= max(by_area or 0, by_diameter or 0)
    if fill.fits and not edge:
        return None
    over = (
        f"{fill.raceway} is filled to {fill.percent:.2f} percent; {fill.limit_percent:g} percent are allowed "
        f"(over by {said_area(fill.wires_area_mm2 - fill.allowed_area_mm2)})."
    )
    if not edge:
        message = f"{over} Take a larger trade size or fewer wires."
    elif fill.fits:
        message = (
            f"{fill.count} wires go in by the tabled areas, which are followed here; the diameters without rounding "
            f"hold {by_diameter} (Annex C prints now one, now the other). Ask the inspector, or leave one out."
        )
    else:
        message = (
            f"{over} The tabled areas hold {by_area}, and they are followed here; the diameters without rounding "
            f"hold {by_diameter} (Annex C prints now one, now the other). Ask the inspector, or take fewer wires."
        )
    return Finding(
        rule="wire.edge" if edge else "wire.fill",
        severity="caution" if fill.fits else "problem",
        message=message,
        **_with_areas("round_up" if edge else "nipple" if nipple else "fill", recalled, edition),
        where=fill.raceway,
        measured=float(fill.count) if edge else fill.wires_area_mm2,
        allowed=float(min(by_area or 0, by_diameter or 0)) if edge else fill.allowed_area_mm2,
        unit="conductors" if edge else "mm2",
    )


def _count_note(fill: Fill, edition: Edition) -> str:
    """What decided the last wire of a count: rounding up, or the tables against the diameters."""
    notes = []
    if fill.wires_area_in2 > fill.allowed_area_in2:
        notes.append(f"the last one by rounding up from 0.8, {edition.cite('round_up')}")
    if fill.by_diameter_most is not None and fill.by_diameter_most != fill.same_size_most:
        notes.append(f"by the tabled areas; the diameters without rounding give {fill.by_diameter_most}")
    return "; ".join(notes)
