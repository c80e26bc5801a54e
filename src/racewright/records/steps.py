"""The steps at the bench and on the wall that are no bends, as a record keeps that they are done: one table of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

import msgspec

from racewright.plan.model import Step, StepKind

StepName = Literal[
    "cut", "twist", "stock", "length", "lay-out", "check", "trim", "thread", "ream", "loosen", "insert", "strap"
]


class StepRow(msgspec.Struct, frozen=True):
    """What one kind of step is. `done`: that it is, in words; `of`: what wants it, the new marks that hold for a piece
    (before its rest is bent) or its plan, and then `planned` is what that calls it; `counted`: its number says at which
    bend ('bend'), or which of this kind among those of its piece ('step'); '': it has none; `much`: the field that says
    by how much; `spoils`: done twice it spoils the piece; `again`: it comes once the piece is bent, so that it is done
    again where new marks are kept; `cut`: it cuts the piece from its stick, or takes a whole one ('is'), it is done to
    what is cut ('was'), or it can be done before that (''); `in_place`: it is done where the run goes up, to the one
    piece that is there."""

    done: str
    of: Literal["marks", "plan"]
    planned: StepKind | None
    counted: Literal["", "bend", "step"]
    much: Literal["", "trim_mm", "by_rad"]
    spoils: bool
    cut: Literal["", "is", "was"]
    again: bool = False
    in_place: bool = False


def _planned(
    kind: StepKind, done: str, cut: Literal["", "is", "was"] = "was", *, again: bool = True, in_place: bool = False
) -> StepRow:
    """A step of the plan. Done twice it spoils nothing: a cut to length and a trim are measured from end A, so that a
    second one finds nothing to take off; a thread that is cut again is only cleaned."""
    return StepRow(done, "plan", kind, "step", "", spoils=False, cut=cut, again=again, in_place=in_place)


#: In the order in which a piece is made and put up.
STEPS: dict[StepName, StepRow] = {
    "cut": StepRow("end A cut", "marks", None, "", "trim_mm", spoils=True, cut="was"),
    "twist": StepRow("twisted", "marks", None, "bend", "by_rad", spoils=True, cut="was"),
    "stock": _planned("stock", "stick taken", "is", again=False),
    "length": _planned("cut", "cut to length", "is", again=False),
    "lay-out": _planned("lay-out", "lines drawn", "", again=False),
    "check": _planned("check", "checked"),
    "trim": _planned("trim", "ends cut"),
    "thread": _planned("thread", "threaded"),
    "ream": _planned("ream", "reamed"),
    "loosen": _planned("loosen", "what gives way pushed back", "", in_place=True),
    "insert": _planned("insert", "put in", in_place=True),
    "strap": _planned("strap", "strapped", "", in_place=True),
}
_OF_PLAN: dict[StepKind, StepName] = {row.planned: name for name, row in STEPS.items() if row.planned is not None}


def steps_planned(steps: Sequence[Step]) -> Iterator[tuple[int, StepName, int] | None]:
    """What the record calls each of a plan's steps: its piece, its kind, and which of this kind it is among those of
    the piece, from 1; None: a bend, or what no record says (that something is to be settled first)."""
    count: dict[tuple[int, StepName], int] = {}
    for step in steps:
        name = _OF_PLAN.get(step.kind)
        if name is None or step.piece is None:
            yield None
            continue
        count[step.piece, name] = count.get((step.piece, name), 0) + 1
        yield step.piece, name, count[step.piece, name]


def numbered(kind: StepName, number: int | None) -> int | None:
    """The number of a step as a person says it: of several of a kind the first needs none."""
    return number or (1 if STEPS[kind].counted == "step" else None)


def step_name(kind: StepName, number: int | None) -> str:
    """As a command says it: 'cut', 'twist 2', 'ream', 'insert 2'."""
    first = STEPS[kind].counted == "step" and number == 1
    return kind if number is None or first else f"{kind} {number}"
