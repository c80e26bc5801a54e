"""Which bends of a piece are still to be made, by what is recorded of it, and how far its run is by that."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from racewright.records.entry import STATUSES, BendMade, Made, Status


def last_kept(made: Sequence[Made]) -> int | None:
    """Which of these, oldest first, kept new marks last; None: none did."""
    return next((at for at in reversed(range(len(made))) if made[at].anew), None)


def as_recorded(made: Iterable[Made]) -> dict[int, BendMade]:
    """The bends of what was made of a piece, oldest first, each as it was recorded last: an angle or a place that was
    measured stands until another one is, whoever says once more that the bend is made."""
    found: dict[int, BendMade] = {}
    for bend in (bend for one in made for bend in one.bends):
        before = found.get(bend.number, bend)
        found[bend.number] = BendMade(
            number=bend.number,
            angle_rad=before.angle_rad if bend.angle_rad is None else bend.angle_rad,
            mark_mm=before.mark_mm if bend.mark_mm is None else bend.mark_mm,
            roll_off_rad=before.roll_off_rad if bend.roll_off_rad is None else bend.roll_off_rad,
        )
    return found


def bends_left(planned: Iterable[int], made: Sequence[Made]) -> tuple[int, ...]:
    """The bends of a piece that are still to be made. `planned`: those of the plan that it is bent by; `made`: what was
    made of it by that plan, oldest first, since it was last set back. Where new marks were kept the last of these say
    which bends are left, those among them too that are made and are to be bent on or opened; what was made since
    counts."""
    kept = last_kept(made)
    anew = None if kept is None else made[kept].anew
    done = {bend.number for one in made[0 if kept is None else kept + 1 :] for bend in one.bends}
    return tuple(n for n in (planned if anew is None else (mark.number for mark in anew.marks)) if n not in done)


def status_at_bench(stood: Status, pieces: Sequence[Iterable[int]], made: Mapping[int, Sequence[Made]]) -> Status:
    """How far a run is that stood so: planned once a bend of it is made by its plan, bent once none is left. `pieces`:
    the bends that are planned of each; `made`: what was made of each (from 1), as for `bends_left`."""
    if not any(made.values()):
        return stood
    left = any(bends_left(planned, made.get(number, ())) for number, planned in enumerate(pieces, 1))
    return max(stood, "planned" if left else "bent", key=STATUSES.index)
