"""Least inside dimensions of a pull or junction box from the raceways that enter it.

Notation: d trade size of a raceway (in), per wall and row. Straight pull: length >= 8 d. Angle pull, U pull or splice:
from each row of entries to the opposite wall >= 6 d(largest in the row) + sum of the other d in that row on that wall.
Two entries of an angle or U pull with the same conductors: at least 6 d(larger) between them, edge to edge. Trade
sizes, not outside diameters, are meant. It binds from insulated conductors of 4 AWG upward.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction
from typing import Literal

import msgspec

from racewright.catalogue.raceways import canonical_size
from racewright.codebook.edition import Edition, RuleStep
from racewright.errors import Finding, InputError
from racewright.units.tape import MM_PER_INCH

Wall = Literal["left", "right", "top", "bottom", "back"]
PullKind = Literal["straight", "angle", "u", "splice"]
_WALLS: tuple[Wall, ...] = ("left", "right", "top", "bottom", "back")
_KINDS: tuple[PullKind, ...] = ("straight", "angle", "u", "splice")
_OPPOSITE = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}
_PULL_RE = re.compile(r"^\s*(?P<kind>[a-z]+)\s*:?\s+(?P<a>[^>]+?)\s*->\s*(?P<b>.+?)\s*$", re.IGNORECASE)
_TRADE_RE = re.compile(
    r"^\d{0,3}(?:\.\d{1,3})?(?:(?:^|[\s-]+)\d{1,2}\s*/\s*\d{1,2})?\s*(?:in\.?|\"|mm)?$", re.IGNORECASE
)
_ENTRY_RE = re.compile(r"^(?P<wall>[a-z]+)\s*(?:row\s*(?P<row>\d{1,3})\s+)?(?P<size>\S.*)$", re.IGNORECASE)
_INCH_MM = float(MM_PER_INCH)
EXAMPLE = "angle left 3 -> bottom 3"


class Entry(msgspec.Struct, frozen=True, kw_only=True):
    """One raceway into the box: which wall, which row on it (from 1), trade size as written ('2-1/2')."""

    wall: Wall
    trade_size: str
    row: int = 1

    @property
    def size_in(self) -> Fraction:
        """Trade size in inches, a name and not a measured diameter."""
        return sum((Fraction(part) for part in self.trade_size.split("-")), Fraction(0))

    @property
    def label(self) -> str:
        """'left 3'."""
        return f"{self.wall} {self.trade_size}" + (f" row {self.row}" if self.row > 1 else "")


class Pull(msgspec.Struct, frozen=True, kw_only=True):
    """Conductors that come in at `a` and leave (or are spliced to those) at `b`."""

    kind: PullKind
    a: Entry
    b: Entry


class Spacing(msgspec.Struct, frozen=True, kw_only=True):
    """Least distance (mm) between two entries that hold the same conductors."""

    between: str
    least_mm: float


class PullBox(msgspec.Struct, frozen=True, kw_only=True):
    """Least inside width (left to right) and height (top to bottom) in mm, 0 where no rule sets one; spacings.

    `binding` says whether the conductors are thick enough for the rule to hold at all."""

    width_mm: float
    height_mm: float
    spacings: tuple[Spacing, ...]
    binding: bool
    steps: tuple[RuleStep, ...]
    findings: tuple[Finding, ...]

    @property
    def width_in(self) -> float:
        """Width in inches."""
        return self.width_mm / _INCH_MM

    @property
    def height_in(self) -> float:
        """Height in inches."""
        return self.height_mm / _INCH_MM


def parse_pull(text: str) -> Pull:
    """'straight left 2 -> right 2', 'angle left 3 -> bottom 3', 'u top row 2 1-1/2 -> top row 2 1-1/2'.

    Raises InputError, for walls that do not go with the kind as well.
    """
    match = _PULL_RE.match(text)
    kind = match["kind"].lower() if match else ""
    if match is None or kind not in _KINDS:
        raise InputError(
            f"The pull '{text}' cannot be read.",
            hint=f"write kind, wall and trade size, '->', wall and trade size; kinds: {', '.join(_KINDS)}",
            field="pull",
            expected="kind wall size -> wall size",
            example=EXAMPLE,
        )
    pull = Pull(kind=_KINDS[_KINDS.index(kind)], a=_parse_entry(match["a"]), b=_parse_entry(match["b"]))
    _check_walls(pull)
    return pull


def pull_box(
    pulls: Sequence[Pull], edition: Edition, *, largest_conductor: str = "4", insulated: bool = True
) -> PullBox:
    """Least box for `pulls`. `largest_conductor` is the thickest conductor in any of them, `insulated` whether it is.

    Raises InputError for no pulls, UnknownName for a conductor size.
    """
    if not pulls:
        raise InputError(
            "No pulls were named.", hint=f"name at least one, for example: '{EXAMPLE}'", field="pull", example=EXAMPLE
        )
    size = edition.size(largest_conductor)
    binding = insulated and edition.rank(size) >= edition.rank("4")
    steps = [
        edition.step(
            f"thickest conductor {size}: the rule {'holds' if binding else 'does not hold'} "
            "(insulated conductors of 4 AWG and thicker)",
            "pull_scope",
        )
    ]
    need = {"width": Fraction(0), "height": Fraction(0)}
    for pull in pulls:
        if pull.kind == "straight":
            length = edition.limit("pull_straight") * max(pull.a.size_in, pull.b.size_in)
            _raise_need(need, pull.a.wall, length)
            steps.append(
                edition.step(
                    f"straight {pull.a.label} -> {pull.b.label}: {edition.limit('pull_straight')} x "
                    f"{_inches(max(pull.a.size_in, pull.b.size_in))} = {_inches(length)} in",
                    "pull_straight",
                )
            )
    steps += _rows(pulls, need, edition)
    spacings, spacing_steps = _spacings(pulls, edition)
    return PullBox(
        width_mm=float(need["width"] * MM_PER_INCH),
        height_mm=float(need["height"] * MM_PER_INCH),
        spacings=spacings,
        binding=binding,
        steps=(*steps, *spacing_steps),
        findings=_findings(pulls, size, binding, edition),
    )


def check_pull_box(need: PullBox, width_mm: float, height_mm: float, edition: Edition) -> tuple[Finding, ...]:
    """Problems where a box of that inside width and height (mm) is too small for a rule that binds."""
    found = []
    for what, has, least in (("width", width_mm, need.width_mm), ("height", height_mm, need.height_mm)):
        if need.binding and has < least - 1e-6:
            found.append(
                Finding(
                    rule="box.pull",
                    severity="problem",
                    message=f"The box is {has / _INCH_MM:g} in in {what}; the pulls need {least / _INCH_MM:g} in "
                    f"(short by {(least - has) / _INCH_MM:g} in). Take a larger box.",
                    **edition.cited("pull_angle" if need.spacings else "pull_straight"),
                    where=what,
                    measured=has,
                    allowed=least,
                    unit="mm",
                )
            )
    return tuple(found)


def _rows(pulls: Sequence[Pull], need: dict[str, Fraction], edition: Edition) -> list[RuleStep]:
    turned = {
        (entry.wall, entry.row)
        for pull in pulls
        if pull.kind != "straight"
        for entry in (pull.a, pull.b)
        if entry.wall != "back"
    }
    steps = []
    for wall in _WALLS:
        for row in sorted(number for name, number in turned if name == wall):
            sizes = sorted(
                (e.size_in for p in pulls for e in (p.a, p.b) if (e.wall, e.row) == (wall, row)), reverse=True
            )
            # 314.28(A)(2): six times the largest in the row plus the sum of all others in the same row.
            length = edition.limit("pull_angle") * sizes[0] + sum(sizes[1:], Fraction(0))
            _raise_need(need, wall, length)
            others = "".join(f" + {_inches(size)}" for size in sizes[1:])
            steps.append(
                edition.step(
                    f"{wall} wall, row {row}, to the {_OPPOSITE[wall]} wall: {edition.limit('pull_angle')} x "
                    f"{_inches(sizes[0])}{others} = {_inches(length)} in",
                    "pull_angle",
                )
            )
    return steps


def _spacings(pulls: Sequence[Pull], edition: Edition) -> tuple[tuple[Spacing, ...], list[RuleStep]]:
    spacings, steps = [], []
    for pull in pulls:
        if pull.kind == "straight":
            continue
        larger = max(pull.a.size_in, pull.b.size_in)
        least = edition.limit("pull_spacing") * larger
        between = f"{pull.a.label} and {pull.b.label}"
        spacings.append(Spacing(between=between, least_mm=float(least * MM_PER_INCH)))
        doubt = " (for spliced conductors opinions differ: ask the inspector)" if pull.kind == "splice" else ""
        steps.append(
            edition.step(
                f"between {between}: {edition.limit('pull_spacing')} x {_inches(larger)} = {_inches(least)} in{doubt}",
                "pull_angle",
            )
        )
    return tuple(spacings), steps


def _findings(pulls: Sequence[Pull], size: str, binding: bool, edition: Edition) -> tuple[Finding, ...]:
    found = []
    if not binding:
        found.append(
            Finding(
                rule="box.pull.scope",
                severity="info",
                message=f"With {size} as the thickest conductor the pull-box dimensions are not required; the box "
                "is sized by volume.",
                **edition.cited("pull_scope"),
            )
        )
    if any(entry.wall == "back" for pull in pulls for entry in (pull.a, pull.b)):
        found.append(
            Finding(
                rule="box.pull.depth",
                severity="caution",
                message="An entry in the back wall, opposite the cover, sets the depth by a wire-bending table that is "
                "not stored here: look the depth up.",
                **edition.cited("pull_cover"),
                where="back wall",
            )
        )
    return tuple(found)


def _check_walls(pull: Pull) -> None:
    a, b = pull.a.wall, pull.b.wall
    wrong = ""
    if pull.kind == "straight" and _OPPOSITE.get(a) != b:
        wrong = "a straight pull joins opposite walls"
    elif pull.kind == "u" and a != b:
        wrong = "a U pull goes in and out of the same wall"
    elif pull.kind == "angle" and (a == b or _OPPOSITE.get(a) == b):
        wrong = "an angle pull joins two walls that meet"
    if wrong:
        raise InputError(
            f"{pull.kind} {pull.a.label} -> {pull.b.label}: {wrong}.",
            hint="name the walls or the kind again: straight (opposite), angle (adjoining), u (same), splice (any)",
            field="pull",
            example=EXAMPLE,
        )


def _parse_entry(text: str) -> Entry:
    match = _ENTRY_RE.match(text.strip())
    wall = match["wall"].lower() if match else ""
    if match is None or wall not in _WALLS:
        raise InputError(
            f"The entry '{text}' cannot be read.",
            hint=f"write wall and trade size: 'left 3'; walls: {', '.join(_WALLS)}",
            field="pull",
            expected="wall size",
            example="left 3",
        )
    try:
        if not _TRADE_RE.match(match["size"]):
            raise ValueError
        size = canonical_size(match["size"])
        if sum(Fraction(part) for part in size.split("-")) <= 0:
            raise ValueError
    except (ValueError, ZeroDivisionError):
        raise InputError(
            f"'{match['size']}' is no trade size.",
            hint="write a trade size in inches: 1/2, 1-1/4, 3",
            field="pull",
            example="left 3",
        ) from None
    row = int(match["row"] or 1)
    if row < 1:
        raise InputError(
            f"Row {row} on the {wall} wall: rows count from 1.",
            hint="write 'row 1' or leave it out",
            field="pull",
            expected="1 or more",
        )
    return Entry(wall=_WALLS[_WALLS.index(wall)], trade_size=size, row=row)


def _raise_need(need: dict[str, Fraction], wall: str, length: Fraction) -> None:
    side = "width" if wall in ("left", "right") else "height"
    need[side] = max(need[side], length)


def _inches(value: Fraction) -> str:
    return f"{float(value):g}"
