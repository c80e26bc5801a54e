"""The batch list for the bench: what is still to be bent of a job, so that each tool is set up once and each angle is
set as few times as the pieces' own bending orders allow.

Pieces that are made alike, to the mark, are one kind. A piece is laid aside between two of its bends; the line drawn
along it says how it lies when it is taken up again.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import get_args

import msgspec

from racewright.cautions import Work, in_order
from racewright.job.cut_already import RestBy, begun, cut_for
from racewright.job.fewest_settings import fewest_settings
from racewright.job.materials import wanted_pieces
from racewright.job.plan_job import PlannedRun
from racewright.plan.model import MarkedBend, Plan, PlannedPiece
from racewright.records.entry import Status
from racewright.records.model import Job
from racewright.records.naming import with_copies
from racewright.sequence.words import line_words, mark_words, read_words, rotate_words
from racewright.tools.benders import MadeBy, made_by
from racewright.units.angle import hand_angle
from racewright.units.tape import TapeUnit, read_tape, reading

#: How a bend is made where no shoe is held, for the name of a setting.
_MADE: Mapping[MadeBy, str] = {"machine": "by machine or form", "heat": "heated"}


class BatchBend(msgspec.Struct, frozen=True, kw_only=True):
    """One bend: its `order` in its piece, its mark's `number` and `reading` from end A, what stands `at` the mark and
    where the `hook` points ('' without a shoe), how the line along the conduit lies, what to bend to and when that is
    read, how the shoe is `held` or the bend is made, where no shoe is by which stretch (`making`), what to check then.
    """

    order: int
    number: int
    reading: str
    at: str
    hook: str
    line: str
    bend_to: str
    read: str
    held: str
    making: str
    look_at: str


class BatchPieces(msgspec.Struct, frozen=True, kw_only=True):
    """One piece of a run, and of runs alike of which copies; the plan that its marks are of; `there`: cut already."""

    label: str
    copies: tuple[int, ...]
    plan: str
    there: bool


class BatchKind(msgspec.Struct, frozen=True, kw_only=True):
    """So many pieces that are made alike. `length`: the conduit that each is cut to; `ends_later`: the ends that are
    cut off after bending; `zero`: how far from the stock's end the line lies that readings count from, '' for its end.
    """

    number: int
    tool: str
    raceway: str
    count: int
    pieces: tuple[BatchPieces, ...]
    length: str
    ends_later: str
    zero: str
    bends: tuple[BatchBend, ...]


class BatchWork(msgspec.Struct, frozen=True, kw_only=True):
    """At one setting: of which kind (by its number), which of its bends (by its order)."""

    kind: int
    order: int


class BatchSetting(msgspec.Struct, frozen=True, kw_only=True):
    """One setting: what to bend to, when that is read, how it is held or made."""

    bend_to: str
    read: str
    how: str
    work: tuple[BatchWork, ...]


class ToolBatch(msgspec.Struct, frozen=True, kw_only=True):
    """All work of one tool on one raceway. `least`: no order of settings can do with fewer."""

    tool: str
    raceway: str
    settings: tuple[BatchSetting, ...]
    least: int


class BenchList(msgspec.Struct, frozen=True, kw_only=True):
    """The kinds by tool (with its revision, where it is one of the shop) and raceway, and the settings of each tool.
    `begun`: pieces that are left out because bends are made on them, by their own cards, `anew`: by new marks,
    `other`: by a plan that is not their run's present one, which they name, `cut_for_other`: those that are only
    cut, for such a plan, and `stopped`: by other marks than those
    that hold, or far from what they should be; `bent`: those of which no bend is left; `waiting`: those that no bending
    order is known for. `care`: the kinds of work in these bends."""

    kinds: tuple[BatchKind, ...]
    tools: tuple[ToolBatch, ...]
    begun: tuple[str, ...]
    anew: tuple[str, ...]
    other: tuple[str, ...]
    cut_for_other: tuple[str, ...]
    stopped: tuple[str, ...]
    bent: tuple[str, ...]
    waiting: tuple[str, ...]
    care: tuple[Work, ...]


class _Made(msgspec.Struct, frozen=True):
    """What makes two pieces alike at the bench."""

    tool: str
    raceway: str
    length: str
    ends_later: str
    zero: str
    bends: tuple[BatchBend, ...]

    @property
    def settings(self) -> tuple[tuple[str, str, str], ...]:
        """What to bend to, when that is read, how it is held or made, bend by bend."""
        return tuple((bend.bend_to, bend.read, bend.held) for bend in self.bends)


def bench_list(
    job: Job, planned: Sequence[PlannedRun], statuses: Sequence[Status], *, through: bool = False
) -> BenchList:
    """The list of the bent pieces of these runs, of the copies that have one of these statuses. `through`: each piece
    is bent through before the next is begun, so the kinds are in order by their first setting, and there are no others.
    """
    made: dict[_Made, list[BatchPieces]] = {}
    left: dict[str, list[str]] = {by: [] for by in get_args(RestBy)}
    waiting: list[str] = []
    care: set[Work] = set()
    for one in planned:
        if one.plan is None:
            continue
        copies = [n for n, status in enumerate(job.statuses(one.run), 1) if status in statuses]
        tool = job.tool_words(one.run) or one.plan.shoe.name
        there = {(piece.copy, piece.number): piece for piece in begun(job, one.run, one.plan)}
        half = {which: piece for which, piece in there.items() if piece.bent or piece.rest_by == "card once cut"}
        for number, (piece, wanted) in enumerate(
            zip(one.plan.pieces, wanted_pieces(one.run, one.plan), strict=True), 1
        ):
            if not piece.bends or not copies:
                continue
            if wanted.waits:
                waiting.append(wanted.label)
                continue
            label, of = wanted.label, [copy for copy in copies if (copy, number) not in half]
            for copy in (c for c in copies if (c, number) in half):
                piece_half, name = half[copy, number], with_copies(label, [copy] if one.run.alike else [])
                by = f" (plan {piece_half.other})" if piece_half.rest_by == "other plan" else ""
                by = f" ({cut_for(piece_half.other)})" if piece_half.rest_by == "card once cut" else by
                left[piece_half.rest_by].append(f"{name}{by}")
            if of:
                care.update(w for s in one.plan.steps if s.kind == "bend" and s.piece == number for w in s.care)
            for is_cut in (False, True):
                if mine := tuple(copy for copy in of if ((copy, number) in there) == is_cut):
                    copies_of = mine if one.run.alike else ()
                    pieces = BatchPieces(label=label, copies=copies_of, plan=one.plan.digest, there=is_cut)
                    made.setdefault(_how(tool, one.plan, piece, wanted.length_mm), []).append(pieces)
    first = [how.settings[0] for how in made]
    kinds = sorted(  # else as the job has them
        made.items(), key=lambda kind: (kind[0].raceway, kind[0].tool, through and first.index(kind[0].settings[0]))
    )
    return BenchList(
        kinds=tuple(_kind(number, how, pieces) for number, (how, pieces) in enumerate(kinds, 1)),
        tools=() if through else tuple(_tools([how for how, _ in kinds])),
        begun=tuple(left["card"]),
        anew=tuple(left["new marks"]),
        other=tuple(left["other plan"]),
        cut_for_other=tuple(left["card once cut"]),
        stopped=tuple(left["none"]),
        bent=tuple(left["done"]),
        waiting=tuple(waiting),
        care=in_order(care),
    )


def _how(tool: str, plan: Plan, piece: PlannedPiece, length_mm: float) -> _Made:
    how = made_by(plan.shoe)
    bends = sorted(piece.bends, key=lambda bend: bend.order)
    unit = plan.tape.unit
    return _Made(
        tool=tool,
        raceway=plan.raceway,
        length=reading(read_tape(length_mm, plan.tape).text, unit),
        ends_later=" and ".join(piece.cut_ends),
        zero=reading(piece.trim_marks[0].text, unit) if "A" in piece.cut_ends else "",
        bends=tuple(_bend(bend, how, unit) for bend in bends),
    )


def _bend(bend: MarkedBend, how: MadeBy, unit: TapeUnit) -> BatchBend:
    at, hook = mark_words(bend.reference, bend.hook, on_shoe=bend.on_shoe)
    first = bend.order == 1
    return BatchBend(
        order=bend.order,
        number=bend.number,
        reading=reading(bend.mark_tape, unit),
        at=at,
        hook=hook,
        line=rotate_words(0.0, 0.0, first=True).partition(": ")[2] if first else f"line {line_words(bend.line_deg)}",
        bend_to=hand_angle(bend.pointer_deg),
        read=read_words(bend.pointer_basis, bend.angle_deg),
        held=_MADE.get(how) or bend.stance_words,
        making=bend.stance_words if how in _MADE else "",
        look_at=bend.look_at,
    )


def _kind(number: int, how: _Made, pieces: Sequence[BatchPieces]) -> BatchKind:
    return BatchKind(
        number=number,
        tool=how.tool,
        raceway=how.raceway,
        count=sum(max(1, len(one.copies)) for one in pieces),
        pieces=tuple(pieces),
        length=how.length,
        ends_later=how.ends_later,
        zero=how.zero,
        bends=how.bends,
    )


def _tools(kinds: Sequence[_Made]) -> Iterator[ToolBatch]:
    """The settings of each tool, in the order of the kinds."""
    for tool, raceway in dict.fromkeys((how.tool, how.raceway) for how in kinds):
        mine = [(n, how) for n, how in enumerate(kinds, 1) if (how.tool, how.raceway) == (tool, raceway)]
        names = list(dict.fromkeys(setting for _, how in mine for setting in how.settings))
        index = {setting: place for place, setting in enumerate(names)}
        sequences = [tuple(index[setting] for setting in how.settings) for _, how in mine]
        found = fewest_settings([tuple(setting for setting, _ in groupby(sequence)) for sequence in sequences])
        done = [0] * len(mine)
        settings = []
        for setting in found.order:
            work: list[BatchWork] = []
            for place, ((number, _), sequence) in enumerate(zip(mine, sequences, strict=True)):
                while done[place] < len(sequence) and sequence[done[place]] == setting:
                    done[place] += 1
                    work.append(BatchWork(kind=number, order=done[place]))
            bend_to, read, held = names[setting]
            settings.append(BatchSetting(bend_to=bend_to, read=read, how=held, work=tuple(work)))
        yield ToolBatch(tool=tool, raceway=raceway, settings=tuple(settings), least=found.least)
