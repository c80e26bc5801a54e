"""The equipment grounding conductor for an overcurrent device, and its growth when the circuit's wires grow.

Notation: Ie circular mils of the tabled grounding conductor, An circular mils that the ampacity alone needs, Au
circular mils that are used; needed Ie Au / An, never more than the circuit conductors themselves.
"""

from __future__ import annotations

from fractions import Fraction

import msgspec

from racewright.codebook.edition import Edition, RuleStep, above_zero, metal_name
from racewright.errors import Finding, InputError, LimitError

#: A size that falls short by less than this is named: tabled circular mils are rounded (common practice, no source).
NEAR_MISS = Fraction(1, 1000)


class GroundSize(msgspec.Struct, frozen=True, kw_only=True):
    """The answer: `size`, the tabled size before any increase, circular mils needed (None without an increase)."""

    size: str
    tabled_size: str
    metal: str
    device_a: float
    needed_circular_mils: float | None
    steps: tuple[RuleStep, ...]
    findings: tuple[Finding, ...]


def ground_size(
    device_a: float,
    edition: Edition,
    *,
    metal: str = "copper",
    needed_size: str = "",
    used_size: str = "",
) -> GroundSize:
    """Size for an overcurrent device of `device_a` (A). `needed_size` is the circuit conductor that the ampacity alone
    needs, `used_size` the thicker one that is pulled; give both or neither.

    Raises InputError (rating not above 0, only one of the two sizes), UnknownName, LimitError (beyond the table).
    """
    metal = metal_name(metal)
    above_zero(device_a, "Overcurrent device", "A", "device")
    rows = edition.rows("grounding_conductors")
    row = next((each for each in rows if device_a <= Fraction(each.cells["up_to_a"])), None)
    if row is None:
        top = Fraction(rows[-1].cells["up_to_a"])
        raise LimitError(
            f"An overcurrent device of {device_a:g} A is beyond the table, which ends at {float(top):g} A.",
            hint="a size beyond the table is an engineer's work",
            quantity="overcurrent device",
            asked=device_a,
            limit=float(top),
            unit="A",
        )
    tabled = row.cells[metal]
    steps = [
        RuleStep(
            text=f"overcurrent device {device_a:g} A, row up to {row.cells['up_to_a']} A: {tabled} {metal}",
            **edition.cited("ground"),
        )
    ]
    if bool(needed_size) != bool(used_size):
        raise InputError(
            "Only one of the two circuit conductor sizes was given.",
            hint="give the size that the ampacity needs and the size that is used, or neither",
            field="used_size" if needed_size else "needed_size",
        )
    if not needed_size:
        return GroundSize(
            size=tabled,
            tabled_size=tabled,
            metal=metal,
            device_a=device_a,
            needed_circular_mils=None,
            steps=tuple(steps),
            findings=(),
        )
    return _increased(tabled, metal, device_a, needed_size, used_size, steps, edition)


def _increased(
    tabled: str,
    metal: str,
    device_a: float,
    needed_size: str,
    used_size: str,
    steps: list[RuleStep],
    edition: Edition,
) -> GroundSize:
    needed_size, used_size = edition.size(needed_size, field="needed_size"), edition.size(used_size, field="used_size")
    normal, used = _mils(needed_size, edition), _mils(used_size, edition)
    if used < normal:
        raise InputError(
            f"The used size {used_size} is thinner than {needed_size}, which the ampacity needs.",
            hint="the used size must be at least the needed one",
            field="used_size",
        )
    # 250.122(B): in proportion to the circular mils of the ungrounded conductors.
    wanted = _mils(tabled, edition) * used / normal
    sizes = [row for row in edition.rows("conductors") if row.cells["stranding"] == "stranded"]
    fit = next((row.cells["size"] for row in sizes if Fraction(row.cells["circular_mils"]) >= wanted), None)
    steps.append(
        RuleStep(
            text=f"{float(_mils(tabled, edition)):.0f} x {float(used):.0f} / {float(normal):.0f} = "
            f"{float(wanted):.0f} circular mils",
            **edition.cited("ground_increase"),
        )
    )
    findings: tuple[Finding, ...] = ()
    if fit is not None and fit != tabled:
        below = sizes[[row.cells["size"] for row in sizes].index(fit) - 1]
        short = wanted - Fraction(below.cells["circular_mils"])
        if short <= NEAR_MISS * wanted:
            findings = (
                Finding(
                    rule="ground.near",
                    severity="info",
                    message=f"{below.cells['size']} falls short by only {float(short):.1f} circular mils of rounded "
                    "table figures; the strict reading takes the next size. Ask the inspector.",
                    **edition.cited("ground_increase"),
                    measured=float(Fraction(below.cells["circular_mils"])),
                    allowed=float(wanted),
                    unit="circular mils",
                ),
            )
    if fit is None or _mils(fit, edition) > used:
        fit = used_size
        steps.append(
            RuleStep(text=f"not thicker than the circuit conductors: {used_size}", **edition.cited("ground_cap"))
        )
    steps.append(RuleStep(text=f"next size: {fit} {metal}", **edition.cited("resistance")))
    return GroundSize(
        size=fit,
        tabled_size=tabled,
        metal=metal,
        device_a=device_a,
        needed_circular_mils=float(wanted),
        steps=tuple(steps),
        findings=findings,
    )


def _mils(size: str, edition: Edition) -> Fraction:
    return Fraction(edition.conductor(size).cells["circular_mils"])
