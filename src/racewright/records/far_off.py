"""Bends of which the record says an angle that no slip of the hand makes of the one that belongs there."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import degrees

from racewright.errors import Finding
from racewright.fit.measured import BendAngle
from racewright.records.entry import Corrected, Entry, Made, Readings, by_copy
from racewright.records.model import JobRun
from racewright.records.naming import piece_name, with_copies
from racewright.units.angle import hand_angle

#: The rule of the caution that a bend is recorded far from its angle.
FAR_OFF = "job.far_off"
#: A bend may be off by so much before its record is asked after (common practice, no source).
FAR_OFF_DEG = 10.0

#: The angles of the bends of each piece, in degrees, from end A.
Angles = Sequence[Sequence[float]]


def far_off(
    run: JobRun, entries: Iterable[Entry], now: str, angles: Angles, last: int | None = None
) -> tuple[Finding, ...]:
    """A caution for each bend that is far from its angle by what was recorded of it last, with the plan of the run
    (`now`: its digest, `angles`: its bends'): its own, or that of the new marks that were kept. New marks take what is
    made as it is. `last`: only the bends that so many entries, the last of them, name."""
    of = list(entries)
    named = None if last is None else {id(entry) for entry in of[len(of) - last :]}
    found = []
    for copy, of_copy in by_copy(of, run.times):
        for (piece, number), (has, wants) in _recorded(of_copy, now, angles, named).items():
            if abs(has - wants) > FAR_OFF_DEG:
                name = with_copies(piece_name(run.key, piece, len(angles)), [copy] if run.alike else [])
                found.append(_told(run.key, name, number, has, wants))
    return tuple(found)


def tells_angles(entries: Iterable[Entry]) -> bool:
    """Whether a record says what angle a bend has."""
    return any(
        (isinstance(what, Made) and any(bend.angle_rad is not None for bend in what.bends))
        or (isinstance(what, Readings) and any(isinstance(one, BendAngle) for one in what.measured))
        for what in (entry.what for entry in entries)
    )


def _recorded(
    entries: Iterable[Entry], now: str, angles: Angles, named: set[int] | None
) -> dict[tuple[int, int], tuple[float, float]]:
    """What each bend of a copy has by its record, and what it should have, in degrees, by piece and number."""
    wants = {(p, n): angle for p, piece in enumerate(angles, 1) for n, angle in enumerate(piece, 1)}
    has: dict[tuple[int, int], float] = {}
    asked: set[tuple[int, int]] = set()
    for entry in entries:
        piece, what = entry.piece or 1, entry.what
        if not now or entry.pins.marks != now:
            continue
        said: dict[int, float] = {}
        if isinstance(what, Made):
            said = {bend.number: degrees(bend.angle_rad) for bend in what.bends if bend.angle_rad is not None}
            if what.anew:
                wants.update({(piece, number): angle for number, angle in said.items()})
                wants.update({(piece, mark.number): degrees(mark.angle_rad) for mark in what.anew.marks})
                has = {which: angle for which, angle in has.items() if which[0] != piece}
                continue
        elif isinstance(what, Readings):
            said = {one.number: degrees(one.angle_rad) for one in what.measured if isinstance(one, BendAngle)}
        elif isinstance(what, Corrected):
            moves = [move for move in what.moves if move.kind == "angle" and (piece, move.number) in has]
            said = {move.number: has[piece, move.number] + degrees(move.by_rad) for move in moves}
        has.update({(piece, number): angle for number, angle in said.items()})
        if named is None or id(entry) in named:
            asked.update((piece, number) for number in said)
    return {which: (angle, wants[which]) for which, angle in has.items() if which in wants and which in asked}


def _told(key: str, name: str, number: int, has_deg: float, wants_deg: float) -> Finding:
    return Finding(
        severity="caution",
        rule=FAR_OFF,
        message=f"{name}: mark {number} is recorded at {hand_angle(has_deg)}, and {hand_angle(wants_deg)} belongs"
        " there. It is kept as it was said. If that is a slip, take it back"
        f" (`racewright job undo {key}`) and record it again; if the bend is so, measure the piece before anything"
        " more is bent or put up.",
        where=key,
        measured=has_deg,
        allowed=wants_deg,
        unit="deg",
    )
