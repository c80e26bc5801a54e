"""A bending tool as its owner wrote it: lengths as text, and what they mean."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from functools import cache
from math import degrees, isfinite, radians
from typing import Annotated

import msgspec

from racewright.catalogue.raceways import find_raceway
from racewright.errors import InputError
from racewright.tools.benders import (
    GRIP_MM,
    BenderProfile,
    Besides,
    profile_from_radius_and_lead,
    profile_from_radius_and_take_up,
    profile_from_take_up_and_gain,
    pulled_rad,
    usual_hook_reach_mm,
)
from racewright.units.length import is_metric, names_unit, parse_length
from racewright.units.said import said_finely, said_in
from racewright.units.tape import TapeUnit, style_of

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._/-]{0,39}")
#: The fields of a record that are lengths.
LENGTHS = ("take_up", "gain", "radius", "lead", "centre", "star", "hook_reach", "grip")
_SIGNED = ("lead", "centre", "star")
#: Those that a profile calls otherwise.
_IN_PROFILE = {"lead": "arrow_lead"}
#: A length that nobody wrote by hand: it was worked out.
_FINER = re.compile(r"\.\d{4}")
NOT_MEASURED = ": taught, not measured"
#: Letters that a standing may have, and any other text of a record.
MOST_STANDING, MOST_TEXT = 1000, 60


class BenderRecord(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True, forbid_unknown_fields=True):
    """One profile as the user wrote it. Lengths are text with their unit; springback is pointer = A + b0 + b1 A with
    b0 in degrees. Take-up and gain, or radius with take-up or lead, or radius alone. How long a text may be is
    looked at when it is saved (`refuse_long`): what was kept before there was a bound is still read."""

    raceway: str
    size: str
    take_up: Annotated[
        str,
        msgspec.Meta(title="take-up", description="stub to the back of a 90, minus the arrow's mark"),
    ] = ""
    gain: Annotated[
        str,
        msgspec.Meta(title="gain per 90", description="stub + leg to the backs of a 90, minus the cut length"),
    ] = ""
    radius: Annotated[str, msgspec.Meta(title="bend radius", description="centerline radius, instead of the gain")] = ""
    lead: Annotated[str, msgspec.Meta(title="arrow lead", description="from the arrow to where the bend begins")] = ""
    centre: Annotated[
        str, msgspec.Meta(title="center mark", description="past where the bend begins: middle of a 45")
    ] = ""
    star: Annotated[str, msgspec.Meta(title="star", description="past where the bend begins: back of a 90")] = ""
    hook_reach: Annotated[
        str, msgspec.Meta(title="hook reach", description="straight needed past the arrow, in the hook")
    ] = ""
    grip: Annotated[str, msgspec.Meta(title="grip", description="straight needed on the other side, to hold")] = ""
    springback_b0_deg: Annotated[
        float | None, msgspec.Meta(title="springback b0", description="degrees that the pointer shows past every angle")
    ] = None
    springback_b1: Annotated[
        float | None, msgspec.Meta(title="springback b1", description="and so much more for each degree of the angle")
    ] = None
    standing: Annotated[str, msgspec.Meta(title="standing", description="how its figures were found")] = ""


@cache
def figure_words() -> dict[str, tuple[str, str]]:
    """What each figure of a record is called, and what it is."""
    properties = msgspec.json.schema_components([BenderRecord])[1]["BenderRecord"]["properties"]
    return {name: (part["title"], part["description"]) for name, part in properties.items() if "title" in part}


def refuse_long(name: str, record: BenderRecord) -> None:
    """Raises InputError for a text that is longer than may be saved."""
    for field in BenderRecord.__struct_fields__:
        text = getattr(record, field)
        most = MOST_STANDING if field == "standing" else MOST_TEXT
        if isinstance(text, str) and len(text) > most:
            raise InputError(
                f"Profile '{name}': the {field.replace('_', '-')} has {len(text):,} letters; the most is {most:,}.",
                hint="write it shorter",
                field=field,
            )


def profile_of(name: str, record: BenderRecord) -> BenderProfile:
    """The profile that a record means. Raises InputError naming the field, UnknownName for a raceway or size."""
    raceway = find_raceway(record.raceway, record.size)
    given = {field: _length_mm(record, field) for field in LENGTHS if getattr(record, field)}
    heated = raceway.family == "PVC"  # bent with heat: no hook and no grip unless they are given
    hook = given.get("hook_reach", 0.0 if heated else usual_hook_reach_mm(raceway))
    grip = given.get("grip", 0.0 if heated else GRIP_MM)
    standing = record.standing or "own figures"
    taught = [] if heated else [f.replace("_", " ") for f in ("hook_reach", "grip") if f not in given]
    if taught:
        standing += f"; {' and '.join(taught)}{NOT_MEASURED}"
    besides = Besides(hook_reach_mm=hook, grip_mm=grip, standing=standing)
    if "radius" in given and "lead" not in given and "take_up" in given:
        profile = profile_from_radius_and_take_up(name, raceway, given["radius"], given["take_up"], **besides)
    elif "radius" in given:
        profile = profile_from_radius_and_lead(name, raceway, given["radius"], given.get("lead", 0.0), **besides)
    elif "gain" in given and "take_up" in given:
        profile = profile_from_take_up_and_gain(name, raceway, given["take_up"], given["gain"], **besides)
    else:
        missing = "gain" if "gain" not in given else "take_up"
        raise InputError(
            f"Profile '{name}': the {missing.replace('_', '-')} is missing.",
            hint="give take-up and gain, or a radius (with take-up or arrow lead, where the shoe has an arrow)",
            field=missing,
            example="2 5/8" if missing == "gain" else "5",
        )
    if (record.springback_b0_deg is None) != (record.springback_b1 is None):
        raise InputError(
            f"Profile '{name}': springback needs both b0 and b1.",
            hint="write b1 = 0.0 for b0 alone",
            field="springback_b1",
        )
    b0 = record.springback_b0_deg
    if not all(value is None or isfinite(value) for value in (b0, record.springback_b1)):
        raise InputError(f"Profile '{name}': springback must be finite numbers.", field="springback_b0_deg")
    return msgspec.structs.replace(
        profile,
        take_up_mm=given.get("take_up", profile.take_up_mm),
        gain_mm=given.get("gain", profile.gain_mm),
        arrow_lead_mm=given.get("lead", profile.arrow_lead_mm),
        centre_mm=given.get("centre", profile.centre_mm),
        star_mm=given.get("star", profile.star_mm),
        springback_b0_rad=None if b0 is None else radians(b0),
        springback_b1=record.springback_b1,
        source="own tool",
    )


def record_of(profile: BenderProfile) -> BenderRecord:
    """A record that gives back the same profile, lengths in mm."""
    return _record_of(profile, ("radius", "lead", "centre", "star", "hook_reach", "grip"), _mm)


def whole_record(profile: BenderProfile) -> BenderRecord:
    """A record that gives back the same profile, its take-up and gain too, lengths to 1e-12 mm."""
    return _record_of(profile, LENGTHS, _finest_mm)


def _record_of(profile: BenderProfile, told: Sequence[str], written: Callable[[float], str]) -> BenderRecord:
    b0 = profile.springback_b0_rad
    lengths = {name: written(getattr(profile, f"{_IN_PROFILE.get(name, name)}_mm")) for name in told}
    return BenderRecord(
        raceway=profile.raceway_type,
        size=profile.trade_size,
        **lengths,
        springback_b0_deg=None if b0 is None else degrees(b0),
        springback_b1=profile.springback_b1,
        standing=profile.standing,
    )


def _finest_mm(value_mm: float) -> str:
    return f"{value_mm:.12f}".rstrip("0").rstrip(".") + " mm"


def with_units(record: BenderRecord, unit: TapeUnit) -> BenderRecord:
    """The record with the unit that was meant behind each length that was written without one."""
    texts = {field: getattr(record, field).strip() for field in LENGTHS}
    told = {field: f"{text} {unit}" for field, text in texts.items() if text and not names_unit(text)}
    return msgspec.structs.replace(record, **told)


def figures_written(record: BenderRecord, unit: TapeUnit) -> tuple[tuple[str, str], ...]:
    """Every figure that somebody wrote down by what it is called: lengths as they were written or, where they were
    worked out or written in another unit, in this one; springback by what to bend to."""
    out: dict[str, str] = {}
    words = figure_words()
    springback = (record.springback_b0_deg, record.springback_b1)
    for field, value in msgspec.to_builtins(record).items():
        label = words[field][0] if field in words else field
        if field in LENGTHS:
            as_written = is_metric(value) == (unit == "mm") and not _FINER.search(value)
            with said_in(style_of(unit)):
                out[label] = value if as_written else said_finely(float(parse_length(value, unit, allow_negative=True)))
        elif field in ("springback_b0_deg", "springback_b1"):
            out["springback"] = bend_to_words(*springback)
        elif value is not None:
            out[label] = str(value)
    return tuple(out.items())


def bend_to_words(b0_deg: float | None, b1: float | None) -> str:
    """What to bend to for a few angles: '30° bend to 31.0°, 45° bend to 46.5°, 90° bend to 93.0°'; that it is not
    known."""
    if b0_deg is None or b1 is None:
        return "not calibrated: read the angle after letting go"
    pulls = ((angle, degrees(pulled_rad(radians(angle), radians(b0_deg), b1))) for angle in (30, 45, 90))
    return ", ".join(f"{angle}° bend to {pointer:.1f}°" for angle, pointer in pulls)


def check_name(name: str) -> str:
    """The name, if it can be one. Raises InputError."""
    if not _NAME.fullmatch(name) or name != name.strip():
        raise InputError(
            f"'{name[:60]}' cannot be a profile's name.",
            hint="up to 40 letters, digits, spaces and . _ / - , beginning with a letter or digit",
            field="name",
            example="pump-house-half",
        )
    return name


def _length_mm(record: BenderRecord, field: str) -> float:
    return float(parse_length(getattr(record, field), "in", field=field, allow_negative=field in _SIGNED))


def _mm(value_mm: float) -> str:
    return f"{value_mm:.6f}".rstrip("0").rstrip(".") + " mm"
