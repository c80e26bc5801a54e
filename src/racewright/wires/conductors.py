"""Wires as they go into a raceway, read from what a person writes.

Understood, one group each: `3 x 8 THHN`, `12 THWN-2`, `1 x 10 bare`, `1 x 10 bare solid`, `3 x 14 RHH*` (the star:
no outer covering), `12 THHN/THWN-2` (dual rated), `2 x cable 0.46 in`, `cable 0.25 in by 0.52 in` (flat or elliptical:
the major diameter counts), and `ground` or `neutral` after a group to say what it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction
from math import pi
from typing import Literal

import msgspec

from racewright.codebook.edition import MM2_PER_IN2, Edition, Row
from racewright.errors import InputError, UnknownName
from racewright.units.length import parse_length
from racewright.units.tape import MM_PER_INCH

Role = Literal["", "neutral", "ground"]
EXAMPLE = "3 x 8 THHN"
_GROUP_RE = re.compile(r"^\s*(?:(?P<count>[+-]?\d{1,9})\s*(?:×|x(?!hh))\s*)?(?P<rest>\S.*?)\s*$", re.IGNORECASE)
#: '6 XHHW': an x that begins the name of an insulation does not stand for "times".
#: More wires than this in one group is a slip of the pen (common practice, no source).
MOST_WIRES = 2000
#: No cable goes into a raceway that is thinner (our own bound).
THINNEST_CABLE_IN = Fraction(1, 100)


class Wire(msgspec.Struct, frozen=True, kw_only=True):
    """One conductor or cable as it fills a raceway. `area_in2` is the tabled area as text ('0.0366'), exact, because
    the answer at an edge must fall where the table puts it; a cable's area is pi/4 of its major diameter squared."""

    kind: Literal["insulated", "bare", "cable"]
    size: str
    insulation: str
    area_in2: str
    diameter_in: str
    source: str
    standing: str

    @property
    def area(self) -> Fraction:
        """Area in square inches, exact as tabled."""
        return Fraction(self.area_in2)

    @property
    def area_mm2(self) -> float:
        """Area in mm2."""
        return float(self.area * MM2_PER_IN2)

    @property
    def diameter_mm(self) -> float | None:
        """Diameter in mm, None where the table has none."""
        return float(Fraction(self.diameter_in) * MM_PER_INCH) if self.diameter_in else None

    @property
    def label(self) -> str:
        """'8 THHN', '10 bare', 'cable 0.46 in'."""
        if self.kind == "cable":
            return f"cable {float(Fraction(self.diameter_in)):.4g} in"
        unit = " kcmil" if self.size.isdigit() and int(self.size) >= 250 else ""
        return f"{self.size}{unit} {self.insulation if self.kind == 'insulated' else 'bare'}"


class WireGroup(msgspec.Struct, frozen=True, kw_only=True):
    """`count` equal wires and what they are for."""

    count: int
    wire: Wire
    role: Role = ""

    @property
    def label(self) -> str:
        """'3 x 8 THHN'."""
        return f"{self.count} x {self.wire.label}" + (f" {self.role}" if self.role else "")


def parse_groups(texts: Iterable[str], edition: Edition) -> tuple[WireGroup, ...]:
    """Every group that was written. Raises InputError (nothing written, 0 wires) or UnknownName (size, insulation)."""
    groups = tuple(parse_group(text, edition) for text in texts)
    if not groups:
        raise InputError(
            "No wires were written.",
            hint="name each group of equal wires, for example: '3 x 8 THHN' '1 x 10 bare'",
            field="wires",
            example=EXAMPLE,
        )
    return groups


def parse_group(text: str, edition: Edition) -> WireGroup:
    """One group, '3 x 8 THHN'. Raises InputError for a count below 1 or unreadable text, UnknownName for names."""
    match = _GROUP_RE.match(text)
    if match is None:
        raise _unreadable(text)
    count = int(match["count"] or 1)
    if not 1 <= count <= MOST_WIRES:
        raise InputError(
            f"'{text.strip()}' asks for {count} wires; a group has 1 to {MOST_WIRES} of them.",
            hint="leave the group out, or write how many, for example: '3 x 8 THHN'",
            field="wires",
            expected=f"1 to {MOST_WIRES}",
            example=EXAMPLE,
        )
    words = match["rest"].split()
    role: Role = ""
    for name in ("ground", "neutral"):
        if len(words) > 1 and words[-1].lower() == name:
            role = "ground" if name == "ground" else "neutral"
            words.pop()
    if words[0].lower() == "cable":
        return WireGroup(count=count, wire=_cable(" ".join(words[1:]), text), role=role)
    if len(words) > 1 and words[1].lower() in ("awg", "kcmil", "mcm"):
        words.pop(1)
    if len(words) < 2:
        raise _unreadable(text)
    size = edition.size(words[0])
    if words[1].lower() == "bare":
        return WireGroup(count=count, wire=bare_wire(size, " ".join(words[2:]).lower(), edition), role=role)
    if len(words) > 2:
        raise _unreadable(text)
    return WireGroup(count=count, wire=insulated_wire(size, words[1], edition), role=role)


def insulated_wire(size: str, insulation: str, edition: Edition) -> Wire:
    """A single insulated conductor with its tabled area. Raises UnknownName (insulation, or size not in that table)."""
    family = {row.cells["family"] for row in insulation_rows(insulation, edition)}
    if len(family) > 1:
        raise InputError(
            f"'{insulation}' joins insulations of different thickness.",
            hint="name the one that is printed on the wire, or join only equal ones: THHN/THWN-2",
            field="insulation",
        )
    name = family.pop()
    rows = [row for row in edition.rows("conductor_areas") if row.cells["family"] == name]
    for row in rows:
        if row.cells["size"] == size:
            return Wire(
                kind="insulated",
                size=size,
                insulation=insulation.upper(),
                area_in2=row.cells["area_in2"],
                diameter_in=row.cells["diameter_in"],
                source=row.source,
                standing=row.standing,
            )
    raise UnknownName.among(
        f"No {size} {insulation.upper()} in the conductor areas that are stored for {edition.name}.",
        f"sizes of {insulation.upper()} here",
        (row.cells["size"] for row in rows),
        field="size",
        example=EXAMPLE,
        more="; for another size measure it and write: cable 1.2 in",
    )


def bare_wire(size: str, stranding: str, edition: Edition) -> Wire:
    """A bare conductor with the area of the conductor properties; stranded (the larger) unless said 'solid'."""
    if stranding not in ("", "solid", "stranded"):
        raise InputError(
            f"'{stranding}' after 'bare' is not understood.",
            hint="write 'bare', 'bare solid' or 'bare stranded'",
            field="wires",
            example="1 x 10 bare solid",
        )
    row = edition.conductor(size, stranding)
    if not row.cells["bare_area_in2"]:
        raise UnknownName(
            f"No bare area for {size} in the tables that are stored for {edition.name}.",
            hint="measure it and write it as a cable: cable 0.95 in",
            field="size",
        )
    return Wire(
        kind="bare",
        size=size,
        insulation="",
        area_in2=row.cells["bare_area_in2"],
        diameter_in=row.cells["bare_diameter_in"],
        source=row.source,
        standing=row.standing,
    )


def insulation_rows(insulation: str, edition: Edition) -> tuple[Row, ...]:
    """The rows of an insulation; 'THHN/THWN-2' gives both. Raises UnknownName with the names that exist."""
    rows = []
    for name in insulation.upper().split("/"):
        row = edition.find("insulations", "insulation", name)
        if row is None:
            message = f"No insulation '{insulation}' in the tables that are stored for {edition.name}."
            known = (each.cells["insulation"] for each in edition.rows("insulations"))
            more = ", bare (a star means: no outer covering)"
            raise UnknownName.among(message, "insulations", known, field="insulation", example="THHN", more=more)
        rows.append(row)
    return tuple(rows)


def _cable(text: str, whole: str) -> Wire:
    parts = re.split(r"\s+by\s+", text.strip(), flags=re.IGNORECASE)
    if not 1 <= len(parts) <= 2 or not parts[0]:
        raise _unreadable(whole)
    # Chapter 9 Note 9: one conductor; an elliptical cable counts with its major diameter.
    major_in = max(parse_length(part, field="cable", allow_zero=False) for part in parts) / MM_PER_INCH
    if major_in < THINNEST_CABLE_IN:
        raise InputError(
            f"'{whole.strip()}' is thinner than any cable: the least taken is {float(THINNEST_CABLE_IN):g} in.",
            hint="write the diameter over its jacket with a unit, for example: cable 0.46 in",
            field="wires",
            example="2 x cable 0.46 in",
        )
    area_in2 = Fraction(pi / 4).limit_denominator(10**9) * major_in**2
    return Wire(
        kind="cable",
        size="",
        insulation="",
        area_in2=f"{float(area_in2):.6f}",
        diameter_in=f"{float(major_in):.6f}",
        source="measured diameter, area pi/4 d^2",
        standing="as measured by the user",
    )


def _unreadable(text: str) -> InputError:
    return InputError(
        f"The wires '{text.strip()}' cannot be read.",
        hint="write count x size insulation: '3 x 8 THHN', '1 x 10 bare', or '2 x cable 0.46 in'",
        field="wires",
        expected="count x size insulation",
        example=EXAMPLE,
    )
