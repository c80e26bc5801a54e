"""Files of finished pieces: for each the survey or plan that it was bent from, and what was measured on it.

    units: in
    pieces:
      - plan: ../pump-house-saddle.yaml
        measured:
          - {bend: 2, angle: 46.5}
          - {end: up, off: 3/8}

Every value is text as the person wrote it; `racewright.cli.finished_pieces` makes numbers of it.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Literal

import msgspec

from racewright.errors import InputError

_MOST_BYTES = 200_000
_MOST_ITEMS = 200
EXAMPLE = "examples/finished/orchard-three-pieces.yaml"

End = Literal["up", "down", "left", "right", "long", "short"]
Leg = Literal["up", "down", "left", "right"]


class WrittenReading(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One reading: `bend` with `angle` or `rise`; `end` with `off`; `leg` with `lean`; `at` with `daylight`."""

    bend: str = ""
    angle: str = ""
    rise: str = ""
    end: End | Literal[""] = ""
    off: str = ""
    leg: Leg | Literal[""] = ""
    lean: str = ""
    at: str = ""
    daylight: str = ""


class WrittenPiece(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One finished piece. `plan`: its survey or plan, beside this file; `piece`: which of the run, from 1."""

    plan: str
    measured: tuple[WrittenReading, ...]
    name: str = ""
    piece: str = "1"
    bender: str = ""


class WrittenDoubt(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How far one reading may be off (standard deviation): a length, and an angle in degrees."""

    length: str = "1/16 in"
    angle: str = "1/2"


class WrittenFinished(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The file. `causes`: what to look for (empty: everything that can be looked for)."""

    pieces: tuple[WrittenPiece, ...]
    units: Literal["in", "mm"] = "in"
    causes: tuple[str, ...] = ()
    doubt: WrittenDoubt = WrittenDoubt()


def load_finished(path: Path | str) -> WrittenFinished:
    """Read a file of finished pieces. Raises InputError that names the file and the place in it."""
    path = Path(path)
    try:
        raw = path.read_bytes()
    except OSError as err:
        raise InputError(f"{path}: cannot be read: {err.strerror}.", hint="check the name and the folder") from None
    if len(raw) > _MOST_BYTES:
        raise InputError(
            f"{path}: is {len(raw)} bytes long; the most taken is {_MOST_BYTES}.", hint="is this the right file?"
        )
    try:
        data = _parsed(raw.decode("utf-8-sig"), path)
    except UnicodeDecodeError as err:
        raise InputError(f"{path}: is not text in UTF-8 (byte {err.start}).", hint="save it as UTF-8 text") from None
    try:
        return msgspec.convert(data, WrittenFinished)
    except msgspec.ValidationError as err:
        match = re.fullmatch(r"(.*?)(?: - at `\$\.?(.*)`)?", str(err), re.DOTALL)
        what, where = (match[1], match[2] or "") if match else (str(err), "")
        raise InputError(
            f"{path}: {where + ': ' if where else ''}{what.replace('`', chr(39))}.",
            hint=f"write it like {EXAMPLE}; docs/fit.md says what may stand there",
            field=where,
        ) from None


def _parsed(text: str, path: Path) -> object:
    import yaml  # a library at the edge: loaded only when a file is read

    try:
        data: object = yaml.load(text, Loader=yaml.BaseLoader)  # every value stays text
    except (yaml.YAMLError, RecursionError) as err:
        mark = getattr(err, "problem_mark", None)
        line = mark.line + 1 if mark else None
        raise InputError(
            f"{path}{f', line {line}' if line else ''}: the layout cannot be read: "
            f"{getattr(err, 'problem', None) or 'nested too deep'}.",
            hint="indent with spaces, one space after each colon",
            line=line,
        ) from None
    if isinstance(data, dict) and isinstance(data.get("pieces"), list):
        pieces = data["pieces"]
        most = max((len(p.get("measured", ())) for p in pieces if isinstance(p, dict)), default=0)
        if max(most, len(pieces)) > _MOST_ITEMS:
            raise InputError(
                f"{path}: holds {max(most, len(pieces))} pieces or readings of one piece; the most is {_MOST_ITEMS}.",
                hint="is this the right file?",
            )
    return data
