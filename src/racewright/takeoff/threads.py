"""The threads that are cut by hand once it is known which piece comes out of which stick.

A stick is threaded at both of its ends. Each plan takes it that a piece from a new stick keeps one of them; in a cut
list only the first and the last piece of a new stick can (the last measured from the stick's other end), and a whole
stick keeps both. What is on hand counts as having none (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator

from racewright.takeoff.cutting_model import CutPlan, CutStick, WantedPiece


def threads_to_cut(plan: CutPlan) -> dict[str, int]:
    """How many threads are cut by hand, by the run that the pieces belong to; runs without one are left out."""
    out: dict[str, int] = {}
    for piece, kept in _kept(plan):
        if piece.threads > kept:
            out[piece.run] = out.get(piece.run, 0) + piece.threads - kept
    return out


def pieces_without(plan: CutPlan) -> tuple[WantedPiece, ...]:
    """The pieces whose plan leaves more ends to the stick's own thread than they have of it, in the list's order."""
    return tuple(piece for piece, kept in _kept(plan) if kept < piece.own_threads)


def _kept(plan: CutPlan) -> Iterator[tuple[WantedPiece, int]]:
    """Each piece with how many of the threads that its plan leaves to the stick it has."""
    for stick in plan.sticks:
        for at, piece in enumerate(stick.pieces):
            yield piece, min(piece.own_threads, _ends(stick, at))


def _ends(stick: CutStick, at: int) -> int:
    """How many ends of the stick itself a piece has."""
    if stick.offcut:
        return 0
    if len(stick.pieces) == 1:
        return 2 if stick.new_offcut_mm <= 0.0 else 1
    return 1 if at in (0, len(stick.pieces) - 1) else 0
