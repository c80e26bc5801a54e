"""The largest overcurrent device that still protects a wire, and the equipment grounding conductor for a device.

Notation: I ampacity after all corrections (A), S the next standard rating at or above I, D the cap of a small wire.
Largest device = min(S, D); where rounding up is not allowed, the largest standard rating at or below min(I, D).
The caps take away, they never give: a wire whose ampacity falls below its cap is protected by its ampacity.
Motors, welders, taps, flexible cords and fixture wires have rules of their own and are not in here.
The grounding conductor grows with the circuit's wires: Ie circular mils of the tabled one, An circular mils that the
ampacity alone needs, Au circular mils that are used; needed Ie Au / An, never more than the circuit conductors.
"""

from __future__ import annotations

from fractions import Fraction

import msgspec

from racewright.codebook.edition import Edition, RuleStep, above_zero, metal_name
from racewright.errors import Finding, InputError, LimitError, Severity

#: Where the next rating up may not be taken. 240.4(B)(1), 240.21(B) and (C).
_RECEPTACLES = "more than one receptacle for cord-and-plug portable loads on the branch circuit"
_OTHERS = "a tap, a transformer secondary"


class Protection(msgspec.Struct, frozen=True, kw_only=True):
    """Ratings in A. `largest_a` where the next standard rating up may be taken, `receptacles_a` where it may not
    (several receptacles for portable loads, taps, transformer secondaries); None where no standard device fits.
    `above_receptacles`: that device is larger than any branch circuit with several receptacles has."""

    largest_a: float
    receptacles_a: float | None
    above_receptacles: bool
    steps: tuple[RuleStep, ...]


def protection_for(size: str, metal: str, ampacity_a: Fraction, edition: Edition) -> Protection:
    """Devices for one wire of `ampacity_a`, corrected and not above its terminals' column."""
    rows = edition.rows("standard_devices")
    ratings = [Fraction(row.cells["rating_a"]) for row in rows]
    below = [rating for rating in ratings if rating <= ampacity_a]
    following = next((rating for rating in ratings if rating >= ampacity_a), None)
    # 240.4(B): the next rating up, no larger than 800 A; 240.4(C) beyond that: none above the ampacity.
    up = following if following is not None and following <= edition.limit("next_size_up_to") else None
    largest = up if up is not None else below[-1]
    plain = below[-1] if below else None
    above = plain is not None and plain > edition.limit("receptacle_circuit_to")
    steps = [_rating_step(ampacity_a, largest, above=above, edition=edition)]
    row = edition.find("small_conductor_limits", "size", size)
    cap = row.number(f"{metal}_a") if row else None
    if row is not None and cap is not None:
        largest, plain = min(largest, cap), None if plain is None else min(plain, cap)
        continuous = row.number("continuous_a")
        only = (
            f"; only a device listed and marked for that size, continuous loads up to {float(continuous):g} A"
            if continuous is not None
            else ""
        )
        text = f"{size} {metal}: never more than {float(cap):g} A, a cap and no permission{only}"
        steps.append(edition.step(text, "small"))
    if plain is not None and plain < edition.limit("receptacle_circuit_from"):
        plain = None
    return Protection(
        largest_a=float(largest),
        receptacles_a=None if plain is None else float(plain),
        above_receptacles=above,
        steps=tuple(steps),
    )


def _no_rounding_up(*, above: bool) -> str:
    """Where the next rating up may not be taken; `above` the size of a branch circuit with several receptacles."""
    return _OTHERS if above else f"{_RECEPTACLES}, {_OTHERS}"


def check_device(
    wire: str, device_a: float, protection: Protection, ampacity_a: float, edition: Edition
) -> tuple[Finding, ...]:
    """A problem where a device of `device_a` (A) is too large for the wire, a caution where it is so only for circuits
    that may not round up. Raises InputError for a rating not above 0."""
    above_zero(device_a, "Overcurrent device", "A", "device")
    plain = protection.receptacles_a
    severity: Severity
    if device_a > protection.largest_a:
        message = (
            f"A device of {device_a:g} A is too large for {wire}, which carries {ampacity_a:.4g} A here: at most "
            f"{protection.largest_a:g} A. Take a thicker wire or a smaller device."
        )
        severity, allowed, key = "problem", protection.largest_a, "device"
    elif plain is None or device_a > plain:
        fits = "no standard device does" if plain is None else f"{plain:g} A does"
        message = (
            f"{device_a:g} A lies above the {ampacity_a:.4g} A of {wire}: not with"
            f" {_no_rounding_up(above=protection.above_receptacles)}; there {fits}."
        )
        severity, allowed, key = "caution", plain or ampacity_a, "device_next"
    else:
        return ()
    return (
        Finding(
            rule="wire.device",
            severity=severity,
            message=message,
            **edition.cited(key),
            where=wire,
            measured=device_a,
            allowed=allowed,
            unit="A",
        ),
    )


def _rating_step(ampacity_a: Fraction, rating: Fraction, *, above: bool, edition: Edition) -> RuleStep:
    if rating <= ampacity_a:
        text = f"{float(ampacity_a):.4g} A: overcurrent device of at most {float(rating):g} A"
        return edition.step(text, "device")
    text = (
        f"{float(ampacity_a):.4g} A is no standard rating: the next one up, {float(rating):g} A, may protect it; "
        f"not with {_no_rounding_up(above=above)}"
    )
    return edition.step(text, "device_next")


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
    device_a: float, edition: Edition, *, metal: str = "copper", needed_size: str = "", used_size: str = ""
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
    text = f"overcurrent device {device_a:g} A, row up to {row.cells['up_to_a']} A: {tabled} {metal}"
    plain = GroundSize(
        size=tabled,
        tabled_size=tabled,
        metal=metal,
        device_a=device_a,
        needed_circular_mils=None,
        steps=(edition.step(text, "ground"),),
        findings=(),
    )
    if bool(needed_size) != bool(used_size):
        raise InputError(
            "Only one of the two circuit conductor sizes was given.",
            hint="give the size that the ampacity needs and the size that is used, or neither",
            field="used_size" if needed_size else "needed_size",
        )
    return _increased(plain, needed_size, used_size, edition) if needed_size else plain


def _increased(plain: GroundSize, needed_size: str, used_size: str, edition: Edition) -> GroundSize:
    needed_size, used_size = edition.size(needed_size, field="needed_size"), edition.size(used_size, field="used_size")
    normal, used = _mils(needed_size, edition), _mils(used_size, edition)
    if used < normal:
        raise InputError(
            f"The used size {used_size} is thinner than {needed_size}, which the ampacity needs.",
            hint="the used size must be at least the needed one",
            field="used_size",
        )
    # 250.122(B): in proportion to the circular mils of the ungrounded conductors.
    tabled = _mils(plain.tabled_size, edition)
    wanted = tabled * used / normal
    sizes = [row for row in edition.rows("conductors") if row.cells["stranding"] == "stranded"]
    fit = next((row.cells["size"] for row in sizes if Fraction(row.cells["circular_mils"]) >= wanted), None)
    text = f"{float(tabled):.0f} x {float(used):.0f} / {float(normal):.0f} = {float(wanted):.0f} circular mils"
    steps = [*plain.steps, edition.step(text, "ground_increase")]
    findings: tuple[Finding, ...] = ()
    if fit is not None and fit != plain.tabled_size:
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
        steps.append(edition.step(f"not thicker than the circuit conductors: {used_size}", "ground_cap"))
    steps.append(edition.step(f"next size: {fit} {plain.metal}", "resistance"))
    return msgspec.structs.replace(
        plain, size=fit, needed_circular_mils=float(wanted), steps=tuple(steps), findings=findings
    )


def _mils(size: str, edition: Edition) -> Fraction:
    return Fraction(edition.conductor(size).cells["circular_mils"])
