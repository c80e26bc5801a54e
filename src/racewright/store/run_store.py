"""Runs shared between devices: every save is a file of its own, and nobody's save replaces another's.

A run is a folder; revision 7 is `r0000007.json`. A revision is made by giving a finished file its name, which the
file system does once only (an exclusive link), so that of two savers with the same base one gets 7 and the other is
told. The other's version is kept as a rival until a later save settles it.
"""

from __future__ import annotations

import json
import os
import re
import secrets
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, Any

import msgspec

from racewright.errors import InputError, RacewrightError

MOST_DATA = 200_000
MOST_RUNS = 2000
MOST_RIVALS = 40
KEPT_REVISIONS = 100
_ID = re.compile(r"[A-Za-z0-9_-]{1,64}")
_REVISION = re.compile(r"r(\d{7,})\.json")
_RIVAL = re.compile(r"rival-([A-Za-z0-9]{6,32})\.json")

By = Annotated[str, msgspec.Meta(max_length=80)]


class Rival(msgspec.Struct, frozen=True, kw_only=True):
    """A version that came too late, made from revision `base`; kept until a save settles it."""

    rival: str
    base: int
    data: dict[str, Any]
    saved: str
    by: str


class SavedRun(msgspec.Struct, frozen=True, kw_only=True):
    """The newest revision of a run, with the rivals that wait."""

    id: str
    revision: int
    data: dict[str, Any]
    saved: str
    by: str
    rivals: tuple[Rival, ...] = ()


class RunRow(msgspec.Struct, frozen=True, kw_only=True):
    """A line of the list of runs; `rivals` is how many wait."""

    id: str
    name: str
    revision: int
    saved: str
    by: str
    rivals: int


class _Kept(msgspec.Struct, frozen=True, kw_only=True):
    base: int
    data: dict[str, Any]
    saved: str
    by: str


_KEPT = msgspec.json.Decoder(_Kept)


class NoSuchRun(RacewrightError):
    """There is no run of this id."""


class StaleSave(RacewrightError):
    """The base was not the newest: both versions are kept and told."""

    def __init__(self, newest: SavedRun, yours: Rival) -> None:
        super().__init__(
            f"someone saved this run meanwhile: it is at revision {newest.revision}, yours began from {yours.base}.",
            hint="both versions are kept; look at them, then save the one that holds, settling the other",
        )
        self.newest = newest
        self.yours = yours


class RunStore:
    """Shared runs below a folder, which is made at the first save."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def rows(self) -> tuple[RunRow, ...]:
        """All runs, the last saved first."""
        if not self.folder.is_dir():
            return ()
        rows = []
        for place in self.folder.iterdir():
            if not (place.is_dir() and _ID.fullmatch(place.name)):
                continue
            revision = _newest(place)
            kept = _read(place / _name(revision)) if revision else None
            if kept is not None:
                rows.append(
                    RunRow(
                        id=place.name,
                        name=_title(kept.data),
                        revision=revision,
                        saved=kept.saved,
                        by=kept.by,
                        rivals=len(_rival_files(place)),
                    )
                )
        return tuple(sorted(rows, key=lambda row: (row.saved, row.id), reverse=True))

    def get(self, run_id: str) -> SavedRun:
        """The newest revision. Raises NoSuchRun, InputError for a bad id."""
        place = self._place(run_id)
        revision = _newest(place)
        kept = _read(place / _name(revision)) if revision else None
        if kept is None:
            raise NoSuchRun(f"there is no run '{run_id}' here.", hint="list the runs")
        return SavedRun(
            id=run_id, revision=revision, data=kept.data, saved=kept.saved, by=kept.by, rivals=tuple(_rivals(place))
        )

    def save(
        self, run_id: str, *, base: int, data: dict[str, Any], by: str = "", settles: tuple[str, ...] = ()
    ) -> SavedRun:
        """Make revision `base` + 1. Raises StaleSave where it exists already: this version is then kept as a rival.

        A version that is the newest already (its answer was lost, and it is sent again) is answered, not kept twice.
        Raises NoSuchRun for a base that was never made, InputError for an id or data that cannot be kept.
        """
        place = self._place(run_id)
        kept = _Kept(base=base, data=data, saved=_now(), by=by)
        raw = _encoded(kept)
        newest = _newest(place)
        if base > newest:
            raise NoSuchRun(
                f"revision {base} of '{run_id}' was never made here; the newest is {newest}.",
                hint="save it as a new run, with base 0",
            )
        if newest == 0:
            self._room_for_one_more(place)
        if base < newest or not _claim(place, _name(base + 1), raw):
            there = self.get(run_id)
            if there.data == data and not settles:
                return there
            raise StaleSave(there, self._keep_rival(place, kept, raw))
        for rival in settles:
            _settle(place, rival, base + 1)
        _prune(place, base + 1)
        return self.get(run_id)

    def _place(self, run_id: str) -> Path:
        if not _ID.fullmatch(run_id):
            raise InputError(
                "a run's id is 1 to 64 letters, digits, '-' or '_'.", hint="for example pump-house-1", field="id"
            )
        return self.folder / run_id

    def _room_for_one_more(self, place: Path) -> None:
        place.mkdir(parents=True, exist_ok=True)
        if sum(1 for _ in self.folder.iterdir()) > MOST_RUNS:
            raise InputError(f"there are {MOST_RUNS} runs here already.", hint="move old run folders away")

    def _keep_rival(self, place: Path, kept: _Kept, raw: bytes) -> Rival:
        if len(_rival_files(place)) >= MOST_RIVALS:
            raise InputError(
                f"{MOST_RIVALS} versions of this run wait to be settled already, so this one was not kept.",
                hint="settle them, then save again",
                field="settles",
            )
        while True:
            name = secrets.token_hex(6)
            if _claim(place, f"rival-{name}.json", raw):
                return _rival(name, kept)


def _title(data: dict[str, Any]) -> str:
    """The run's own name, from the survey where there is one."""
    for path in (("name",), ("survey", "run", "name"), ("run", "name")):
        here: Any = data
        for part in path:
            here = here.get(part) if isinstance(here, dict) else None
        if isinstance(here, str) and here.strip():
            return here.strip()[:200]
    return "without a name"


def _encoded(kept: _Kept) -> bytes:
    try:
        raw = msgspec.json.encode(kept)
    except (RecursionError, ValueError, TypeError):
        raise InputError("the data is nested too deep to be kept.", field="data") from None
    if len(raw) > MOST_DATA:
        raise InputError(f"the data takes {len(raw)} bytes; the most kept is {MOST_DATA}.", field="data")
    return raw


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="milliseconds")


def _name(revision: int) -> str:
    return f"r{revision:07d}.json"


def _newest(place: Path) -> int:
    if not place.is_dir():
        return 0
    found = (_REVISION.fullmatch(p.name) for p in place.iterdir())
    return max((int(m[1]) for m in found if m), default=0)


def _read(path: Path) -> _Kept | None:
    try:
        return _KEPT.decode(path.read_bytes())
    except (OSError, msgspec.DecodeError, json.JSONDecodeError):
        return None


def _rival_files(place: Path) -> list[Path]:
    return sorted(p for p in place.iterdir() if _RIVAL.fullmatch(p.name)) if place.is_dir() else []


def _rivals(place: Path) -> list[Rival]:
    out = []
    for path in _rival_files(place):
        kept, match = _read(path), _RIVAL.fullmatch(path.name)
        if kept is not None and match:
            out.append(_rival(match[1], kept))
    return sorted(out, key=lambda r: r.saved)


def _rival(name: str, kept: _Kept) -> Rival:
    return Rival(rival=name, base=kept.base, data=kept.data, saved=kept.saved, by=kept.by)


def _claim(place: Path, name: str, raw: bytes) -> bool:
    """Write a file under a name that nobody has yet, whole or not at all; False where the name is taken."""
    draft = place / f".draft-{secrets.token_hex(8)}"
    _write(draft, raw)
    try:
        os.link(draft, place / name)
    except FileExistsError:
        return False
    except OSError:  # a file system without links (some memory cards): made under its name, which happens once too
        return _write(place / name, raw)
    finally:
        draft.unlink(missing_ok=True)
    return True


def _write(path: Path, raw: bytes) -> bool:
    """Write a new file and see it on the disk; False where the name is taken."""
    try:
        with path.open("xb") as out:
            out.write(raw)
            out.flush()
            os.fsync(out.fileno())
    except FileExistsError:
        return False
    return True


def _settle(place: Path, rival: str, revision: int) -> None:
    path = place / f"rival-{rival}.json"
    if _RIVAL.fullmatch(path.name) and path.is_file():
        path.rename(place / f"settled-{revision:07d}-{rival}.json")


def _prune(place: Path, newest: int) -> None:
    """Old revisions and settled versions beyond the last so many go; rivals that wait stay."""
    for path in sorted(p for p in place.iterdir() if p.name.startswith("settled-"))[:-KEPT_REVISIONS]:
        path.unlink(missing_ok=True)
    for path in place.iterdir():
        match = _REVISION.fullmatch(path.name)
        if match and int(match[1]) <= newest - KEPT_REVISIONS:
            path.unlink(missing_ok=True)
