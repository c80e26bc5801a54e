"""At the saw: where to mark each stick, and in which order to cut so that the stop is set once for each length.

Notation: cut i of a stick stands at l_1 + ... + l_i + (i - 1) kerf from the end where the tape is hooked; the blade
goes on the far side of the mark. Longest first, so that both orders agree.
"""

from __future__ import annotations

import msgspec

from racewright.takeoff.cutting_model import CutPlan, CutStick, to_mm, to_steps
from racewright.units.tape import TapeReading, TapeStyle, read_tape


class Cut(msgspec.Struct, frozen=True, kw_only=True):
    """One piece on its stick: its length, and the mark where it ends, from the hooked end, saw cuts counted.
    `cut` is False where the stick ends there by itself."""

    label: str
    run: str
    length: TapeReading
    mark: TapeReading
    cut: bool


class StickCuts(msgspec.Struct, frozen=True, kw_only=True):
    """One stick with its marks, and what is left of it (None: nothing)."""

    number: int
    source: TapeReading
    offcut: int
    cuts: tuple[Cut, ...]
    leftover: TapeReading | None
    kept: bool


class StopSetting(msgspec.Struct, frozen=True, kw_only=True):
    """The stop at one length: how many pieces, and from which sticks, as (stick, how many)."""

    length: TapeReading
    pieces: int
    takes: tuple[tuple[int, int], ...]


class CutOrder(msgspec.Struct, frozen=True, kw_only=True):
    """Sticks with their marks; settings of the stop across all sticks, longest first, one for each length that the
    tape can tell apart. `settings_one_by_one`: settings if each stick is finished before the next."""

    sticks: tuple[StickCuts, ...]
    settings: tuple[StopSetting, ...]
    settings_one_by_one: int


def cut_order(plan: CutPlan, style: TapeStyle) -> CutOrder:
    """Marks and stop settings of a cut list, read on this tape."""
    kerf = to_steps(plan.rules.kerf_mm)
    sticks = tuple(_stick(stick, kerf, style) for stick in plan.sticks)
    lengths: dict[float, TapeReading] = {}
    takes: dict[float, dict[int, int]] = {}
    changes, standing = 0, None
    for stick in sticks:
        for cut in stick.cuts:
            if not cut.cut:
                continue
            stop = cut.length.shown_mm
            lengths.setdefault(stop, cut.length)
            here = takes.setdefault(stop, {})
            here[stick.number] = here.get(stick.number, 0) + 1
            changes += stop != standing
            standing = stop
    settings = tuple(
        StopSetting(length=lengths[stop], pieces=sum(takes[stop].values()), takes=tuple(sorted(takes[stop].items())))
        for stop in sorted(takes, reverse=True)
    )
    return CutOrder(sticks=sticks, settings=settings, settings_one_by_one=changes)


def _stick(stick: CutStick, kerf: int, style: TapeStyle) -> StickCuts:
    cuts = []
    at = 0
    source = to_steps(stick.source_mm)
    for i, piece in enumerate(stick.pieces):
        at += to_steps(piece.length_mm) + (kerf if i else 0)
        cuts.append(
            Cut(
                label=piece.label,
                run=piece.run,
                length=read_tape(piece.length_mm, style),
                mark=read_tape(to_mm(at), style),
                cut=at < source,
            )
        )
    return StickCuts(
        number=stick.number,
        source=read_tape(stick.source_mm, style),
        offcut=stick.offcut,
        cuts=tuple(cuts),
        leftover=read_tape(stick.leftover_mm, style) if stick.leftover_mm > 0 else None,
        kept=stick.kept,
    )
