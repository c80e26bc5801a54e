"""The new marks that were kept for the rest of a half-bent piece: of which pieces they hold in place of the card's."""

from __future__ import annotations

from collections.abc import Iterable
from math import degrees

from racewright.errors import Finding
from racewright.fit.words import trim_words
from racewright.records.entry import Anew, Entry, Made, MarkAnew, by_copy
from racewright.records.model import JobRun
from racewright.records.naming import piece_name, with_copies
from racewright.sequence.words import mark_names
from racewright.units.angle import hand_angle
from racewright.units.tape import TapeStyle, format_length, read_tape, style_of

#: The rule of the caution that new marks hold.
NEW_MARKS = "job.new_marks"


def marked_anew(run: JobRun, entries: Iterable[Entry], now: str | None) -> dict[tuple[int, int], Anew]:
    """The new marks that hold of the run, by copy and piece: the last that were kept for each since it was set back.
    `now`: the digest of the run's present plan, whose marks they replace; None: that is not known, and those of any
    plan are told."""
    return {
        (copy, entry.piece or 1): entry.what.anew
        for copy, of in by_copy(entries, run.times)
        for entry in of
        if isinstance(entry.what, Made) and entry.what.anew and (now is None or entry.pins.marks == now)
    }


def new_marks(run: JobRun, entries: Iterable[Entry], now: str | None, pieces: int = 0) -> tuple[Finding, ...]:
    """A caution for each piece of which the rest is bent by new marks, and not by those of its card. `now` as for
    `marked_anew`; `pieces`: so many that the run has; 0: that is not known."""
    return tuple(
        Finding(
            severity="caution",
            rule=NEW_MARKS,
            message=f"{piece}: the rest is bent by new marks, not by those of its card: {words}",
            where=run.key,
        )
        for piece, words in anew_of(run, entries, now, pieces)
    )


def anew_of(run: JobRun, entries: Iterable[Entry], now: str | None, pieces: int = 0) -> tuple[tuple[str, str], ...]:
    """The pieces of which the rest is bent by new marks, each with these in words; the rest as for `new_marks`."""
    style = style_of(run.survey.units, run.survey.fraction)
    return tuple(
        (with_copies(piece_name(run.key, piece, pieces), [copy] if run.alike else []), marks_words(anew, style))
        for (copy, piece), anew in marked_anew(run, entries, now).items()
    )


def marks_words(anew: Anew, style: TapeStyle) -> str:
    """'mark 2 26 13/16": bend to 46° while ..., arrow, hook toward A; then mark 3 ...'; before them what
    is cut at end A. Of marks that were kept without their words no angle is told but what the bend has then."""
    marks = "; then ".join(_mark_words(mark, style) for mark in anew.marks)
    if read_tape(abs(anew.trim_mm), style).shown_mm == 0.0:
        return marks
    return f"{trim_words(anew.trim_mm, style)}, marks count from there; {marks}"


def _mark_words(mark: MarkAnew, style: TapeStyle) -> str:
    how = mark.how or f"leaves {hand_angle(degrees(mark.angle_rad))}, ask for the new marks to see what to bend to"
    return f"{mark_names([mark.number])} {format_length(mark.mark_mm, style)}: {how}"
