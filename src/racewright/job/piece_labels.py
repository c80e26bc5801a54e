"""What stands on the label of each piece: which it is, for where, and the plan that it is cut and bent by."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from racewright.job.cut_already import by_other, cut_for_other, straight_left, to_cut
from racewright.job.materials import wanted_pieces
from racewright.job.plan_job import PlannedRun
from racewright.records.entry import Status
from racewright.records.model import Job
from racewright.takeoff.bill_model import of_copies
from racewright.units.tape import read_tape, reading


class PieceLabel(msgspec.Struct, frozen=True, kw_only=True):
    """One piece, of runs alike of one `copy`: `label` is what is written on it ('RM-1-2#14'), `goes` where its run
    goes. `length`: what it is cut to; `ends_later`: the ends that are cut off after bending. `plan`: the plan's digest,
    by which a label is told from a newer plan."""

    label: str
    run: str
    goes: str
    area: str
    piece: int
    pieces: int
    copy: int
    copies: int
    raceway: str
    length: str
    ends_later: str
    plan: str


class PieceLabels(msgspec.Struct, frozen=True, kw_only=True):
    """The labels, run by run, copy by copy; `waiting`: pieces that are not to be cut yet and have none; `other`: those
    that are bent or begun by another plan than their run's present one, which they name, and have none of this."""

    labels: tuple[PieceLabel, ...]
    waiting: tuple[str, ...]
    other: tuple[str, ...]


def piece_labels(job: Job, planned: Sequence[PlannedRun], statuses: Sequence[Status]) -> PieceLabels:
    """A label for each piece of these runs, of the copies that have one of these statuses; where that may be cut yet,
    for the straight pieces of bent copies too that are still to be cut."""
    labels: list[PieceLabel] = []
    waiting: list[str] = []
    others: list[str] = []
    for one in planned:
        if one.plan is None:
            continue
        copies = [n for n, status in enumerate(job.statuses(one.run), 1) if status in statuses]
        left = straight_left(job, one.run, one.plan) if any(map(to_cut, statuses)) else set()
        every_copy = sorted({*copies, *(copy for copy, _ in left)})
        if not every_copy:
            continue
        wanted = wanted_pieces(one.run, one.plan)
        waiting += [piece.label for piece in wanted if piece.waits]
        only_cut = cut_for_other(job, one.run, one.plan)
        made = {which: by for which, by in by_other(job, one.run, one.plan).items() if which not in only_cut}
        every = of_copies(wanted, one.run.times, every_copy, made)
        for at, piece in enumerate(every):
            number = at % len(wanted)
            if piece.copy not in copies and (piece.copy, number + 1) not in left:
                continue
            if piece.made_by:
                others.append(f"{piece.label} (plan {piece.made_by})")
            if piece.waits or piece.made_by:
                continue
            labels.append(
                PieceLabel(
                    label=piece.label,
                    run=one.key,
                    goes=one.name,
                    area=one.area,
                    piece=number + 1,
                    pieces=len(wanted),
                    copy=piece.copy,
                    copies=one.run.times,
                    raceway=one.plan.raceway,
                    length=reading(read_tape(piece.length_mm, one.plan.tape).text, one.plan.tape.unit),
                    ends_later=" and ".join(one.plan.pieces[number].cut_ends),
                    plan=one.plan.digest,
                )
            )
    return PieceLabels(labels=tuple(labels), waiting=tuple(waiting), other=tuple(others))
