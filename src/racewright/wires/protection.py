"""The largest overcurrent device that still protects a wire: its ampacity, the standard ratings, the small-wire caps.

Notation: I ampacity after all corrections (A), S the next standard rating at or above I, D the cap of a small wire.
Largest device = min(S, D); where rounding up is not allowed, the largest standard rating at or below min(I, D).
The caps take away, they never give: a wire whose ampacity falls below its cap is protected by its ampacity.
Motors, welders, taps, flexible cords and fixture wires have rules of their own and are not in here.
"""

from __future__ import annotations

from fractions import Fraction

import msgspec

from racewright.codebook.edition import Edition, RuleStep, above_zero
from racewright.errors import Finding, Severity

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
        steps.append(RuleStep(text=text, **edition.cited("small")))
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
        return RuleStep(text=text, **edition.cited("device"))
    text = (
        f"{float(ampacity_a):.4g} A is no standard rating: the next one up, {float(rating):g} A, may protect it; "
        f"not with {_no_rounding_up(above=above)}"
    )
    return RuleStep(text=text, **edition.cited("device_next"))
