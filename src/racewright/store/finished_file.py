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

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Literal

import msgspec

from racewright.errors import InputError, RacewrightError
from racewright.field_words import explained
from racewright.store.yaml_text import parse_yaml, placed, read_text

_MOST_BYTES = 200_000
_MOST_ITEMS = 200
EXAMPLE = "examples/finished/orchard-three-pieces.yaml"
_SEE = f"write it like {EXAMPLE}; docs/fit.md says what may stand there"

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


class FinishedFile(msgspec.Struct, frozen=True):
    """A file of finished pieces: its name, as written, and the line of each field."""

    name: str
    written: WrittenFinished
    lines: dict[str, int]

    @contextmanager
    def told_by_line(self) -> Iterator[None]:
        """What is refused about this file inside comes with the file, the line and the field."""
        try:
            yield
        except RacewrightError as err:
            placed(err, self.name, self.lines)
            raise


def load_finished(path: Path | str) -> FinishedFile:
    """Read a file of finished pieces. Raises InputError that names the file and the place in it."""
    name = str(path)
    data, lines = parse_yaml(read_text(path, most_bytes=_MOST_BYTES), name, empty_hint=_SEE)
    try:
        _count(data, name)
        return FinishedFile(name, msgspec.convert(data, WrittenFinished), lines)
    except msgspec.ValidationError as err:
        told = explained(str(err), data, WrittenFinished, see=_SEE)
        placed(told, name, lines)
        raise told from None


def _count(data: object, name: str) -> None:
    pieces = data.get("pieces") if isinstance(data, dict) else None
    if not isinstance(pieces, list):
        return
    readings = [p.get("measured") for p in pieces if isinstance(p, dict)]
    most = max((len(r) for r in readings if isinstance(r, list)), default=0)
    if max(most, len(pieces)) > _MOST_ITEMS:
        raise InputError(
            f"{name}: holds {max(most, len(pieces))} pieces or readings of one piece; the most is {_MOST_ITEMS}.",
            hint="is this the right file?",
        )
