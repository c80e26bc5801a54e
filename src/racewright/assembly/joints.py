"""The joints of a run: what holds each end of each piece, and how it is made (common practice, no source)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import msgspec

from racewright.inspection.expansion import PistonSetting
from racewright.survey.model import EndFitting, Survey

How = Literal["slides", "threads", "cemented", "union", "expands"]

#: A conduit's thread through a knockout, held by locknuts: the end slides through the hole.
KNOCKOUT = "threaded"

#: The first word of a fitting's kind -> how the joint is made.
_HOW: dict[str, How] = {
    "set-screw": "slides",
    "compression": "slides",
    "slip": "slides",
    "threaded": "threads",
    "hub": "threads",
    "socket": "cemented",
    "union": "union",
    "expansion": "expands",
}


class Joint(msgspec.Struct, frozen=True, kw_only=True):
    """One joint of the run. `at_mm`: a coupling's middle along the run, or the end of the conduit. `before`, `after`:
    the pieces (from 1) that it joins, seen from end A; null where a box or other equipment stands. `kind`: the
    fitting ('set-screw coupling'). `how` it is made: 'slides' (pushed in to its stop, or through a hole where locknuts
    hold it), 'threads' (a taper thread: turned in until wrench tight, there is no stop), 'cemented' (primed, cemented,
    pushed to the stop with a quarter turn; then it never moves again), 'union' (three parts, closes between ends that
    cannot move), 'expands' (cemented on both sides, its piston slides: closes as a union does). `last`: it is made last
    of all; one joint of a run that can be put up is. `piston`: how an expansion fitting is set, null for all others."""

    at_mm: float
    before: int | None
    after: int | None
    kind: str
    how: How
    last: bool = False
    piston: PistonSetting | None = None

    @property
    def run_end(self) -> Literal["A", "B", ""]:
        """The run's own end that it stands at; '' between two pieces."""
        return "A" if self.before is None else "B" if self.after is None else ""


class PieceEnd(msgspec.Struct, frozen=True, kw_only=True):
    """What stands at an end ('' = it stays open, at the place `open_at` where that has a name) and how far the conduit
    goes in past its face. `thread`: what its thread is, contained in the cut length: 'own' the stick's, 'cut' by hand,
    '' it has none to be joined by."""

    fitting: str = ""
    open_at: str = ""
    insertion_mm: float = 0.0
    thread: Literal["", "own", "cut"] = ""
    told: str = ""


Act = Literal["place", "push", "turn", "cement", "through", "slide back", "close"]


class Move(msgspec.Struct, frozen=True, kw_only=True):
    """One move of putting the run up, with one piece (from 1). `act`: 'place': hold it where it goes, nothing is joined
    yet. 'push', 'turn', 'cement': bring it into `joints`, moving it by `by_mm`. 'through': the end at the joint goes
    through its hole `by_mm` deep first, farther than it stays. 'slide back': the fitting of the joint goes back by
    `by_mm` so that the piece has room. 'close': the joint is made, both its sides stand. `joints`: their places in the
    plan's `joints`, from 1; two where one push serves both ends (`by_mm` is then the deeper of the two), or where the
    second end comes back out of the hole that it went through first. `past_mm`: how far the piece's other end then
    stands past the end that it will face, so that it has to go in beside it."""

    piece: int
    act: Act
    joints: tuple[int, ...] = ()
    by_mm: float = 0.0
    past_mm: float = 0.0


class WayOut(msgspec.Struct, frozen=True, kw_only=True):
    """What would do, by itself, where a run cannot be put up as it is. `what`: 'slide back': the fittings of `joints`
    (places in the plan's `joints`, from 1), which are fixed, go back instead. 'cut in two': `piece` (from 1) is, and
    joined by a `kind` with its middle `at_mm` along the run. 'colder day': the run goes up on one, with the pistons of
    its expansion fittings all the way out."""

    what: Literal["slide back", "cut in two", "colder day"]
    joints: tuple[int, ...] = ()
    piece: int | None = None
    kind: str = ""
    at_mm: float = 0.0


class Assembly(msgspec.Struct, frozen=True, kw_only=True):
    """How the run is put up. `order`: the pieces (from 1) as they go up. `trapped`: those that go in between two
    parts that stand, so that a joint has to give way for them. `possible`: nothing that cannot give way has to.
    `moves` in order. Where it is not possible there is no order and no move: `why` says what is in the way and what
    would do, `ways_out` what of that was tried and does."""

    order: tuple[int, ...]
    trapped: tuple[int, ...]
    possible: bool
    moves: tuple[Move, ...]
    why: str = ""
    ways_out: tuple[WayOut, ...] = ()


def joint_how(kind: str) -> How:
    """How a joint of this fitting's kind is made. Raises KeyError for a kind that is none."""
    return "slides" if kind == KNOCKOUT else _HOW[kind.split()[0]]


def end_of(survey: Survey, joint: Joint) -> EndFitting | None:
    """The run's own end that the joint stands at; None between two pieces."""
    return {"A": survey.start, "B": survey.end}.get(joint.run_end)


def stays(survey: Survey, joint: Joint) -> bool:
    """Whether the joint is at an end whose fitting the survey calls fixed."""
    end = end_of(survey, joint)
    return end is not None and end.fixed is True


def fitting_name(kind: str, end: EndFitting | None) -> str:
    """What an end of a piece goes into, as the cards call it. `end`: the run's own end there, None between two."""
    if end is None:
        return kind
    return f"{end.name} ({kind})" if end.name else f"{kind} fitting"


def is_coupling(joint: Joint) -> bool:
    """Whether conduit stands on both its sides: between two pieces, or at an end toward the conduit of another run."""
    return joint.how in ("union", "expands") or joint.kind.endswith("coupling")


class Between(msgspec.Struct, frozen=True):
    """What joins two pieces: its middle along the run, its kind, and how an expansion fitting is set."""

    at_mm: float
    kind: str
    piston: PistonSetting | None = None


def joints_of(length_mm: float, ends: tuple[str, str], couplings: Sequence[Between]) -> tuple[Joint, ...]:
    """The joints of a run in order from end A: its two ends (the kind of fitting, 'none' for a free end, which is no
    joint) and what joins its pieces. None is marked as the last yet."""
    pieces = len(couplings) + 1
    out = [
        msgspec.structs.replace(_joint(c.at_mm, number, number + 1, c.kind), piston=c.piston)
        for number, c in enumerate(couplings, start=1)
    ]
    if ends[0] != "none":
        out.insert(0, _joint(0.0, None, 1, ends[0]))
    if ends[1] != "none":
        out.append(_joint(length_mm, pieces, None, ends[1]))
    return tuple(out)


def with_pistons(joints: Sequence[Joint], pistons: Sequence[PistonSetting]) -> tuple[Joint, ...]:
    """The joints with their expansion fittings set so; `pistons` in order along the run, none where not worked."""
    if not pistons:
        return tuple(joints)
    settings = iter(pistons)
    return tuple(j if j.piston is None else msgspec.structs.replace(j, piston=next(settings)) for j in joints)


def _joint(at_mm: float, before: int | None, after: int | None, kind: str) -> Joint:
    return Joint(at_mm=at_mm, before=before, after=after, kind=kind, how=joint_how(kind))
