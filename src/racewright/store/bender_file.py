"""The user's own bender profiles: one readable TOML file in the user's config folder.

    [benders."pump-house-half"]
    raceway = "EMT"
    size = "1/2"
    take_up = "5 in"
    gain = "2 5/8 in"

Lengths stay as the user wrote them. The file is rewritten whole, beside the old one, and put in its place in one step.
"""

from __future__ import annotations

import os
import re
import sys
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from math import degrees, isfinite, radians
from pathlib import Path
from typing import Any

import msgspec

from racewright.catalogue.benders import (
    GRIP_MM,
    default_benders,
    default_by_name,
    profile_from_radius_and_lead,
    profile_from_radius_and_take_up,
    profile_from_take_up_and_gain,
    raceway_of,
    usual_hook_reach_mm,
)
from racewright.catalogue.model import BenderProfile
from racewright.catalogue.raceways import find_raceway
from racewright.errors import InputError, RacewrightError, UnknownName
from racewright.schema_words import explained, one_spelling
from racewright.store.output_file import write_whole
from racewright.units.length import parse_length

FILE_NAME = "benders.toml"
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._/-]{0,39}")
_HEADER = """# Own bender profiles of Racewright. Lengths are text: "5 in", "2 5/8 in", "127 mm".
# Comments of your own are lost when a profile is added or removed by the program.
"""
_LENGTHS = ("take_up", "gain", "radius", "lead", "centre", "star", "hook_reach", "grip")
_SIGNED = ("lead", "centre", "star")


class BenderRecord(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True, forbid_unknown_fields=True):
    """One profile as the user wrote it. Lengths are text with their unit; springback is pointer = A + b0 + b1 A with
    b0 in degrees. Take-up and gain, or radius with take-up or lead, or radius alone."""

    raceway: str
    size: str
    take_up: str = ""
    gain: str = ""
    radius: str = ""
    lead: str = ""
    centre: str = ""
    star: str = ""
    hook_reach: str = ""
    grip: str = ""
    springback_b0_deg: float | None = None
    springback_b1: float | None = None
    standing: str = ""


def config_folder() -> Path:
    """RACEWRIGHT_HOME; else `racewright` in %APPDATA% (Windows), in XDG_CONFIG_HOME or in ~/.config."""
    own = os.environ.get("RACEWRIGHT_HOME")
    if own:
        return Path(own)
    if sys.platform == "win32" and os.environ.get("APPDATA"):
        return Path(os.environ["APPDATA"]) / "racewright"
    base = os.environ.get("XDG_CONFIG_HOME")
    return (Path(base) if base else Path.home() / ".config") / "racewright"


def bender_file() -> Path:
    """Where the user's own profiles are kept; the file need not exist."""
    return config_folder() / FILE_NAME


def profile_of(name: str, record: BenderRecord) -> BenderProfile:
    """The profile that a record means. Raises InputError naming the field, UnknownName for a raceway or size."""
    raceway = find_raceway(record.raceway, record.size)
    given = {field: _length_mm(record, field) for field in _LENGTHS if getattr(record, field)}
    heated = raceway.type.startswith("PVC")  # bent with heat: no hook and no grip unless they are given
    hook = given.get("hook_reach", 0.0 if heated else usual_hook_reach_mm(raceway))
    grip = given.get("grip", 0.0 if heated else GRIP_MM)
    standing = record.standing or "own figures"
    taught = [] if heated else [f.replace("_", " ") for f in ("hook_reach", "grip") if f not in given]
    if taught:
        standing += f"; {' and '.join(taught)}: taught, not measured"
    if "radius" in given and "lead" not in given and "take_up" in given:
        profile = profile_from_radius_and_take_up(
            name, raceway, given["radius"], given["take_up"], hook_reach_mm=hook, grip_mm=grip, standing=standing
        )
    elif "radius" in given:
        lead = given.get("lead", 0.0)
        profile = profile_from_radius_and_lead(
            name, raceway, given["radius"], lead, hook_reach_mm=hook, grip_mm=grip, standing=standing
        )
    elif "gain" in given and "take_up" in given:
        profile = profile_from_take_up_and_gain(
            name, raceway, given["take_up"], given["gain"], hook_reach_mm=hook, grip_mm=grip, standing=standing
        )
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
        source=f"own profile in {FILE_NAME}",
    )


def record_of(profile: BenderProfile) -> BenderRecord:
    """A record that gives back the same profile, lengths in mm."""
    b0 = profile.springback_b0_rad
    return BenderRecord(
        raceway=profile.raceway_type,
        size=profile.trade_size,
        radius=_mm(profile.radius_mm),
        lead=_mm(profile.arrow_lead_mm),
        centre=_mm(profile.centre_mm),
        star=_mm(profile.star_mm),
        hook_reach=_mm(profile.hook_reach_mm),
        grip=_mm(profile.grip_mm),
        springback_b0_deg=None if b0 is None else degrees(b0),
        springback_b1=profile.springback_b1,
        standing=profile.standing,
    )


def load_records(path: Path | None = None) -> dict[str, BenderRecord]:
    """The user's records by name; {} where there is no file. Raises InputError with line or field for a bad file."""
    where = path or bender_file()
    try:
        text = where.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        return {}
    except UnicodeDecodeError as error:
        raise InputError(f"{where}: not UTF-8 text (byte {error.start}).", hint="save the file as UTF-8") from error
    except OSError as error:
        raise InputError(f"{where}: cannot be read ({error.strerror}).") from error
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # ValueError: TOML's own errors, and numbers of thousands of digits
        why = str(error) if isinstance(error, tomllib.TOMLDecodeError) else "nested too deep, or a number too long"
        found = re.search(r"line (\d+)", why)
        raise InputError(
            f"{where}: not a TOML file: {why}.",
            hint='put text in double quotes, and a unit inside them: take_up = "5 in"',
            line=int(found.group(1)) if found else None,
        ) from error
    unknown = sorted(set(data) - {"benders"})
    table = data.get("benders", {})
    if unknown or not isinstance(table, dict):
        name = unknown[0] if unknown else "benders"
        raise InputError(
            f"{where}: '{name}' does not belong here.",
            hint='every profile is a table of its own: [benders."my-half-inch"]',
            field=name,
            line=_line_of(text, name),
        )
    return {name: _record(where, text, name, value) for name, value in table.items()}


def load_own_benders(path: Path | None = None) -> dict[str, BenderProfile]:
    """The user's profiles by name. Raises InputError naming the profile and field."""
    return {name: profile_of(name, record) for name, record in load_records(path).items()}


@contextmanager
def changing(path: Path | None = None) -> Iterator[dict[str, BenderRecord]]:
    """The user's records, to be changed in place; what they are at the block's end is saved, unless it raises.

    Two commands at once wait for each other (not on Windows, where the last one wins). Raises InputError.
    """
    where = path or bender_file()
    with suppress(OSError):  # else saving says why
        where.parent.mkdir(parents=True, exist_ok=True)
    with _alone_in(Path(os.path.realpath(where)).parent):
        records = load_records(where)
        yield records
        save_records(records, where)


@contextmanager
def _alone_in(folder: Path) -> Iterator[None]:
    try:
        import fcntl

        handle = os.open(folder, os.O_RDONLY)
    except (ImportError, OSError):
        yield
        return
    try:
        with suppress(OSError):  # a disk without locks
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def save_records(records: dict[str, BenderRecord], path: Path | None = None) -> Path:
    """Write all records: a temporary file in the same folder, flushed to the disk, then put in place in one step."""
    where = path or bender_file()
    for name in records:
        check_name(name)
    hint = "check the disk's room, or set RACEWRIGHT_HOME to a folder of yours"
    try:
        where.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"{where}: cannot be written: {error.strerror}.", hint=hint) from error
    write_whole(where, _toml(records).encode(), hint=hint)
    return where


def find_bender(name: str, path: Path | None = None) -> BenderProfile:
    """A profile by name: the user's own first, then the hand shoes of the table. Raises UnknownName with all names."""
    records = load_records(path)
    key = next((own for own in records if own.casefold() == name.strip().casefold()), None)
    if key is not None:
        return profile_of(key, records[key])
    found = default_by_name(name)
    if found is not None:
        return found
    from difflib import get_close_matches

    known = [*records, *(profile.name for profile in default_benders())]
    near = get_close_matches(name.lower(), known, n=1, cutoff=0.4)
    raise UnknownName(
        f"No bender profile '{name}'.",
        hint=f"profiles: {', '.join(known)}" + (f"; nearest: {near[0]}" if near else ""),
        field="bender",
        expected=", ".join(known),
        example=known[0],
    )


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


def _record(where: Path, text: str, name: str, value: Any) -> BenderRecord:
    try:
        check_name(name)
        record = msgspec.convert(one_spelling(value), BenderRecord)
        raceway_of(profile_of(name, record))
    except (msgspec.ValidationError, RacewrightError) as wrong:
        error = wrong if isinstance(wrong, RacewrightError) else explained(str(wrong), value, BenderRecord, see=_SEE)
        field, reason = error.field, error.message
        line = _line_of(text, name, field)
        place = f"{where}, line {line}" if line else str(where)
        raise InputError(
            f"{place}: profile '{name}': {reason}",
            hint=error.hint or _SEE,
            field=field,
            line=line,
        ) from error
    return record


_SEE = f'lengths are text in quotes, "5 in"; fields: {", ".join(BenderRecord.__struct_fields__)}'


def _line_of(text: str, name: str, field: str = "") -> int | None:
    """Line of a field of the profile `name`, else of its first line, else None."""
    head = None
    table: list[str] = []
    for number, line in enumerate(text.split("\n"), 1):
        keys = _keys(line.strip())
        if line.lstrip().startswith("["):
            table, keys = keys, []
        path = [*table, *keys]
        path = path[1:] if path[0:1] == ["benders"] and len(path) > 1 else path
        if path[0:1] == [name]:
            if field and field in path[1:]:
                return number
            head = head or number
    return head


def _keys(line: str) -> list[str]:
    """The names before the equals sign of a line, or in its square brackets, read as TOML does; [] where none are."""
    try:
        data: Any = tomllib.loads(line if line.startswith("[") else f"{line.partition('=')[0]} = 0")
    except (ValueError, RecursionError):
        return []
    keys = []
    while isinstance(data, dict) and data:
        keys.append(next(iter(data)))
        data = data[keys[-1]]
    return keys


def _length_mm(record: BenderRecord, field: str) -> float:
    return float(parse_length(getattr(record, field), "in", field=field, allow_negative=field in _SIGNED))


def _mm(value_mm: float) -> str:
    return f"{value_mm:.6f}".rstrip("0").rstrip(".") + " mm"


def _toml(records: dict[str, BenderRecord]) -> str:
    parts = [_HEADER]
    for name, record in records.items():
        lines = [f"[benders.{_quoted(name)}]"]
        for field, value in msgspec.to_builtins(record).items():
            lines.append(f"{field} = {_quoted(value) if isinstance(value, str) else repr(float(value))}")
        parts.append("\n".join(lines) + "\n")
    return "\n".join(parts)


def _quoted(text: str) -> str:
    out = []
    for ch in text:
        if ch in '"\\':
            out.append("\\" + ch)
        elif ord(ch) < 32 or ord(ch) == 127:
            out.append(f"\\u{ord(ch):04X}")
        else:
            out.append(ch)
    return '"' + "".join(out) + '"'
