"""How much current a wire in a raceway may carry: table, heat around it, company in the pipe, terminals, small sizes.

Notation: I0 table ampacity in the insulation's column (A), Ca ambient factor, Cn factor for the number of
current-carrying conductors, I1 = I0 Ca Cn, It table ampacity in the terminals' column, I = min(I1, It).
Continuous loads (125 percent), parallel sets, wires outside a raceway and buried runs are not in here.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import msgspec

from racewright.codebook.edition import Edition, RuleStep, above_zero, metal_name
from racewright.errors import Finding, InputError, LimitError
from racewright.wires.conductors import insulation_rows
from racewright.wires.protection import Protection, protection_for

#: current-carrying conductors of each circuit; why, as a key of the edition's citations. 310.15(E) and (F).
_CARRYING: dict[str, tuple[int, str]] = {
    "2-wire": (2, "hot and grounded conductor carry the same current"),
    "3-wire": (2, "the neutral carries only the difference"),
    "2 phases and neutral of wye": (3, "the neutral carries about as much as a phase"),
    "3 phases": (3, "no neutral"),
    "wye 4-wire": (3, "the neutral carries only the difference"),
    "wye 4-wire nonlinear": (4, "harmonic currents of nonlinear loads add up in the neutral"),
}


class Ampacity(msgspec.Struct, frozen=True, kw_only=True):
    """Ampacities in A, factors without unit, temperatures in degrees C. `usable_a` is the answer, `protection` the
    largest overcurrent device for it."""

    wire: str
    metal: str
    insulation_c: int
    table_a: float
    ambient_factor: float
    count_factor: float
    corrected_a: float
    terminal_c: int
    terminal_a: float
    usable_a: float
    protection: Protection
    steps: tuple[RuleStep, ...]
    findings: tuple[Finding, ...]


class Carrying(msgspec.Struct, frozen=True, kw_only=True):
    """The thinnest size whose terminals' column carries a current: size, column in degrees C, its ampacity in A."""

    size: str
    column_c: int
    ampacity_a: float


def parse_circuit(text: str) -> tuple[int, str]:
    """'2 x 2-wire' -> (2, '2-wire'); '3 phases' -> (1, '3 phases'); (0, ...) where the count is no number."""
    many, cross, kind = text.partition(" x ")
    if not cross:
        return 1, text.strip()
    return (int(many) if many.strip().isdecimal() and len(many) < 6 else 0), kind.strip()


def split_wire(text: str) -> tuple[str, str]:
    """'12 THHN' -> ('12', 'THHN'). Raises InputError where one of the two is missing."""
    words = text.split()
    if len(words) < 2:
        raise InputError(
            f"'{text}' has no insulation.", hint="write size and insulation: '12 THHN'", field="wire", example="12 THHN"
        )
    return " ".join(words[:-1]), words[-1]


def count_carrying(circuits: Sequence[tuple[int, str]], edition: Edition) -> tuple[int, tuple[RuleStep, ...]]:
    """Current-carrying conductors of `(how many, kind)` circuits in one raceway; grounding conductors never count.

    Raises InputError for an unknown kind or a count below 1.
    """
    total = 0
    steps = []
    for many, kind in circuits:
        if kind not in _CARRYING or many < 1:
            message = f"The circuit '{many} x {kind}' is not understood."
            how = "write how many and which: '2 x 2-wire'; kinds"
            raise InputError.among(message, how, _CARRYING, field="circuit", example="2 x 2-wire")
        each, why = _CARRYING[kind]
        total += many * each
        steps.append(edition.step(f"{many} x {kind}: {many * each} count, {why}", "neutral"))
    steps.append(
        edition.step(f"{total} current-carrying conductors; grounding conductors do not count", "ground_not_counted")
    )
    return total, tuple(steps)


def find_ampacity(
    size: str,
    insulation: str,
    edition: Edition,
    *,
    metal: str = "copper",
    ambient_c: float = 30.0,
    carrying: int = 3,
    terminal_c: int | None = None,
    circuit_a: float | None = None,
    wet: bool = False,
    nipple: bool = False,
) -> Ampacity:
    """Ampacity of one wire of `carrying` current-carrying ones in a raceway.

    `ambient_c` degrees C around it, `terminal_c` what the terminals at both ends are rated for (None: the code's own
    assumption, by the wire and by `circuit_a`, the rating of the circuit in A where it is known), `wet` location,
    `nipple` no longer than 24 in. Raises UnknownName (size, insulation, metal), InputError
    (count, terminals, an insulation that is not for wet places), LimitError where a table has no figure.
    """
    size, metal = edition.size(size), metal_name(metal)
    if carrying < 1:
        raise InputError(
            f"{carrying} current-carrying conductors were asked; there is at least 1.",
            hint="count the wires that carry current, or name the circuits",
            field="carrying",
            expected="1 or more",
        )
    wire = f"{size} {insulation.upper()} {metal}"
    insulation_c, basis = _insulation_c(insulation, wet, edition)
    table = _table_a(size, metal, insulation_c, edition)
    in_table = f"{size} {metal} in the {insulation_c} C column: {float(table):g} A"
    ambient = _ambient_factor(ambient_c, insulation_c, edition)
    count, counted = _count_factor(carrying, nipple, edition)
    # 310.14(A), 310.15(B) and (C): I1 = I0 Ca Cn.
    corrected = table * ambient * count
    product = f"{float(table):g} x {float(ambient):.2f} x {float(count):.2f} = {float(corrected):.2f} A"
    ends_c, ends, ends_text = _at_ends(size, metal, table, terminal_c, circuit_a, edition)
    usable = min(corrected, ends)
    protection = protection_for(size, metal, usable, edition)
    return Ampacity(
        wire=wire,
        metal=metal,
        insulation_c=insulation_c,
        table_a=float(table),
        ambient_factor=float(ambient),
        count_factor=float(count),
        corrected_a=float(corrected),
        terminal_c=ends_c,
        terminal_a=float(ends),
        usable_a=float(usable),
        protection=protection,
        steps=(
            edition.step(basis, "wet"),
            edition.step(in_table, "ampacity"),
            edition.step(f"{ambient_c:g} C around the wire: x {float(ambient):.2f}", "ambient"),
            edition.step(counted, "count"),
            edition.step(product, "ampacity"),
            edition.step(f"{ends_text}: at most {float(ends):g} A", "terminals"),
            *protection.steps,
        ),
        findings=(
            *_findings(wire, corrected, ends, ends_c, carrying, nipple, edition),
            *(_too_cool(wire, insulation_c, ends_c, edition) if terminal_c is None else ()),
        ),
    )


def _at_ends(
    size: str, metal: str, table: Fraction, terminal_c: int | None, circuit_a: float | None, edition: Edition
) -> tuple[int, Fraction, str]:
    """The temperature (C) that counts at the terminals, the most (A) that the table gives there, and both in words."""
    ends_c, words = _terminals(size, metal, terminal_c, circuit_a, edition)
    # 110.14(C): not more than the table gives at the terminals' temperature.
    at_ends = column_ampacity(size, metal, ends_c, edition)
    if at_ends is None:
        words = f"the table has no figure for {size} at {ends_c} C, so what is marked on the terminals decides"
        return ends_c, table, words
    return ends_c, at_ends, words


def least_carrying(current_a: float, metal: str, edition: Edition, *, sets: int = 1) -> Carrying | None:
    """The thinnest size that carries `current_a` (A) in `sets` parallel sets: three conductors in a raceway, 30 C,
    terminals as the code takes them where nothing is marked. None where no size of the table does."""
    metal = metal_name(metal)
    # 310.10(G): parallel conductors from 1/0 AWG on. 14 AWG is the thinnest of a power circuit (310.3(A)).
    thinnest = "1/0" if sets > 1 else "14"
    for size in edition.sizes()[edition.rank(thinnest) :]:
        column, _ = _terminals(size, metal, None, current_a, edition)
        ampacity = column_ampacity(size, metal, column, edition)
        if ampacity is not None and current_a <= sets * ampacity:
            return Carrying(size=size, column_c=column, ampacity_a=float(ampacity))
    return None


def check_load(ampacity: Ampacity, load_a: float, edition: Edition) -> tuple[Finding, ...]:
    """A problem where `load_a` (A) is more than the wire may carry. Raises InputError for a load not above 0."""
    above_zero(load_a, "Load", "A", "load")
    if load_a <= ampacity.usable_a:
        return ()
    return (
        Finding(
            rule="wire.ampacity",
            severity="problem",
            message=f"{ampacity.wire} may carry {ampacity.usable_a:.4g} A here; {load_a:g} A is needed "
            f"(over by {load_a - ampacity.usable_a:.4g} A). Take a thicker wire or fewer wires in the raceway.",
            **edition.cited("ampacity"),
            where=ampacity.wire,
            measured=load_a,
            allowed=ampacity.usable_a,
            unit="A",
        ),
    )


def _insulation_c(insulation: str, wet: bool, edition: Edition) -> tuple[int, str]:
    place = "wet" if wet else "dry"
    rated = [row.number("wet_c" if wet else "dry_c") for row in insulation_rows(insulation, edition)]
    known = [value for value in rated if value is not None]
    if not known:
        good = [row.cells["insulation"] for row in edition.rows("insulations") if row.cells["wet_c"]]
        raise InputError.among(
            f"{insulation.upper()} is not for wet places.",
            "insulations for wet places",
            good,
            field="insulation",
            example="THWN-2",
            more="; the inside of a raceway in a wet place is wet too",
        )
    best = int(max(known))
    return best, f"{insulation.upper()} in a {place} place: {best} C insulation"


def column_ampacity(size: str, metal: str, column_c: int, edition: Edition) -> Fraction | None:
    """Table ampacity (A) of a size in a temperature column, None where the table has no figure."""
    row = edition.find("ampacity", "size", size)
    return row.number(f"{metal}_{column_c}") if row else None


def _table_a(size: str, metal: str, column_c: int, edition: Edition) -> Fraction:
    found = column_ampacity(size, metal, column_c, edition)
    if found is None:
        raise LimitError(
            f"The ampacity table has no figure for {size} {metal} at {column_c} C.",
            hint="take a size and insulation that the table lists",
            quantity="conductor size",
            unit="AWG or kcmil",
        )
    return found


def _ambient_factor(ambient_c: float, insulation_c: int, edition: Edition) -> Fraction:
    if not -90 <= ambient_c <= 200:
        raise InputError(
            f"{ambient_c:g} C around the wire is no place for one.",
            hint="write the hottest temperature around the raceway in degrees C",
            field="ambient",
            expected="-90 to 200 C",
        )
    top: Fraction | None = None
    for row in edition.rows("ambient_correction"):
        factor = row.number(f"factor_{insulation_c}")
        up_to = Fraction(row.cells["up_to_c"])
        if factor is None:
            break
        top = up_to
        # The table's bands are whole degrees: a value between two bands takes the hotter one.
        if ambient_c <= up_to:
            return factor
    raise LimitError(
        f"{ambient_c:g} C around the wire is too hot for {insulation_c} C insulation; the table ends at {top} C.",
        hint="take an insulation with a higher temperature rating or a cooler path",
        quantity="ambient temperature",
        asked=ambient_c,
        limit=None if top is None else float(top),
        unit="C",
    )


def _count_factor(carrying: int, nipple: bool, edition: Edition) -> tuple[Fraction, str]:
    free = edition.limit("free_count")
    if nipple:
        return Fraction(1), f"{carrying} current-carrying conductors in a nipple no longer than 24 in: x 1.00"
    if carrying > free:
        for row in edition.rows("count_adjustment"):
            last = row.number("to")
            if last is None or carrying <= last:
                factor = Fraction(row.cells["percent"]) / 100
                return factor, f"{carrying} current-carrying conductors: x {float(factor):.2f}"
    return Fraction(1), f"{carrying} current-carrying conductors, not more than {free}: x 1.00"


def _terminals(
    size: str, metal: str, terminal_c: int | None, circuit_a: float | None, edition: Edition
) -> tuple[int, str]:
    low, high = int(edition.limit("terminals_low_c")), int(edition.limit("terminals_high_c"))
    if terminal_c is not None:
        if terminal_c not in (60, 75, 90):
            raise InputError(
                f"Terminals of {terminal_c} C are not in the tables.",
                hint="write what is marked on the equipment: 60, 75 (or 90, where both ends are listed for it)",
                field="terminals",
                expected="60, 75, 90",
                example="75",
            )
        return terminal_c, f"terminals rated {terminal_c} C, as given"
    if edition.rank(size) > edition.rank("1"):
        return high, f"terminals taken as {high} C (thicker than 1 AWG, nothing marked was given)"
    # 110.14(C)(1): up to 100 A the 60 C column, a circuit rated over 100 A the 75 C column, whatever the wire.
    low_to = float(edition.limit("terminals_low_to_a"))
    if circuit_a is not None and circuit_a > low_to:
        return high, f"terminals taken as {high} C (a circuit over {low_to:g} A, nothing marked was given)"
    more = column_ampacity(size, metal, high, edition)
    would = f"; a circuit rated over {low_to:g} A takes {high} C: {float(more):g} A" if more and more > low_to else ""
    return low, f"terminals taken as {low} C (14 to 1 AWG, nothing marked was given{would})"


def _too_cool(wire: str, insulation_c: int, ends_c: int, edition: Edition) -> tuple[Finding, ...]:
    """A problem where unmarked terminals take hotter conductors only. 110.14(C)(1)(b): 75 C or more."""
    if insulation_c >= ends_c:
        return ()
    return (
        Finding(
            rule="wire.terminals",
            severity="problem",
            message=f"Unmarked terminals of a circuit over 100 A, or for wire thicker than 1 AWG, take {ends_c} C "
            f"conductors or better; {wire} is rated {insulation_c} C. Take another insulation.",
            **edition.cited("terminals"),
            where=wire,
            measured=float(insulation_c),
            allowed=float(ends_c),
            unit="C",
        ),
    )


def _findings(
    wire: str, corrected: Fraction, ends: Fraction, ends_c: int, carrying: int, nipple: bool, edition: Edition
) -> tuple[Finding, ...]:
    found = []
    if ends < corrected:
        found.append(
            Finding(
                rule="wire.terminals",
                severity="info",
                message=f"The terminals ({ends_c} C) bind, not the wire: {float(ends):g} A instead of "
                f"{float(corrected):.4g} A.",
                **edition.cited("terminals"),
                where=wire,
                measured=float(corrected),
                allowed=float(ends),
                unit="A",
            )
        )
    if carrying > edition.limit("free_count") and not nipple:
        found.append(
            Finding(
                rule="wire.count",
                severity="info",
                message=f"{carrying} current-carrying conductors share the raceway and warm each other.",
                **edition.cited("count"),
                where=wire,
                measured=float(carrying),
                allowed=float(edition.limit("free_count")),
                unit="conductors",
            )
        )
    return tuple(found)
