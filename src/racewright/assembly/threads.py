"""Which ends of a piece need a thread, which have the stick's own, and where a thread cannot be cut by hand.

The cut length holds the thread: what goes into a fitting is the thread's own length (effective length of the taper
thread, ASME B1.20.1, from memory). A stick is threaded at both ends, so a piece from a new stick keeps one of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from racewright.assembly.joints import KNOCKOUT, Joint, PieceEnd
from racewright.bends.model import BentPiece
from racewright.errors import Finding
from racewright.sticks.model import WHOLE_MM
from racewright.units.said import said, said_least

#: Straight that a vise holds while a thread is cut, and straight that a die and its guide need beyond the thread, mm
#: (our own values, common practice, no source).
VISE_MM = 150.0
DIE_MM = 75.0
_PRACTICE = "common practice, no source"


def joined_by_thread(joints: Sequence[Joint], piece: int) -> tuple[bool, bool]:
    """Whether end A and end B of a piece (from 1) need a thread."""
    a = any(j.after == piece and (j.how == "threads" or j.kind == KNOCKOUT) for j in joints)
    b = any(j.before == piece and (j.how == "threads" or j.kind == KNOCKOUT) for j in joints)
    return a, b


def with_threads(
    ends: tuple[PieceEnd, PieceEnd],
    piece: BentPiece,
    need: tuple[bool, bool],
    *,
    stick_mm: float,
    trimmed: tuple[bool, bool],
) -> tuple[PieceEnd, PieceEnd]:
    """Both ends with their threads. `need`: which ends need one. `stick_mm`: the new stick that the piece is cut
    from, 0 for an offcut or none. `trimmed`: which ends are cut off after bending."""
    own = [False, False]
    if stick_mm and stick_mm - piece.cut_length_mm < WHOLE_MM:
        own = [not t for t in trimmed]
    elif stick_mm:
        # the end that is harder to thread keeps the stick's own: that with less straight
        straights = piece.straights_mm()
        keep = 1 if (need[1] and not need[0]) or (need[0] == need[1] and straights[-1] < straights[0]) else 0
        if True in trimmed:
            keep = 0
        own[keep] = not trimmed[keep]
    out = [
        PieceEnd(
            fitting=end.fitting,
            open_at=end.open_at,
            insertion_mm=end.insertion_mm,
            thread="" if not needs else "own" if keeps else "cut",
        )
        for end, needs, keeps in zip(ends, need, own, strict=True)
    ]
    return out[0], out[1]


def thread_findings(
    label: str, piece: BentPiece, ends: tuple[PieceEnd, PieceEnd], *, trimmed: tuple[bool, bool]
) -> Iterator[Finding]:
    """Threads that cannot be cut, or only before bending. `trimmed`: which ends are cut off after bending."""
    cut = [side for side, end in enumerate(ends) if end.thread == "cut"]
    if not cut:
        return
    long = max(ends[side].insertion_mm for side in cut)
    if piece.cut_length_mm < long + VISE_MM:
        yield Finding(
            rule="assembly.thread",
            severity="caution",
            message=f"{label} is {said(piece.cut_length_mm)} long: too short to hold while a thread is cut,"
            f" which takes {said_least(long + VISE_MM)}. Take a factory nipple of that length, or move the coupling.",
            citation=_PRACTICE,
            where=label,
            measured=piece.cut_length_mm,
            allowed=long + VISE_MM,
            unit="mm",
        )
    for side in cut:
        straight, thread = piece.straights_mm()[-side], ends[side].insertion_mm
        if straight >= thread + DIE_MM:
            continue
        end = "AB"[side]
        inside, late = straight < thread, trimmed[side]
        message = f"{label} has {said(straight)} of straight at end {end}"
        if inside:
            message += f", and the thread alone is {said(thread)} long: move the bend or the fitting."
        elif late:
            message += (
                f", and a die wants {said_least(thread + DIE_MM)}: none fits on there after bending, and no bending"
                f" order was found with that end cut before. Move the bend or the fitting."
            )
        else:
            message += ": the thread is cut before the bend is made, for no die fits on afterward."
        yield Finding(
            rule="assembly.thread",
            severity="problem" if inside else "caution" if late else "info",
            message=message,
            citation=_PRACTICE,
            where=f"{label}, end {end}",
            measured=straight,
            allowed=thread if inside else thread + DIE_MM,
            unit="mm",
        )


def no_die_later(piece: BentPiece, insertion_mm: float) -> bool:
    """Whether a thread of this length at end B can be cut before the piece is bent and not after."""
    return insertion_mm <= piece.straights_mm()[-1] < insertion_mm + DIE_MM


def cut_early(label: str, piece: BentPiece, insertion_mm: float) -> Finding:
    """That a piece is cut before it is bent, though the survey has pieces cut after."""
    return Finding(
        rule="assembly.thread",
        severity="info",
        message=f"{label} is cut before it is bent, not after as the survey has it: no die fits on at end B afterward.",
        citation=_PRACTICE,
        where=f"{label}, end B",
        measured=piece.straights_mm()[-1],
        allowed=insertion_mm + DIE_MM,
        unit="mm",
    )


def straight_for_thread_mm(end: PieceEnd) -> float:
    """Straight that an end must have for its thread to be cut once the piece is bent; 0 where it has no thread."""
    return end.insertion_mm + DIE_MM if end.thread else 0.0
