"""Checks of a bender profile: the code's least radius, and numbers that contradict each other.

Notation as in `benders`: D outside diameter, R centreline radius, T take-up, G gain of a 90, a lead.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import degrees, isfinite, radians

from racewright.catalogue.raceways import Raceway
from racewright.errors import Finding, InputError
from racewright.geometry.vector import even
from racewright.tools.benders import (
    BenderProfile,
    centre_position_mm,
    gain_of_90_mm,
    radius_from_gain_mm,
    star_position_mm,
    take_up_of_90_mm,
)
from racewright.tools.written import MOST_STANDING, NOT_MEASURED
from racewright.units.angle import format_angle
from racewright.units.said import said_finely, said_least, said_most

#: Article of NFPA 70-2023 that sends to Chapter 9 Table 2.
ARTICLE = {"EMT": "358.24(A)", "IMC": "342.24(A)", "RMC": "344.24(A)", "PVC": "352.24(A)"}
SAME_MM = 0.5  # two figures for one length that differ by more contradict each other
MARK_MM = 6.35  # 1/4 in: a cast mark further from its place than this deserves a look
SMALL_LEAD_MM = 1.6  # 1/16 in: no take-up is read closer
#: Springback is taught as some 3 to 5 degrees of a 90 (common practice, no source), a thirtieth to an eighteenth of the
#: angle; three times that and more is no springback, but a slip (own choice). So is a third of it and less, at bends
#: from 60 degrees on: at smaller ones it is no more than the readings are off by (own choice).
MOST_SPRINGBACK = 0.15
LEAST_SPRINGBACK, TELLING_RAD = 1.0 / 90.0, radians(60.0)
POINTER_MISREAD_RAD = radians(1.0)  # pointer and angle, each read to half a degree
SPRINGBACK_SOURCE = "own choice: 15 % of the angle, and 1° for reading"
LEAST_SOURCE = "3 to 5° of a 90: common practice, no source; a third of the least: own choice"
OPENS_SOURCE = "own choice: conduit opens, by more the further it is bent"
#: The bends that a profile is checked at where no plan says which are made.
USUAL_RAD = tuple(radians(angle) for angle in (22.5, 30.0, 45.0, 60.0, 90.0))
_ROUNDING_RAD = 1e-9
#: A pointer short of its angle by no more is not to be seen.
SHOWN_RAD = radians(0.05)


def least_radius_citation(raceway_type: str) -> str:
    """'NFPA 70-2023 358.24(A), Chapter 9 Table 2'."""
    article = ARTICLE[raceway_type.split("-")[0]]
    return f"NFPA 70-2023 {article}, Chapter 9 Table 2"


def check_profile(profile: BenderProfile, raceway: Raceway, bent_rad: Iterable[float] | None = None) -> list[Finding]:
    """What is wrong or odd with a profile for a raceway, at bends of these angles, or as a tool at the usual ones:
    springback that is believable at some and not at others is no problem of the tool, but of a bend that is made.
    Nothing is raised and nothing is approved."""
    broken = list(_not_finite(profile))
    if broken:
        return broken
    return [
        *_belongs(profile, raceway),
        *_radius(profile, raceway),
        *_contradictions(profile),
        *_lead(profile),
        *_absurd(profile),
        *_springback(profile, bent_rad),
        *_standing(profile),
    ]


def refuse_impossible(profile: BenderProfile) -> None:
    """Raises InputError for figures that no shoe can have together, with the take-ups that this radius goes with."""
    for finding in _lead(profile):
        if finding.severity == "problem":
            radius, half = profile.radius_mm, profile.outside_diameter_mm / 2.0
            least, most = (radius + half + part * radius / 2.0 for part in (-1.0, 1.0))
            raise InputError(
                f"Profile '{profile.name}': {finding.message}",
                hint=f"with a radius of {said_finely(radius)} (from the gain, or as given) a take-up of"
                f" {said_least(least)} to {said_most(most)} can be; measure both on one test bend",
                field="take_up",
            )


def _not_finite(profile: BenderProfile) -> Iterator[Finding]:
    for name in profile.__struct_fields__:
        value = getattr(profile, name)
        if isinstance(value, float) and not isfinite(value):
            yield Finding(rule="bender.absurd", severity="problem", message=f"{name} is {value}: not a finite number.")


def _belongs(profile: BenderProfile, raceway: Raceway) -> Iterator[Finding]:
    if (profile.raceway_type, profile.trade_size) != (raceway.type, raceway.trade_size):
        yield Finding(
            rule="bender.raceway",
            severity="problem",
            message=f"The profile '{profile.name}' is for {profile.raceway_type} {profile.trade_size},"
            f" not for {raceway.name}.",
        )
    elif abs(profile.outside_diameter_mm - raceway.outside_diameter_mm) > SAME_MM:
        yield Finding(
            rule="bender.raceway",
            severity="caution",
            message=f"The profile's outside diameter is not that of {raceway.name} in the catalogue.",
            measured=profile.outside_diameter_mm,
            allowed=raceway.outside_diameter_mm,
            unit="mm",
        )


def _radius(profile: BenderProfile, raceway: Raceway) -> Iterator[Finding]:
    least = raceway.field_radius_mm
    if least is None:
        return
    citation = least_radius_citation(raceway.type)
    by_gain = radius_from_gain_mm(profile.gain_mm, profile.outside_diameter_mm)
    if profile.radius_mm < least - 1e-6:
        yield Finding(
            rule="bender.radius",
            severity="problem",
            message=f"The centerline radius {said_finely(profile.radius_mm)} is under the least of"
            f" {said_finely(least)}."
            + (
                " Write a larger radius."
                if profile.radius_only
                else " A gain read short makes the radius short by 2.3 times as much: check it on a test bend."
            ),
            citation=citation,
            measured=profile.radius_mm,
            allowed=least,
            unit="mm",
        )
    elif by_gain < least - 1e-6:
        yield Finding(
            rule="bender.pair",
            severity="caution",
            message=f"The take-up and gain as given mean a radius of {said_finely(by_gain)}, under the least of"
            f" {said_finely(least)}: measure the gain again.",
            citation=citation,
            measured=by_gain,
            allowed=least,
            unit="mm",
        )


def _contradictions(profile: BenderProfile) -> Iterator[Finding]:
    radius, diameter = profile.radius_mm, profile.outside_diameter_mm
    rows = (
        ("take-up", profile.take_up_mm, take_up_of_90_mm(radius, diameter, profile.arrow_lead_mm), SAME_MM),
        ("gain", profile.gain_mm, gain_of_90_mm(radius, diameter), SAME_MM),
        ("star", profile.star_mm, star_position_mm(radius, diameter), MARK_MM),
        ("center mark", profile.centre_mm, centre_position_mm(radius), MARK_MM),
    )
    for label, given, follows, allowed in rows:
        if abs(given - follows) > allowed:
            yield Finding(
                rule="bender.numbers",
                severity="problem" if allowed == SAME_MM else "caution",
                message=f"The {label} is given as {said_finely(given)}, and radius, diameter and lead make it"
                f" {said_finely(follows)}.",
                citation="geometry of the bend",
                where=label,
                measured=given,
                allowed=follows,
                unit="mm",
            )


def _lead(profile: BenderProfile) -> Iterator[Finding]:
    lead = profile.arrow_lead_mm
    if lead > profile.radius_mm / 2.0 or lead < -profile.radius_mm / 2.0:
        yield Finding(
            rule="bender.lead",
            severity="problem",
            message=f"The arrow would sit {said_finely(abs(lead))} from where the bend begins, more than half the"
            " radius: take-up and gain cannot belong to one shoe.",
            measured=lead,
            allowed=profile.radius_mm / 2.0,
            unit="mm",
        )
    elif lead < -SMALL_LEAD_MM:
        yield Finding(
            rule="bender.lead",
            severity="caution",
            message=f"The lead is negative ({said_finely(lead)}): the arrow would sit inside the bend. Mostly the"
            " take-up is too small or the gain too large; check both on one test bend.",
            measured=lead,
            allowed=0.0,
            unit="mm",
        )


def _absurd(profile: BenderProfile) -> Iterator[Finding]:
    diameter = profile.outside_diameter_mm
    limits = (
        ("radius", profile.radius_mm, 2.0 * diameter, 30.0 * diameter),
        ("hook reach", profile.hook_reach_mm, 0.0, 304.8),
        ("grip", profile.grip_mm, 0.0, 914.4),
    )
    for label, value, low, high in limits:
        if not low <= value <= high:
            yield Finding(
                rule="bender.absurd",
                severity="caution" if label != "radius" else "problem",
                message=f"The {label} of {said_finely(value)} is outside {said_finely(low)} to {said_finely(high)},"
                " what a hand shoe can have (common practice, no source).",
                where=label,
                measured=value,
                allowed=low if value < low else high,
                unit="mm",
            )


def springback_limits_rad(angle_rad: float) -> tuple[float, float]:
    """How far the pointer may believably stand past the angle that a bend is left at."""
    return -POINTER_MISREAD_RAD, POINTER_MISREAD_RAD + MOST_SPRINGBACK * angle_rad


def springback_words(angle_rad: float, pointer_rad: float) -> str:
    """Why a pointer cannot belong to the angle that a bend is left at; '' where it can."""
    low, high = springback_limits_rad(angle_rad)
    if low - _ROUNDING_RAD <= pointer_rad - angle_rad <= high + _ROUNDING_RAD:
        return ""
    if pointer_rad < angle_rad:
        return "conduit opens when it is let go, so the pointer stands past the angle, and not short of it"
    return f"conduit opens by a few degrees when it is let go, not by more than {degrees(high):.1f}° here"


def _springback(profile: BenderProfile, bent_rad: Iterable[float] | None) -> Iterator[Finding]:
    """The bend whose pointer is the furthest out of what springback can be; where none is, that the line is odd."""
    angles = tuple(USUAL_RAD if bent_rad is None else bent_rad)
    past = [(angle, pointer - angle) for angle in angles if (pointer := profile.pointer_rad(angle)) is not None]
    odd = [(angle, by) for angle, by in past if springback_words(angle, angle + by)]
    if not odd:
        yield from _odd_line(profile, past)
        return
    angle, by = max(odd, key=lambda one: even(_out_by(*one)))
    somewhere = len(odd) < len(past) and all(over > 0.0 for _, over in odd)
    same = " One springback for every angle is what a bend at one angle told." if profile.springback_b1 == 0.0 else ""
    yield Finding(
        rule="bender.springback",
        severity="caution" if bent_rad is None and somewhere else "problem",
        message=f"The springback as calibrated has the pointer at {degrees(angle + by):.1f}° for a bend of"
        f" {format_angle(angle)}: {springback_words(angle, angle + by)}.{same} Make a test bend of about this angle,"
        " read the angle after letting go, and calibrate with it and another angle.",
        citation=SPRINGBACK_SOURCE,
        measured=by,
        allowed=springback_limits_rad(angle)[by > 0.0],
        unit="rad",
    )


def _out_by(angle_rad: float, past_rad: float) -> float:
    low, high = springback_limits_rad(angle_rad)
    return max(low - past_rad, past_rad - high)


def _odd_line(profile: BenderProfile, past: list[tuple[float, float]]) -> Iterator[Finding]:
    """Within what readings can be off, and yet not what conduit does: short of a bend's angle, or less the further it
    is bent. No calibration gives it now; one that was kept before, or figures that were written, may."""
    angle, by = min(past, key=lambda one: even(one[1]), default=(0.0, 0.0))
    falls = -10.0 * (profile.springback_b1 or 0.0)
    if by < -SHOWN_RAD:
        why = f"has the pointer at {degrees(angle + by):.1f}° for a bend of {format_angle(angle)}, short of it"
    elif past and falls > 0.005:
        why = f"falls by {falls:.2f}° for each 10° of angle"
    else:
        return
    yield Finding(
        rule="bender.springback",
        severity="caution",
        message=f"The springback as calibrated {why}: conduit opens when it is let go, and the more the further it is"
        " bent. Calibrate again, from test bends at two angles.",
        citation=OPENS_SOURCE,
        measured=by,
        allowed=0.0,
        unit="rad",
    )


def _standing(profile: BenderProfile) -> Iterator[Finding]:
    """A standing that was kept before it had a bound."""
    standing = profile.standing
    if standing.endswith(NOT_MEASURED):
        standing = standing[: standing.rindex("; ")]
    if len(standing) > MOST_STANDING:
        yield Finding(
            rule="bender.standing",
            severity="info",
            message=f"The standing of '{profile.name}', how its figures were found, has {len(standing):,} letters, and"
            f" a tool is saved with {MOST_STANDING:,} at most: write it shorter before you change this one.",
            measured=float(len(standing)),
            allowed=float(MOST_STANDING),
            unit="letters",
        )
