"""By which pencil line each bend of a piece was bent, by its record: the plan's, or that of new marks with the shoe
turned."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from racewright.records.bends_left import mark_of, read_of
from racewright.records.entry import BY_PLAN, Made, MadeEntry, MarkAnew
from racewright.tools.benders import HookEnd, Reference

#: Where the line of each bend may stand, by the marks that held last at the end; None: by the plan.
DrawnAt = Mapping[int, tuple[float | None, ...]]


class OwnLine(NamedTuple):
    """The line of a bend by new marks: which mark of the shoe stood on it, and which end its hook faced. `angle_rad`:
    what the bend had before it was opened, which leaves the line where it is (None: it was not)."""

    hook: HookEnd
    reference: Reference | None
    angle_rad: float | None = None


def lines_of(record: Sequence[MadeEntry], number: int) -> tuple[OwnLine | None, ...]:
    """The line by which a bend was bent last, by what is recorded of its piece, oldest first; None: the plan's, as that
    of one of which the record says nothing else. Several where it is ticked off as made by different marks, and is bent
    once."""
    anew = {one.id: one.what for one in record if one.what.anew}
    holds, found = BY_PLAN, list[OwnLine | None]()
    for one in record:
        bend = read_of(one.what, number)
        if bend is not None and not (one.what.anew and found):
            by = bend.by_marks or holds
            again = one.what.anew is None and bend.angle_rad is not None and bend.mark_mm is not None
            found = _after(found, by, anew, number, again=again)
        holds = one.id if one.what.anew else holds
    if not found and holds != BY_PLAN:
        found = _after(found, holds, anew, number, again=False)
    return tuple(dict.fromkeys(found)) or (None,)


def drawn(record: Sequence[MadeEntry], *, for_kept: bool = False) -> DrawnAt:
    """By new marks of this record; a bend that is left out has the plan's. `for_kept`: when the marks that hold were
    kept. Once a bend is made by marks theirs are drawn; of such as were to be drawn from a new end A, and were not cut
    for, none is."""
    kept = [one for one in record if one.what.anew]
    found: dict[int, tuple[float | None, ...]] = {}
    for one in kept[:-1] if for_kept else kept:
        anew, later = one.what.anew, [of.what for of in record[record.index(one) + 1 :]]
        bends = (bend for what in later for bend in what.bends if bend.by_marks == one.id)
        made = any(read_of(one.what, bend.number) is None for bend in bends)
        cut = made or any(step.kind == "cut" and step.by_marks == one.id for what in later for step in what.steps)
        for mark in () if anew is None or (anew.cut_first and not cut) else anew.marks:
            if mark.hook is not None:
                found[mark.number] = (*(() if made else found.get(mark.number, (None,))), mark.mark_mm)
    return found


def _after(
    found: list[OwnLine | None], by: str, anew: Mapping[str, Made], number: int, *, again: bool
) -> list[OwnLine | None]:
    """The lines that a bend may have once it is made, bent on or opened `by` these marks; `again`: it was measured as
    made by them."""
    what = anew.get(by)
    mark = mark_of(what, number) if what else None
    if by == BY_PLAN:
        return [None] if again else [*(one for one in found if one is not None), None]
    if what is None:
        return [None]  # by marks that are gone: nobody knows it
    if mark is None:
        return found or [None]
    there = read_of(what, number)
    if mark.hook is None:
        had = mark.angle_rad if there is None or there.angle_rad is None else there.angle_rad
        return [one and (one if one.angle_rad else one._replace(angle_rad=had)) for one in found or [None]]
    line = _line(mark)
    return [line] if again or there is not None else [*(one for one in found if one != line), line]


def _line(mark: MarkAnew) -> OwnLine:
    assert mark.hook is not None
    return OwnLine(mark.hook, mark.reference)
