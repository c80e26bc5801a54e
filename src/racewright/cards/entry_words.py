"""The entries of a run in words: what was measured, corrected, made at the bench, noted, and how far it came."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import degrees

from msgspec.structs import replace

from racewright.fit.words import measured_words, off_b_words
from racewright.records.anew import Followed, followed, marks_told
from racewright.records.ends_cut import EndsCut, ends_cut
from racewright.records.entry import (
    STATUS_WORDS,
    Anew,
    BendMade,
    Corrected,
    Entry,
    Made,
    MoveMade,
    Noted,
    Readings,
    StatusSet,
    StepMade,
    What,
    copy_of,
    for_marks,
)
from racewright.records.model import JobRun
from racewright.records.naming import piece_name, with_copies
from racewright.records.other_marks import much_words
from racewright.records.steps import STEPS
from racewright.records.superseded import plan_differs
from racewright.sequence.words import clock_words, mark_names
from racewright.units.angle import format_angle
from racewright.units.tape import TapeStyle, format_length, style_of


def as_built_lines(run: JobRun, entries: Iterable[Entry], now: str, pieces: int) -> tuple[str, ...]:
    """What was measured, corrected, made and noted on bent pieces, each with its plan and who says so. `now`: the
    digest of the run's present plan, '' where it has none; what was made with another is told.
    `pieces`: as in `said_line`."""
    of = tuple(entries)
    how_far, ends = followed(run, of), ends_cut(of)
    said = _in_a_row(entry for entry in of if not isinstance(entry.what, StatusSet))
    return tuple(_signed(run, entry, now, pieces, how_far.get(entry.id), ends) for entry in said)


def _in_a_row(entries: Iterable[Entry]) -> list[Entry]:
    """The entries; steps of a plan that one person ticked off in one minute are one."""
    found: list[Entry] = []
    for entry in entries:
        if found and _of_steps(found[-1]) == _of_steps(entry) is not None:
            steps = (*_steps(found.pop()), *_steps(entry))
            entry = replace(entry, what=Made(bends=(), steps=steps))
        found.append(entry)
    return found


def _of_steps(entry: Entry) -> tuple[str, str, int | None, int | None, str] | None:
    """Of which piece and plan an entry says that steps of the plan are done and nothing else, and who says so in which
    minute; None: it says something else."""
    what = entry.what
    if not isinstance(what, Made) or what.note or for_marks(what) is not None:
        return None
    return entry.by, entry.at[: len("2026-05-04T10:32")], entry.piece, entry.copy, entry.pins.marks


def _steps(entry: Entry) -> tuple[StepMade, ...]:
    return entry.what.steps if isinstance(entry.what, Made) else ()


def said_line(
    run: JobRun,
    entry: Entry,
    copies: Sequence[int] = (),
    pieces: int = 0,
    how_far: Followed | None = None,
    ends: EndsCut | None = None,
) -> str:
    """What an entry says, in words: 'RM-1-2#14 measured: mark 2 has 44.5°; rides high'; `copies`: of which it is said,
    where that is more than its own; where one is wanted the first is not named. `pieces`: so many that the run has,
    which decides how its pieces are called; 0: not known. `how_far`: its new marks were followed; None: as they were
    when they were kept. `ends`: which steps cut end B by new marks (None: not known)."""
    copy = copy_of(entry)
    copies = tuple(copies) or (() if copy is None else (copy,))
    if not run.alike and copies == (1,):
        copies = ()  # it is the run itself
    if isinstance(entry.what, StatusSet):
        return (f"{with_copies(run.key, copies)}: " if copies else "") + STATUS_WORDS[entry.what.status]
    kind, words, note = _said(entry.what, style_of(run.survey.units, run.survey.fraction), how_far, ends or {})
    piece = piece_name(run.key, entry.piece, pieces) if entry.piece is not None else run.key if copies else ""
    of = f"{with_copies(piece, copies)} " if piece else ""
    return f"{of}{kind}: {'; '.join(part for part in (words, note) if part)}"


def kept_lines(
    run: JobRun, piece: int, copies: Sequence[int], what: Iterable[What], pieces: int, ends: EndsCut
) -> tuple[str, ...]:
    """What is added to the record of a piece, as it is understood; new marks but for the conduit in hand, which are
    told with what is to be done. `pieces`, `ends`: as in `said_line`."""
    lines = []
    for one in what:
        if isinstance(one, StatusSet):
            continue
        anew, bends = (one.anew, replace(one, anew=None)) if isinstance(one, Made) else (None, one)
        lines.append(said_line(run, Entry(run=run.id, piece=piece, what=bends), copies, pieces, ends=ends))
        if anew is not None and anew.in_hand_mm is not None:
            style = style_of(run.survey.units, run.survey.fraction)
            lines.append(f"conduit in hand: {_in_hand(anew, style)} from end A, before these marks cut it")
    return tuple(lines)


def said_together(entries: Iterable[Entry]) -> list[tuple[Entry, tuple[int, ...]]]:
    """Entries that differ by nothing but their copy each once, with the copies; in the order of the first of each."""
    found: dict[Entry, list[int]] = {}
    for entry in entries:
        same = found.setdefault(replace(entry, id="0" * 32, copy=None), [])
        same += [] if entry.copy is None else [entry.copy]
    return [(entry, tuple(dict.fromkeys(copies))) for entry, copies in found.items()]


def who_says(entry: Entry, brought: str) -> str:
    """Who says what an entry says, and by whom it was brought in where that is another: 'Kim, by phone 1'."""
    if not entry.by or entry.by == brought:
        return brought
    return f"{entry.by}, by {brought or 'somebody'}"


def _signed(run: JobRun, entry: Entry, now: str, pieces: int, how_far: Followed | None, ends: EndsCut) -> str:
    """With its plan and who says so: '... (plan 4K7WQX; Kim 2 May)'."""
    text, pinned = said_line(run, entry, pieces=pieces, how_far=how_far, ends=ends), entry.pins.marks
    plan = plan_differs(pinned, now) or (f"plan {pinned}" if pinned else "")
    signed = "; ".join(part for part in (plan, " ".join(part for part in (entry.by, entry.at) if part)) if part)
    return f"{text} ({signed})" if signed else text


def pins_line(entry: Entry) -> str:
    """What an entry was made with, in words: 'revision 2, plan 4K7WQX, EMT 1/2 hand bender, Racewright 0.9'."""
    pins = entry.pins
    parts = (
        f"revision {pins.run}" if pins.run else "",
        f"plan {pins.marks}" if pins.marks else "",
        pins.tool,
        f"Racewright {pins.engine}" if pins.engine else "",
    )
    return ", ".join(part for part in parts if part)


def _said(
    what: Readings | Corrected | Made | Noted, style: TapeStyle, how_far: Followed | None, ends: EndsCut
) -> tuple[str, str, str]:
    """What kind of entry it is, its words, and its note."""
    if isinstance(what, Readings):
        return "measured", "; ".join(measured_words(measured, style) for measured in what.measured), what.note
    if isinstance(what, Corrected):
        return "corrected", ", ".join(_move(move) for move in what.moves), what.note
    if isinstance(what, Made):
        bends = [_made(bend, style) for bend in what.bends]
        bends += [_step(step, style, ends) for step in what.steps] if what.anew is None else []
        anew = (
            ()
            if what.anew is None
            else (
                _anew(
                    how_far
                    or Followed(what.anew, {bend.number: bend for bend in what.bends}, {}, replaced=False, other={}),
                    style,
                ),
            )
        )
        return "made", "; ".join([*bends, *anew]), what.note
    return "note", "", what.note


def _made(bend: BendMade, style: TapeStyle) -> str:
    angle = f"bent to {degrees(bend.angle_rad):.4g}°" if bend.angle_rad is not None else "bent"
    place = f", its mark {format_length(bend.mark_mm, style)} from end A" if bend.mark_mm is not None else ""
    off = bend.roll_off_rad
    plane = "" if off is None else f", its plane {format_angle(abs(off))} {clock_words(off)} off the plan, seen from A"
    return f"{mark_names([bend.number])} {angle}{place}{plane if off else ''}"


def _step(step: StepMade, style: TapeStyle, ends: EndsCut) -> str:
    anew = ends.get((step.by_marks, step.kind))
    if anew is not None:
        return f"{off_b_words(anew.off_b_mm, anew.line_b_mm, style)}, {_step_done(step)}"
    if not STEPS[step.kind].much:
        return _step_done(step)
    seen = ", seen from A" if STEPS[step.kind].counted else ""
    return f"{_step_done(step)} by {much_words(step, style)}{seen}"


def _step_done(step: StepMade) -> str:
    row = STEPS[step.kind]
    if row.counted == "bend":
        return f"{row.done} at {mark_names([step.number or 0])}"
    return row.done if step.number in (None, 1) else f"{row.done} ({step.number})"


def _in_hand(anew: Anew, style: TapeStyle) -> str:
    least = "at least " if anew.line_b_mm else ""
    return f"{least}{format_length(anew.in_hand_mm or 0.0, style)}"


def _anew(one: Followed, style: TapeStyle) -> str:
    held = "" if one.anew.in_hand_mm is None else f" (conduit in hand {_in_hand(one.anew, style)})"
    return f"new marks for the rest: {marks_told(one, style).words}{held}"


def _move(move: MoveMade) -> str:
    name, size = mark_names([move.number]), f"{degrees(abs(move.by_rad)):.3g}°"
    if move.kind == "angle":
        return f"{name} opened {size}" if move.by_rad < 0.0 else f"{name} bent another {size}"
    what = "rotated in its fitting" if move.kind == "spin" else f"twisted at {name}"
    return f"{what} {size} {clock_words(move.by_rad)}"


def copy_made(copy: int, entries: Iterable[Entry]) -> Iterator[str]:
    """What is made of the pieces of a copy: 'copy 5: cut to length, marks 2 and 3 made'."""
    made: dict[int, list[Made]] = {}
    for entry in entries:
        if isinstance(entry.what, Made):
            made.setdefault(entry.piece or 1, []).append(entry.what)
    for piece, of_piece in sorted(made.items()):
        of = f", piece {piece}" if len(made) > 1 or piece > 1 else ""
        numbers = sorted({bend.number for what in of_piece for bend in what.bends})
        steps = (_step_done(step) for what in of_piece if what.anew is None for step in what.steps)
        words = [*dict.fromkeys(steps), *([f"{mark_names(numbers)} made"] if numbers else [])]
        yield f"copy {copy}{of}: {', '.join(words)}"
