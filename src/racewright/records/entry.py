"""Entries: what was seen and done on the runs of a job. They are only ever added, and never stand against each other;
what one says, or a part of it, is taken back and brought back, and never said otherwise.

Each pins what it was seen on (`Pins`), so that what is learned from it fits the plan that was bent, however the run has
been changed since. What was measured is in mm and radians, as the fit takes it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Annotated, Literal

import msgspec

from racewright.field_words import BY_MARKS_PATTERN
from racewright.fit.measured import Angle, BendNumber, Measured, Off, Place
from racewright.records.fields import Input, PieceNumber, RevisionNumber, Text, Times
from racewright.records.ids import Id, new_id
from racewright.records.steps import STEPS, StepName
from racewright.tools.benders import HookEnd, Reference

#: What an entry lists is listed for something: one at least, and no more than a piece may have.
_SOME = msgspec.Meta(min_length=1, max_length=120)

#: How far a run has come, in this order. 'wired': wires pulled.
Status = Literal["measured", "planned", "bent", "in", "wired"]
STATUSES: tuple[Status, ...] = ("measured", "planned", "bent", "in", "wired")
#: The conduit of such a run is not cut and bent yet, as far as its status says.
NOT_BENT: tuple[Status, ...] = ("measured", "planned")
STATUS_WORDS: dict[Status, str] = {
    "measured": "measured",
    "planned": "planned",
    "bent": "bent",
    "in": "in place",
    "wired": "wired",
}


class StatusSet(Input, frozen=True, kw_only=True, tag_field="kind", tag="status"):
    """The run has come so far; where the entry pins marks, at least."""

    status: Status


class Readings(Input, frozen=True, kw_only=True, tag_field="kind", tag="readings"):
    """What was measured on a finished piece: see `fit/measured.py`."""

    measured: Annotated[tuple[Measured, ...], _SOME]
    note: Text = ""


class MoveMade(Input, frozen=True, kw_only=True):
    """One correction as made: bend `number` (from 1) by so many radians (negative: opened, or rolled left-handed)."""

    number: BendNumber
    kind: Literal["angle", "roll", "spin"] = "angle"
    by_rad: Angle


class Corrected(Input, frozen=True, kw_only=True, tag_field="kind", tag="corrected"):
    """A correction that was made on a finished piece."""

    moves: Annotated[tuple[MoveMade, ...], _SOME]
    note: Text = ""


#: What one tap or command writes is of one moment, give or take.
_AT_ONCE = timedelta(seconds=2)
#: Bends were made by the plan's own marks.
BY_PLAN = "plan"
#: By which marks: the plan's, or the new marks that the entry with this id kept; '': not known.
ByMarks = Annotated[str, msgspec.Meta(pattern=BY_MARKS_PATTERN)]


class BendMade(Input, frozen=True, kw_only=True):
    """A bend as it was made at the bench: its angle, where its mark stands from end A, and how far its plane is off the
    plan (positive clockwise, seen from A), where these were measured; `by_marks`: by which marks it was made ('plan',
    or the id of the entry that kept them; '': not known). Where new marks were kept with it, it is by the plan's own
    mark, and `by_marks` are those that bent it on or opened it, else those that what was not measured was taken from
    ('': all was measured)."""

    number: BendNumber
    angle_rad: Angle | None = None
    mark_mm: Place | None = None
    roll_off_rad: Angle | None = None
    by_marks: ByMarks = ""


class StepMade(Input, frozen=True, kw_only=True):
    """A step of a piece that is no bend, and is done: for new marks end A was cut by so much more than planned
    (`trim_mm`), or bend `number` was twisted, with all that follows it (`by_rad`, positive clockwise, seen from A); or
    one of the plan, `number` says which of its kind among those of the piece, from 1. `by_marks`: the marks that it was
    done for."""

    kind: StepName
    number: BendNumber | None = None
    trim_mm: Off = 0.0
    by_rad: Angle = 0.0
    by_marks: ByMarks = ""

    def __post_init__(self) -> None:
        row = STEPS[self.kind]
        if row.counted == "bend" and self.number is None:
            raise ValueError("names no bend (number) that was twisted")
        if row.counted == "step" and self.number is None:
            raise ValueError(f"does not say which step '{self.kind}' (number) of the piece it is")
        if not row.counted and self.number is not None:
            raise ValueError("names a bend (number), and it is end A that was cut")
        if row.much and not getattr(self, row.much):
            raise ValueError(f"does not say by how much ({row.much}) it was done")
        if not row.much and (self.trim_mm or self.by_rad):
            raise ValueError("says by how much (trim_mm, by_rad), and that its plan does")


class MarkAnew(Input, frozen=True, kw_only=True):
    """Where the mark of bend `number` stands from then on, from end A, and the angle that the bend gets. `hook` and
    `reference`: which end the hook faces, and which mark of the shoe stands there (None: as planned); `roll_rad`: the
    plane that it is bent in (None: not known); `how`: the bend in the words of its step ('': not known), with what the
    pointer shows."""

    number: BendNumber
    mark_mm: Off
    angle_rad: Angle
    hook: HookEnd | None = None
    reference: Reference | None = None
    roll_rad: Angle | None = None
    how: Text = ""


class TwistAnew(Input, frozen=True, kw_only=True):
    """A made bend that is twisted, with all that follows it, by so much before the rest is bent (positive clockwise,
    seen from A); `how`: in words; `look_at`: how to see whether it is done ('': not known)."""

    number: BendNumber
    by_rad: Angle
    how: Text
    look_at: Text = ""


class Anew(Input, frozen=True, kw_only=True):
    """The new marks of the bends that were left, which hold in place of the plan's; `in_hand_mm`: how long the conduit
    was said to be for them, from end A before it is cut for them; `trim_mm`: so much more than planned comes off at end
    A, and the marks count from there (negative: less), `cut_first`: before anything is bent, as a step of its own,
    `cut_look_at`: how to see whether that is done ('': not known); `twisted` comes before the marks; `turned_rad`: so
    much the whole piece is turned in its fitting at end A when it goes in (positive clockwise, seen from A);
    `off_b_mm`: so much comes off at end B after bending (0: nothing, or it is not known), `line_b_mm`: end B is cut so
    far from end A then, since nobody said how long the conduit is, and `in_hand_mm` is how long it was taken to be at
    least (0: it is known what comes off); `end_b`: what is done where end B does not come to its place by them, in
    words ('': nothing, or it is not known)."""

    marks: Annotated[tuple[MarkAnew, ...], _SOME]
    in_hand_mm: Place | None = None
    trim_mm: Off = 0.0
    cut_first: bool = False
    cut_look_at: Text = ""
    twisted: Annotated[tuple[TwistAnew, ...], msgspec.Meta(max_length=120)] = ()
    turned_rad: Angle = 0.0
    off_b_mm: Place = 0.0
    line_b_mm: Place = 0.0
    end_b: Text = ""


class Made(Input, frozen=True, kw_only=True, tag_field="kind", tag="made"):
    """Bends of a piece that were made at the bench, in the order in which they were made, and `steps` of it that are no
    bends, on the wall too. `anew`: they were not as planned, and the rest is bent by these marks: `bends` are all that
    are made, as they were measured, `steps` those that were done for new marks before."""

    bends: Annotated[tuple[BendMade, ...], msgspec.Meta(max_length=120)]
    anew: Anew | None = None
    steps: Annotated[tuple[StepMade, ...], msgspec.Meta(max_length=120)] = ()
    note: Text = ""

    def __post_init__(self) -> None:
        if not self.bends and (self.anew is not None or not self.steps):
            raise ValueError("names no bend, and no step that is done")


class MadeEntry(Input, frozen=True, kw_only=True):
    """What an entry says was made of a piece, with its id."""

    id: Id
    what: Made


class Noted(Input, frozen=True, kw_only=True, tag_field="kind", tag="note"):
    """Words about the run or the piece."""

    note: Text


What = StatusSet | Readings | Corrected | Made | Noted


class Pins(Input, frozen=True, kw_only=True):
    """What an entry was made with: the run's revision (0: not known), the tool's name, the program's version, and the
    digest of the plan whose marks were used (see `plan/digest.py`); '' where there was no plan, or it is not known."""

    run: RevisionNumber = 0
    tool: Text = ""
    engine: Text = ""
    marks: Text = ""


NO_PINS = Pins()


class Entry(Input, frozen=True, kw_only=True):
    """One thing seen or done on the run whose id is `run`, and on which of its pieces (from 1; None: the whole run).
    `copy`: on which of the runs alike (from 1; None: see `copy_of`). `by`: who says so; `at`: when, in UTC."""

    id: Id = msgspec.field(default_factory=new_id)
    run: Id
    piece: PieceNumber | None = None
    copy: Times | None = None
    what: What
    pins: Pins = NO_PINS
    by: Text = ""
    at: Text = ""


def copy_of(entry: Entry) -> int | None:
    """On which of runs alike it was seen and done (from 1; None: on all of them). Work that names none was done while
    there was one, and that is the first."""
    return 1 if entry.copy is None and is_work(entry) else entry.copy


def as_read(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """The entries, oldest first, each of the copy that it is of: a status that names none, and that somebody said at
    once with work on the same revision, by the same marks, that names none, came of that, and is of the first. So wrote
    who had heard of one run alone, also where more are wanted by the time that it is heard of."""
    worked: dict[tuple[str, str, str, int], datetime] = {}
    read: list[Entry] = []
    for entry in entries:
        if entry.copy is None and entry.pins.marks and (at := _moment(entry.at)):
            said = entry.run, entry.pins.marks, entry.by, entry.pins.run
            if is_work(entry):
                worked[said] = at
            elif isinstance(entry.what, StatusSet) and said in worked and abs(at - worked[said]) <= _AT_ONCE:
                entry = msgspec.structs.replace(entry, copy=1)
        read.append(entry)
    return tuple(read)


def _moment(at: str) -> datetime | None:
    """A moment as it is written with its zone; None for what is none."""
    try:
        moment = datetime.fromisoformat(at)
    except ValueError:
        return None
    return moment if moment.tzinfo else None


def is_work(entry: Entry) -> bool:
    """Whether it says what was done or measured on a piece."""
    return isinstance(entry.what, Readings | Corrected | Made)


def for_marks(what: What) -> Made | None:
    """What was made of a piece, as far as marks reckon with it: without steps of its plan; None: nothing of it was."""
    if not isinstance(what, Made):
        return None
    steps = tuple(step for step in what.steps if STEPS[step.kind].of == "marks")
    if len(steps) == len(what.steps):
        return what
    return msgspec.structs.replace(what, steps=steps) if what.bends or steps else None


def made_of(entries: Iterable[Entry], marks: str, *, whole: bool = False) -> dict[int, list[MadeEntry]]:
    """What was made by the plan with this digest, by piece, in the order of the entries, as marks reckon with it;
    `whole`: with steps of the plan."""
    made: dict[int, list[MadeEntry]] = {}
    for entry in entries:
        what = entry.what if whole and isinstance(entry.what, Made) else for_marks(entry.what)
        if what is not None and marks and entry.pins.marks == marks:
            made.setdefault(entry.piece or 1, []).append(MadeEntry(id=entry.id, what=what))
    return made


def planned_done(entries: Iterable[Entry], marks: str, piece: int, by: str) -> set[tuple[StepName, int | None]]:
    """The steps of the plan with this digest that are done on the piece, each with its number; `by`: the marks that
    hold for it (as a step's `by_marks`): what is done once it is bent is done again for others."""
    return {
        (step.kind, step.number)
        for entry in entries
        if isinstance(entry.what, Made) and entry.pins.marks == marks and (entry.piece or 1) == piece
        for step in entry.what.steps
        if STEPS[step.kind].of == "plan" and (step.by_marks == by or not STEPS[step.kind].again)
    }


def called_anew(entry: Entry, ids: Mapping[str, str]) -> Entry:
    """The entry under its new id, of these for those of its job: what it says of another entry with it."""
    what = entry.what
    if isinstance(what, Made):
        named = (msgspec.structs.replace(one, by_marks=ids.get(one.by_marks, one.by_marks)) for one in what.bends)
        steps = (msgspec.structs.replace(one, by_marks=ids.get(one.by_marks, one.by_marks)) for one in what.steps)
        what = msgspec.structs.replace(what, bends=tuple(named), steps=tuple(steps))
    return msgspec.structs.replace(entry, id=ids[entry.id], what=what)


def sets(entry: Entry, stood: Status) -> bool:
    """Whether an entry sets the status of a run that stood so. One that pins marks came of work by them, and lowers
    none: it may come late, from a phone without network. What sets a run back pins none, or is 'measured', which no
    work makes."""
    what = entry.what
    if not isinstance(what, StatusSet):
        return False
    return not entry.pins.marks or what.status == "measured" or is_further(what.status, stood)


def is_further(status: Status, stood: Status) -> bool:
    """Whether a run that stood so comes further by this status."""
    return STATUSES.index(status) > STATUSES.index(stood)


def set_by(entries: Iterable[Entry], times: int = 1) -> list[tuple[Status, Entry | None]]:
    """The status of each of `times` runs alike that these entries make, oldest first, and the entry that gave it (None:
    nobody said). What is said of a copy that there is not counts for none."""
    found: list[tuple[Status, Entry | None]] = [("measured", None)] * times
    for entry in entries:
        if isinstance(entry.what, StatusSet):
            for at in range(times) if entry.copy is None else range(entry.copy - 1, min(entry.copy, times)):
                if sets(entry, found[at][0]):
                    found[at] = entry.what.status, entry
    return found


def statuses_by(entries: Iterable[Entry], times: int = 1) -> tuple[Status, ...]:
    """The status of each of `times` runs alike that these entries make, oldest first."""
    return tuple(status for status, _ in set_by(entries, times))


def said_again(entry: Entry, copy: int, stood: Status) -> Entry:
    """The same status said of a copy that stood so: it counts, also where it is less."""
    what, pins = entry.what, entry.pins
    if isinstance(what, StatusSet) and not is_further(what.status, stood):
        pins = msgspec.structs.replace(pins, marks="")
    return msgspec.structs.replace(entry, id=new_id(), copy=copy, pins=pins)


def by_copy(entries: Iterable[Entry], times: int) -> Iterator[tuple[int, list[Entry]]]:
    """Each of so many runs alike with what was seen and done on it and on all, oldest first, since it was last set back
    from bent: what is made after that is another piece."""
    found: list[list[Entry]] = [[] for _ in range(times)]
    stood: list[Status] = ["measured"] * times
    for entry in entries:
        copy = copy_of(entry)
        for at in range(times) if copy is None else range(copy - 1, min(copy, times)):
            if isinstance(entry.what, StatusSet) and sets(entry, stood[at]):
                was, stood[at] = stood[at], entry.what.status
                if was not in NOT_BENT and stood[at] in NOT_BENT:
                    found[at].clear()
            found[at].append(entry)
    yield from enumerate(found, 1)


def least_status(statuses: Iterable[Status]) -> Status:
    """How far all of them are."""
    return min(statuses, key=STATUSES.index)


def to_set(statuses: Sequence[Status], wanted: Sequence[Status]) -> tuple[tuple[int | None, Status], ...]:
    """What is to be set so that runs alike that are not bent have the `wanted` status: the copy, and its status; None
    for the copy where all of them get the same."""
    todo = tuple(
        (copy, want)
        for copy, (is_now, want) in enumerate(zip(statuses, wanted, strict=True), 1)
        if is_now in NOT_BENT and is_now != want
    )
    if len(todo) == len(statuses) and len(set(wanted)) == 1:
        return ((None, wanted[0]),)
    return todo


def counted(statuses: Iterable[Status]) -> dict[Status, int]:
    """How many have each status, in the order of `STATUSES`."""
    count = Counter(statuses)
    return {status: count[status] for status in STATUSES}


def status_words(statuses: Sequence[Status]) -> str:
    """The status of runs alike in words: 'bent', or where it is not that of all '14 of 20 bent, 6 planned'."""
    count = [(status, number) for status, number in reversed(counted(statuses).items()) if number]
    if len(count) == 1:
        return STATUS_WORDS[count[0][0]]
    (first, number), *others = count
    words = [f"{number} of {len(statuses)} {STATUS_WORDS[first]}"]
    return ", ".join([*words, *(f"{number} {STATUS_WORDS[status]}" for status, number in others)])
