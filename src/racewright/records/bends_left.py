"""Which bends of a piece are still to be made, by what is recorded of it, and how far its run is by that."""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from math import radians, remainder, tau
from typing import NamedTuple

from msgspec.structs import replace

from racewright.fit.made import LEAST_MADE_RAD
from racewright.records.entry import (
    BY_PLAN,
    NOT_BENT,
    STATUSES,
    Anew,
    BendMade,
    Corrected,
    Entry,
    Made,
    MadeEntry,
    MarkAnew,
    Readings,
    Status,
    StatusSet,
    StepMade,
    made_of,
)
from racewright.records.steps import StepName

#: What is kept of a step is what its marks want but for float noise (mm, rad).
_NOISE = 1e-6
#: An angle that is read to so much of what its mark wants is as it wants (an angle is read to half of a degree).
_AS_WANTED_RAD = radians(0.5)


class OtherMade(NamedTuple):
    """A bend that was made by other marks than those that hold now, or that these were kept without. `by`: which marks;
    `followed`: those, where they are new ones, and what they were kept with, `mark`: theirs of it (`gone`: they are not
    on record any more); `bent_on`: it was made before them, and bent on or opened by them. `known`: the marks that hold
    were kept with it as it was read; `after`: they were kept before it was recorded; `unread`: it is bent on or opened,
    and they were kept with it as it was before that; `later`: what was recorded after it by the marks that hold. `by`
    '': other new marks were kept with it, and it is by the plan's own mark."""

    bend: BendMade
    by: str
    mark: MarkAnew | None
    followed: Made | None
    gone: bool
    bent_on: bool
    known: bool
    after: bool
    unread: bool
    later: tuple[BendMade, ...] = ()

    @property
    def changes(self) -> bool:
        """The piece has a bend by it, or an angle, that the marks that hold were kept without."""
        return not self.known or self.unread

    @property
    def anew(self) -> Anew | None:
        """The new marks that it was made by."""
        return None if self.followed is None else self.followed.anew

    @property
    def trim_mm(self) -> float:
        """So much more was cut off at end A for it."""
        return 0.0 if self.anew is None else self.anew.trim_mm

    @property
    def carried(self) -> tuple[int, ...]:
        """The bends that were there and that its marks twist, with what follows the first of them."""
        return () if self.followed is None else carried(self.followed)


class SoFar(NamedTuple):
    """What was made of a piece. `kept`: the entry whose new marks hold (None: the plan's do); `since`: what was made by
    the marks that hold, oldest first; `other`: what was made otherwise; `anew`: all new marks that were kept, by the
    ids of their entries; `steps`: what was cut and twisted for the marks that hold; `other_steps`: for others, which
    these were kept without, otherwise than these want it, and what was done once more for these; `on_twice`: the bends
    that new marks bend on or open and that are ticked off so twice."""

    kept: MadeEntry | None
    since: tuple[BendMade, ...]
    other: tuple[OtherMade, ...]
    anew: Mapping[str, Made]
    steps: tuple[StepMade, ...] = ()
    other_steps: tuple[StepMade, ...] = ()
    on_twice: tuple[int, ...] = ()


def so_far(record: Sequence[MadeEntry]) -> SoFar:
    """By what is recorded of a piece, oldest first, since it was last set back: all by one plan. Where an entry does
    not say by which marks it was made, they are those that held where it stands."""
    at = next((place for place in reversed(range(len(record))) if record[place].what.anew), None)
    kept = None if at is None else record[at]
    holds = BY_PLAN if kept is None else kept.id
    read = {} if kept is None else {bend.number: bend for bend in kept.what.bends}
    anew = {one.id: one.what for one in record if one.what.anew}
    knows = _taken_from(read.values(), anew)
    since: list[tuple[int, BendMade]] = []
    other: list[tuple[int, OtherMade]] = []
    for place, one in enumerate(record):
        after = at is None or place > at
        for bend in one.what.bends:
            by = bend.by_marks or (holds if after else "")
            if one.what.anew:
                if bend.number not in read:
                    other.append((place, _other(bend, "", anew, read, knows, after=after)))
            elif by == holds:
                since.append((place, bend))
            elif by:  # what was ticked off before new marks, by nobody knows which, counts as they say
                other.append((place, _other(bend, by, anew, read, knows, after=after)))
    gone_over = tuple(
        one._replace(later=tuple(bend for after, bend in since if after > place))
        for place, one in _not_gone_over(other, record)
    )
    made = tuple(bend for _, bend in since)
    return SoFar(kept, made, gone_over, anew, *_steps_so_far(record, kept), _on_twice(record, at, anew))


def _on_twice(record: Sequence[MadeEntry], at: int | None, anew: Mapping[str, Made]) -> tuple[int, ...]:
    """The bends that two entries say are bent on or opened by new marks, with no angle read of them since: by the same,
    those that hold (of the entry `at` that place) or others, or by two of which neither knew of the other's. What was
    measured later is no second tick."""
    holds = BY_PLAN if at is None else record[at].id
    places = {one.id: place for place, one in enumerate(record)}
    ticked: dict[int, list[tuple[int, str]]] = {}
    found: set[int] = set()
    for place, one in enumerate(record):
        for bend in one.what.bends:
            by = bend.by_marks or (holds if at is None or place > at else "")
            on = not one.what.anew and _is_bent_on(anew.get(by), bend.number)
            if bend.angle_rad is not None and (on or one.what.anew or by == holds):
                found.discard(bend.number)
            if not on or (place, by) in ticked.get(bend.number, []):
                continue
            before = ticked.setdefault(bend.number, [])
            again = any(_is_again((place, by), tick, bend.number, places, anew) for tick in before)
            if again and _is_measured(bend):
                continue
            before.append((place, by))
            if again:
                found.add(bend.number)
    return tuple(sorted(found))


def _is_again(
    tick: tuple[int, str], other: tuple[int, str], number: int, places: Mapping[str, int], anew: Mapping[str, Made]
) -> bool:
    """Whether a bend that is bent on or opened may be so twice by two ticks, each with its place and by which marks:
    both are by the same, or those that were kept later do not know of the other's: that was ticked off after they were
    kept, or they took the bend as those did."""
    (place, first), (_, last) = sorted((tick, other), key=lambda one: places[one[1]])
    if first == last or place > places[last]:
        return True
    read, had, mark = read_of(anew[last], number), read_of(anew[first], number), mark_of(anew[first], number)
    if read is None or had is None or mark is None or first in _taken_from([read], anew)[number]:
        return False
    return not _is_read_after(read, mark) and _is_same_angle(read.angle_rad, had.angle_rad)


def _is_same_angle(one_rad: float | None, other_rad: float | None) -> bool:
    if one_rad is None or other_rad is None:
        return one_rad is other_rad
    return abs(one_rad - other_rad) < LEAST_MADE_RAD


def _steps_so_far(
    record: Sequence[MadeEntry], kept: MadeEntry | None
) -> tuple[tuple[StepMade, ...], tuple[StepMade, ...]]:
    """What was cut and twisted for the marks that hold, as they want it, and what was otherwise; without what these
    were kept with."""
    known = Counter(_which(step) for step in (() if kept is None else kept.what.steps))
    done: list[StepMade] = []
    others: list[StepMade] = []
    for step in (step for one in record if not one.what.anew for step in one.what.steps):
        if known[_which(step)]:
            known[_which(step)] -= 1
        elif kept and is_wanted(step, kept.what, kept.id) and not any(_which(one) == _which(step) for one in done):
            done.append(step)
        else:
            others.append(step)
    return tuple(done), tuple(others)


def steps_twice(record: Sequence[MadeEntry]) -> list[tuple[StepName, int | None]]:
    """The cut at end A and the twists, each by its bend, that are ticked off more than once, as far as the marks that
    hold do not know of it."""
    now = so_far(record)
    which = {_which(step) for step in (*now.steps, *now.other_steps)}
    ticks = (
        {(step.kind, step.number) for step in one.what.steps if _which(step) in which}
        for one in record
        if not one.what.anew
    )
    count = Counter(step for of in ticks for step in of)
    found = dict.fromkeys((step.kind, step.number) for step in now.other_steps)
    return [step for step in found if count[step] > 1]


def _which(step: StepMade) -> tuple[str, int | None, str]:
    """What is done, and for which marks."""
    return step.kind, step.number, step.by_marks


def is_wanted(step: StepMade, what: Made, by: str) -> bool:
    """New marks want that step done before their bends, by so much; `by`: the id of their entry."""
    return step.by_marks == by and any(
        _which(step) == _which(one)
        and abs(step.trim_mm - one.trim_mm) < _NOISE
        and abs(step.by_rad - one.by_rad) < _NOISE
        for one in first_steps(what, by)
    )


def of_bends(what: Made, count: int) -> Made | None:
    """What was made of a piece with so many bends, without what is said of others; None: nothing of it was, and new
    marks that were kept with none of its bends are none of it."""
    bends = tuple(bend for bend in what.bends if bend.number <= count)
    if not bends and (what.anew is not None or not what.steps):
        return None
    return what if bends == what.bends else replace(what, bends=bends)


def _not_gone_over(
    other: Sequence[tuple[int, OtherMade]], record: Sequence[MadeEntry]
) -> Iterator[tuple[int, OtherMade]]:
    """Without what is known to be bent on or opened since, by marks that were kept with it: where it was made."""
    places = {one.id: place for place, one in enumerate(record)}
    over = {one.bend.number: places[one.by] for _, one in other if one.bent_on and one.known and not one.unread}
    yield from ((place, one) for place, one in other if place >= over.get(one.bend.number, 0))


def _other(
    bend: BendMade,
    by: str,
    anew: Mapping[str, Made],
    read: Mapping[int, BendMade],
    knows: Mapping[int, set[str]],
    *,
    after: bool,
) -> OtherMade:
    followed = anew.get(by)
    mark = None if followed is None else mark_of(followed, bend.number)
    bent_on, now = _is_bent_on(followed, bend.number), read.get(bend.number)
    read_after = now is not None and (by in knows[bend.number] or mark is None or _is_read_after(now, mark))
    return OtherMade(
        bend,
        by,
        mark,
        followed,
        gone=followed is None and by not in ("", BY_PLAN),
        bent_on=bent_on,
        known=now is not None,
        after=after,
        unread=bent_on and (after or not read_after),
    )


def _is_measured(bend: BendMade) -> bool:
    return any(read is not None for read in (bend.angle_rad, bend.mark_mm, bend.roll_off_rad))


def _is_bent_on(what: Made | None, number: int) -> bool:
    """A bend was made before these new marks, and they bend it on or open it."""
    return what is not None and read_of(what, number) is not None and mark_of(what, number) is not None


def _taken_from(read: Iterable[BendMade], anew: Mapping[str, Made]) -> dict[int, set[str]]:
    """From which marks each bend, as it was read for new marks, was taken: those that it names, and those that these
    took it from in turn."""
    had = {one: {bend.number: bend for bend in reversed(what.bends)} for one, what in anew.items()}
    found = {}
    for bend in read:
        at, passed = bend, set[str]()
        while at.by_marks and at.by_marks not in passed:
            passed.add(at.by_marks)
            at = had.get(at.by_marks, {}).get(bend.number, at)
        found[bend.number] = passed
    return found


def _is_read_after(read: BendMade, mark: MarkAnew) -> bool:
    """Whether a bend was read, for new marks that know nothing of others with this mark, as it is since these bent it
    on or opened it: it was measured so."""
    if read.angle_rad is None:
        return not read.by_marks
    return abs(read.angle_rad - mark.angle_rad) < LEAST_MADE_RAD


def carried(what: Made) -> tuple[int, ...]:
    """The bends that were there when new marks were kept and that these twist, with what follows the first of them."""
    twisted = () if what.anew is None else what.anew.twisted
    first = min((twist.number for twist in twisted), default=None)
    return () if first is None else tuple(bend.number for bend in what.bends if bend.number >= first)


def twisted_rad(what: Made, number: int) -> float:
    """How far what new marks twist turns this bend, that was there when they were kept."""
    return sum(one.by_rad for one in what.anew.twisted if one.number <= number) if what.anew else 0.0


def twisted_before(now: SoFar) -> set[int]:
    """The bends that new marks twist in whose place others were kept, and whose plane nobody measured for these, or
    since: whether they are twisted is not known."""
    if now.kept is None:
        return set()
    since = as_recorded(now.since).values()
    told = {bend.number for bend in (*now.kept.what.bends, *since) if bend.roll_off_rad is not None}
    before = (what for kept, what in now.anew.items() if kept != now.kept.id)
    return {number for what in before for number in carried(what)} - told


def read_of(what: Made, number: int) -> BendMade | None:
    """This bend as new marks were kept with it; None: they were kept without."""
    return next((bend for bend in what.bends if bend.number == number), None)


def mark_of(what: Made, number: int) -> MarkAnew | None:
    """The new mark of this bend; None: it has none."""
    return next((mark for mark in what.anew.marks if mark.number == number), None) if what.anew else None


def first_steps(what: Made, by: str) -> tuple[StepMade, ...]:
    """What new marks want done to the piece before its bends, in this order, as it is kept once it is done; `by`: the
    id of their entry."""
    if what.anew is None:
        return ()
    cut = [StepMade(kind="cut", trim_mm=what.anew.trim_mm, by_marks=by)] if what.anew.cut_first else []
    twists = (StepMade(kind="twist", number=one.number, by_rad=one.by_rad, by_marks=by) for one in what.anew.twisted)
    return (*cut, *twists)


def twists_read(what: Made, since: Iterable[BendMade], ticked: Container[int | None] = ()) -> frozenset[int]:
    """Of the twists that new marks want, by the bends that they are at, those that planes read since show to be done:
    of a bend that was there and that they carry, nearer to where they bring it than to where it lay. Of those between
    two planes that were read all are done or none is; `ticked`: these are."""
    twists = () if what.anew is None else sorted(what.anew.twisted, key=lambda twist: twist.number)
    read = {bend.number: bend.roll_off_rad for bend in as_recorded(since).values()}
    found: set[int] = set()
    for bend in sorted(what.bends, key=lambda bend: bend.number):
        off, before = read.get(bend.number), [twist for twist in twists if twist.number <= bend.number]
        if off is None:
            continue
        open_ = [twist for twist in before if twist.number not in ticked and twist.number not in found]
        was = (bend.roll_off_rad or 0.0) + sum(twist.by_rad for twist in before if twist not in open_)
        by = sum(twist.by_rad for twist in open_)
        if abs(remainder(off - was - by, tau)) < abs(remainder(off - was, tau)):
            found |= {twist.number for twist in open_}
    return frozenset(found)


def twists_done(record: Sequence[MadeEntry], said: Iterable[BendMade] = ()) -> tuple[StepMade, ...]:
    """The twists of a piece that are done, by whichever marks: as often as they were ticked off, else those that planes
    read since show, `said` with them, or that new marks were kept with."""
    ticks = [step for one in record if not one.what.anew for step in one.what.steps if step.kind == "twist"]
    seen: dict[StepMade, None] = {}
    places = [place for place, one in enumerate(record) if one.what.anew]
    for place, after in zip(places, [*places, None][1:], strict=True):
        what, by = record[place].what, record[place].id
        seen |= dict.fromkeys(step for step in what.steps if step.kind == "twist")
        later = record[place + 1 : None if after is None else after + 1]
        since = [
            *_planes_less_twists(later, {record[at].id for at in places if at <= place}, said if after is None else ())
        ]
        shown = twists_read(what, since, {step.number for step in ticks if step.by_marks == by})
        seen |= dict.fromkeys(step for step in first_steps(what, by) if step.number in shown)
    return (*ticks, *(step for step in seen if step not in ticks))


def _planes_less_twists(
    later: Iterable[MadeEntry], known: Container[str], said: Iterable[BendMade]
) -> Iterator[BendMade]:
    """The bends that were read after new marks were kept, and `said` last, their planes less what they were twisted by
    for marks that are none of these `known`: those that are gone, and that were kept after these."""
    ticks: list[StepMade] = []

    def less(bend: BendMade) -> BendMade:
        turned = sum(step.by_rad for step in ticks if (step.number or 0) <= bend.number)
        return bend if bend.roll_off_rad is None else replace(bend, roll_off_rad=bend.roll_off_rad - turned)

    for one in later:
        if not one.what.anew:
            ticks += (step for step in one.what.steps if step.kind == "twist" and step.by_marks not in known)
        yield from (less(bend) for bend in one.what.bends)
    yield from (less(bend) for bend in said)


def line_is_lost(record: Sequence[MadeEntry], *, for_kept: bool = False) -> bool:
    """Whether the line along the conduit may be twisted nobody knows how far: a bend was made by new marks that are not
    on record any more, nor what these twisted. `for_kept`: when the marks that hold were kept."""
    kept = [place for place, one in enumerate(record) if one.what.anew]
    known = {"", BY_PLAN, *(record[place].id for place in kept)}
    ticks = (one.what.bends for one in record[: kept[-1] if for_kept and kept else None] if not one.what.anew)
    return any(bend.by_marks not in known for bends in ticks for bend in bends)


def read_otherwise_since(record: Sequence[MadeEntry]) -> bool:
    """Whether a bend made by the new marks that hold was read with another angle than these want, or with a place or
    a plane: the rest is not bent by them then as if it had theirs."""
    now = so_far(record)
    anew = None if now.kept is None else now.kept.what.anew
    wants = {} if anew is None else {mark.number: mark.angle_rad for mark in anew.marks}
    return any(
        bend.mark_mm is not None
        or bend.roll_off_rad is not None
        or (bend.angle_rad is not None and abs(bend.angle_rad - wants[bend.number]) > _AS_WANTED_RAD)
        for bend in now.since
        if bend.number in wants
    )


def as_recorded(bends: Iterable[BendMade]) -> dict[int, BendMade]:
    """Bends that were made of a piece, oldest first, each as it was recorded last: an angle or a place that was
    measured stands until another one is, whoever says once more that the bend is made."""
    found: dict[int, BendMade] = {}
    for bend in bends:
        before = found.get(bend.number, bend)
        found[bend.number] = BendMade(
            number=bend.number,
            angle_rad=before.angle_rad if bend.angle_rad is None else bend.angle_rad,
            mark_mm=before.mark_mm if bend.mark_mm is None else bend.mark_mm,
            roll_off_rad=before.roll_off_rad if bend.roll_off_rad is None else bend.roll_off_rad,
            by_marks=bend.by_marks,
        )
    return found


def bends_left(planned: Iterable[int], record: Sequence[MadeEntry]) -> tuple[int, ...]:
    """The bends of a piece that are still to be made. `planned`: those of the plan that it is bent by; `record`: what
    was made of it by that plan, oldest first, since it was last set back. Where new marks were kept the last of these
    say which bends are left, those among them too that are made and are to be bent on or opened; what was made since by
    them counts, and by whichever marks what they were kept without."""
    now = so_far(record)
    anew = None if now.kept is None else now.kept.what.anew
    done = {bend.number for bend in now.since}
    done |= {one.bend.number for one in now.other if one.changes}
    return tuple(n for n in (planned if anew is None else (mark.number for mark in anew.marks)) if n not in done)


def since_kept(later: Iterable[Entry], kept: Entry, left: set[int]) -> Iterator[tuple[Entry, bool, bool]]:
    """Each of the entries after that which `kept` new marks, of which these bends are `left` to be made: whether some
    are then, and whether it calls the piece bent late. So does a phone that has not heard of these marks, once the
    plan's are bent: it says nothing of what these want bent on or opened, or done before their bends."""
    assert isinstance(kept.what, Made)
    there, by_others = {bend.number for bend in kept.what.bends}, False
    for entry in later:
        what, late = entry.what, False
        if isinstance(what, Made) and (entry.piece or 1, entry.pins.marks) == (kept.piece or 1, kept.pins.marks):
            left = left - {bend.number for bend in what.bends}
            by_others = by_others or any(bend.by_marks not in ("", kept.id) for bend in what.bends)
        elif isinstance(what, StatusSet) and what.status == "bent":
            late = bool(entry.pins.marks) and by_others and bool(left) and left <= there
        yield entry, bool(left), late


def left_when_kept(what: Made, record: Sequence[MadeEntry]) -> set[int]:
    """The bends that new marks were kept for, but for those that are made otherwise by this record."""
    marks = () if what.anew is None else what.anew.marks
    return {mark.number for mark in marks} - {one.bend.number for one in so_far(record).other if one.changes}


def reopened(entries: Sequence[Entry]) -> bool:
    """Whether new marks want bends of a copy made, bent on or opened that are not: `entries` are those since it was set
    back, as `by_copy` has them. Who calls it bent after that, and not late, measures or corrects the finished piece has
    said that it is done."""
    kept: dict[tuple[int, str], tuple[int, Made]] = {}
    for at, one in enumerate(entries):
        if isinstance(one.what, Made) and one.what.anew is not None and one.pins.marks:
            kept[one.piece or 1, one.pins.marks] = at, one.what
    for (piece, marks), (at, what) in kept.items():
        record = made_of(entries, marks).get(piece, ())
        since = since_kept(entries[at + 1 :], entries[at], left_when_kept(what, record))
        if bends_left((), record) and not any(_says_done(one, piece) and not late for one, _, late in since):
            return True
    return False


def _says_done(entry: Entry, piece: int) -> bool:
    if isinstance(entry.what, StatusSet):
        return entry.what.status not in NOT_BENT
    return isinstance(entry.what, Readings | Corrected) and (entry.piece or 1) == piece


def status_at_bench(
    stood: Status, pieces: Sequence[Iterable[int]], record: Mapping[int, Sequence[MadeEntry]]
) -> Status:
    """How far a run is that stood so: planned once a bend of it is made by its plan, bent once none is left. `pieces`:
    the bends that are planned of each; `record`: what was made of each (from 1), as for `bends_left`."""
    if not any(record.values()):
        return stood
    left = any(bends_left(planned, record.get(number, ())) for number, planned in enumerate(pieces, 1))
    return max(stood, "planned" if left else "bent", key=STATUSES.index)
