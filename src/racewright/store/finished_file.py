"""Files of finished pieces: for each the survey or plan that it was bent from, and what was measured on it.

units: in
pieces:
  - plan: ../pump-house-saddle.yaml
    measured:
      - {bend: 2, angle: 46.5}
      - {end: up, off: 3/8}
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any, Literal

import msgspec

from racewright.errors import InputError, RacewrightError
from racewright.field_words import explained
from racewright.records.model import AngleReading, EndWay, LeanReading, LeanWay, OffReading, Reading, RiseReading
from racewright.store.survey_file import PlannedFile, read_planned_file
from racewright.store.yaml_text import parse_yaml, placed, read_text
from racewright.units.angle import read_degrees

_MOST_BYTES = 200_000
_MOST_ITEMS = 200
EXAMPLE = "examples/finished/orchard-three-pieces.yaml"
_SEE = f"write it like {EXAMPLE}; docs/fit.md says what may stand there"
_PAIRS = (("bend", "angle"), ("bend", "rise"), ("end", "off"), ("leg", "lean"), ("at", "daylight"))
#: a field of the request for these pieces, where the file calls it otherwise
_CALLED = {
    "number": "bend",
    "angle_deg": "angle",
    "lean_deg": "lean",
    "station": "at",
    "bender_name": "bender",
    "unit": "units",
    "doubt_length": "doubt.length",
    "doubt_deg": "doubt.angle",
}


class _Written(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Base of what stands in the file: every value is text as the person wrote it."""


class WrittenReading(_Written, frozen=True, kw_only=True):
    """One reading: `bend` with `angle` or `rise`; `end` with `off`; `leg` with `lean`; `at` with `daylight`."""

    bend: str = ""
    angle: str = ""
    rise: str = ""
    end: EndWay | Literal[""] = ""
    off: str = ""
    leg: LeanWay | Literal[""] = ""
    lean: str = ""
    at: str = ""
    daylight: str = ""


class WrittenPiece(_Written, frozen=True, kw_only=True):
    """One finished piece. `plan`: its survey or plan, beside this file; `piece`: which of the run, from 1."""

    plan: str
    measured: tuple[WrittenReading, ...]
    name: str = ""
    piece: str = "1"
    bender: str = ""


class WrittenDoubt(_Written, frozen=True, kw_only=True):
    """How far one reading may be off (standard deviation): a length, and an angle in degrees ('' unless told)."""

    length: str = ""
    angle: str = ""


class WrittenFinished(_Written, frozen=True, kw_only=True):
    """The file. `causes`: what to look for (empty: everything that can be looked for)."""

    pieces: tuple[WrittenPiece, ...]
    units: Literal["in", "mm"] = "in"
    causes: tuple[str, ...] = ()
    doubt: WrittenDoubt = WrittenDoubt()


class FinishedRead(msgspec.Struct, frozen=True, kw_only=True):
    """One finished piece: what it was planned from, which piece of the run, what was measured."""

    file: PlannedFile
    written: WrittenPiece
    piece: int
    measured: tuple[Reading, ...]


class FinishedFile(msgspec.Struct, frozen=True):
    """A file of finished pieces: its name, as written, its pieces, the doubt of an angle (degrees, None unless told),
    and the line of each field."""

    name: str
    written: WrittenFinished
    pieces: tuple[FinishedRead, ...]
    doubt_deg: float | None
    lines: dict[str, int]

    @contextmanager
    def told_by_line(self) -> Iterator[None]:
        """What is refused inside about the request for these pieces comes with the file, the line and the field."""
        with _placed(self.name, self.lines), ExitStack() as stack:
            for index, piece in enumerate(self.pieces):
                stack.enter_context(piece.file.told_by_line(f"pieces[{index}]."))
            yield


@contextmanager
def _placed(name: str, lines: dict[str, int]) -> Iterator[None]:
    try:
        yield
    except RacewrightError as err:
        if err.line is None:
            field = _called(err.field, lines)
            err.message = err.message.replace(err.field or "\0", field)
            err.field = field
        placed(err, name, lines)
        raise


def _called(field: str, lines: dict[str, int]) -> str:
    """A field of the request as the file calls it: 'pieces[0].measured[1].station' -> '... .at'."""
    head, _, last = field.rpartition(".")
    if last == "off" and f"{head}.daylight" in lines:
        last = "daylight"
    return re.sub(r"^\.", "", f"{head}.{_CALLED.get(last, last)}")


def load_finished(path: Path | str) -> FinishedFile:
    """Read a file of finished pieces and what they were planned from. Raises InputError that names the file and the
    place in it."""
    name = str(path)
    data, lines = parse_yaml(read_text(path, most_bytes=_MOST_BYTES), name, empty_hint=_SEE)
    try:
        _count(data, name)
        written = msgspec.convert(data, WrittenFinished)
    except msgspec.ValidationError as err:
        told = explained(str(err), data, WrittenFinished, see=_SEE)
        placed(told, name, lines)
        raise told from None
    with _placed(name, lines):
        folder = Path(path).parent
        pieces = tuple(_piece(item, folder, f"pieces[{index}]") for index, item in enumerate(written.pieces))
        doubt = _angle(written.doubt.angle, "doubt.angle", above=0.0) if written.doubt.angle else None
    return FinishedFile(name, written, pieces, doubt, lines)


def _piece(item: WrittenPiece, folder: Path, where: str) -> FinishedRead:
    number = _number(item.piece, f"{where}.piece")
    measured = tuple(_reading(reading, f"{where}.measured[{k}]") for k, reading in enumerate(item.measured))
    return FinishedRead(file=read_planned_file(folder / item.plan), written=item, piece=number, measured=measured)


def _reading(item: WrittenReading, where: str) -> Reading:
    given = {name for name in item.__struct_fields__ if getattr(item, name)}
    pair = next((p for p in _PAIRS if given == set(p)), None)
    if pair is None:
        raise InputError.at(
            where,
            f"{' and '.join(sorted(given)) or 'nothing'} does not make a reading.",
            hint=f"a reading is one of: {'; '.join(f'{a} with {b}' for a, b in _PAIRS)}",
            example="{bend: 2, angle: 46.5}",
        )
    figure = pair[1]
    if figure == "angle":
        number = _number(item.bend, f"{where}.bend")
        return AngleReading(number=number, angle_deg=_angle(item.angle, f"{where}.angle"))
    if figure == "rise":
        return RiseReading(rise=item.rise, number=_number(item.bend, f"{where}.bend"))
    if item.leg:
        return LeanReading(way=item.leg, lean_deg=_angle(item.lean, f"{where}.lean"))
    return (
        OffReading(way=item.end, off=item.off) if item.end else OffReading(way="up", off=item.daylight, station=item.at)
    )


def _count(data: Any, name: str) -> None:
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


def _number(text: str, where: str) -> int:
    if not text.isascii() or not text.isdigit() or len(text) > 9:
        raise InputError.at(where, f"'{text}' is no whole number.", hint="count from end A, the first is 1")
    return int(text)


def _angle(text: str, where: str, *, above: float = -180.0) -> float:
    least = above if above < 0.0 else above + 1e-9
    return read_degrees(text, least=least, most=180.0, field=where, hint="write it as 47 or 46.5", example="46.5")
