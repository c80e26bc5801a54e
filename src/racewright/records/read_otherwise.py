"""What was read of one thing on a bent piece and cannot both be right: two readings that differ by more than both may
be misread, with nothing between them that changed it, and none since that settles which is right."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Sequence
from math import radians
from typing import NamedTuple

from racewright.errors import Finding
from racewright.fit.accuracy import Tolerance
from racewright.fit.measured import BendAngle, LegLean, Measured, OffAt, tolerance_of
from racewright.fit.words import measured_words
from racewright.plan.model import BendPlanned
from racewright.records.bends_left import mark_of, twisted_rad
from racewright.records.ends_cut import is_ends_cut
from racewright.records.entry import BY_PLAN, BendMade, Corrected, Entry, Made, Readings, StepMade, by_copy, for_marks
from racewright.records.far_off import Bends
from racewright.records.model import JobRun
from racewright.records.naming import piece_name, with_copies
from racewright.sequence.words import clock_words, mark_names
from racewright.units.angle import format_angle
from racewright.units.tape import TapeStyle, format_length, style_of

#: The rule of the caution that two readings cannot both be right.
READ_OTHERWISE = "job.read_otherwise"
#: New marks have what the record had where it differs by no more (mm, rad).
_NOISE = 1e-6
#: What is read of a bend itself: a bend that is made elsewhere on the piece leaves it.
_OF_BENDS = ("angle", "place", "plane")
#: How far end B is off along the conduit, as a reading is known by.
_ALONG_AT_B = ("off", ("forward", None))


class _Read(NamedTuple):
    """One reading. `of`: the same for readings of the same thing; `doubt`: how far it may be misread; `at`: the place
    of its entry; `made`: that says it of a bend that is made; `by`: who recorded it so."""

    of: tuple[str, Hashable]
    value: float
    doubt: float
    words: str
    at: int
    made: bool
    by: str = ""

    def agrees(self, other: _Read, aim: float | None) -> bool:
        """Both may be right; `aim`: what new marks bring it to meanwhile, which may be half done."""
        low, high = sorted((other.value, other.value if aim is None else aim))
        doubt = self.doubt + other.doubt
        return low - doubt <= self.value <= high + doubt


class _Known:
    """What was read of a piece, entry by entry. `had`: of each thing since it was last changed or settled, oldest
    first: more than one reading is an open question; `taken`: what the new marks that hold were worked out from;
    `aims`: what these bring it to."""

    def __init__(self, planned: Sequence[BendPlanned], tape: TapeStyle) -> None:
        self.planned, self.tape = planned, tape
        self.had: dict[tuple[str, Hashable], list[_Read]] = {}
        self.taken: dict[tuple[str, Hashable], _Read] = {}
        self.aims: dict[tuple[str, Hashable], float] = {}
        self.made: set[int] = set()
        self.anew: dict[str, Made] = {}

    def hear(self, at: int, entry: Entry) -> None:
        """The next entry, at this place among all."""
        what = entry.what
        if isinstance(what, Readings):
            for item in what.measured:
                self._read(_measured(item, at, self.tape))
        elif isinstance(what, Corrected):
            for known in (self.had, self.taken, self.aims, self.made):
                known.clear()
        elif isinstance(what, Made) and what.anew is not None:
            self._kept(what, at)
            self.anew[entry.id] = what
        elif isinstance(what, Made):
            if (made := for_marks(what)) is not None:
                self._made(made, at, entry.by)
            for step in what.steps:
                self._step(step)

    def _step(self, step: StepMade) -> None:
        """Where its ends are cut end B lies elsewhere along the conduit; what is put up is pushed to where it fits, and
        has the angles, places and planes that it was bent with."""
        by = self.anew.get(step.by_marks)
        if step.kind == "length" or is_ends_cut(step, None if by is None else by.anew):
            self.had.pop(_ALONG_AT_B, None)
        elif step.kind in ("insert", "strap"):
            self._keep_only(*_OF_BENDS)

    def _read(self, new: _Read) -> None:
        """A reading that agrees with one before settles which is right, but where the new marks that hold were worked
        out from another."""
        before, by, aim = self.had.get(new.of, []), self.taken.get(new.of), self.aims.get(new.of)
        is_settled = any(new.agrees(one, aim) for one in before) and (by is None or new.agrees(by, aim))
        self.had[new.of] = [new] if is_settled else [*before, new]

    def _made(self, what: Made, at: int, by: str) -> None:
        """A bend or a step more moves what lies beyond it; a bend that is recorded as made counts by that alone, with
        the angle that it was made with, and until it is new marks that hold with its place by the plan's mark. What is
        recorded so once more is in the place of what the same person said of it, and beside what others did."""
        if what.steps:
            self._keep_only("angle")
        elif not self.made.issuperset(bend.number for bend in what.bends):
            self._keep_only(*_OF_BENDS)
        for bend in what.bends:
            again = bend.number in self.made
            self.made.add(bend.number)
            by_plan = not self.anew and bend.by_marks in ("", BY_PLAN)
            reads = {read.of: read._replace(by=by) for read in _bend_read(bend, at, self.tape, place=by_plan)}
            for of in ((kind, bend.number) for kind in _OF_BENDS):
                had = [one for one in self.had.pop(of, []) if again and one.made]
                for known in (self.taken, self.aims):
                    known.pop(of, None)
                if of in reads or had:
                    self.had[of] = _beside(had, reads[of]) if of in reads else had

    def _kept(self, what: Made, at: int) -> None:
        """What new marks are worked out from is read for them, but for what they have from the record, where none were
        kept before or those have bends more or fewer, and for an angle that is that of the marks by which its bend was
        made."""
        last = next(reversed(self.anew.values()), None)
        goes_on = last is None or {one.number for one in last.bends} != {one.number for one in what.bends}
        reads = [
            (bend, read)
            for bend in what.bends
            for read in _bend_read(bend, at, self.tape, place=not bend.by_marks)
            if read.of[0] != "angle" or not self._is_assumed(bend)
        ]
        self._keep_only(*_OF_BENDS)
        for of in [of for of in self.had if of[0] != "angle" and of not in {read.of for _, read in reads}]:
            del self.had[of]  # where it is now, and in which plane, was not read
        self.taken.clear()
        for _, read in reads:
            had = self.had.get(read.of, [])
            is_same = any(one.made and abs(one.value - read.value) <= _NOISE for one in had)
            if not (goes_on and is_same and had[-1].made):
                self._read(read)
        self.taken = {read.of: read for _, read in reads}
        self.aims = {read.of: _aim(what, bend, read) for bend, read in reads}
        self.made.clear()

    def _is_assumed(self, bend: BendMade) -> bool:
        """Nobody need have read its angle: its marks have it so."""
        if bend.angle_rad is None or not self.anew:
            return False
        mark = mark_of(self.anew[bend.by_marks], bend.number) if bend.by_marks in self.anew else None
        if mark is not None:
            return abs(mark.angle_rad - bend.angle_rad) <= _NOISE
        by_plan = bend.by_marks == BY_PLAN and bend.number <= len(self.planned)
        return by_plan and abs(radians(self.planned[bend.number - 1].angle_deg) - bend.angle_rad) <= _NOISE

    def _keep_only(self, *kinds: str) -> None:
        self.had = {of: reads for of, reads in self.had.items() if of[0] in kinds}


def _beside(had: Sequence[_Read], new: _Read) -> list[_Read]:
    """What is said of a made bend, once this is said of it too: one that agrees with what another person said, or with
    either side of an open question, settles it. Who is not known is nobody else."""
    others = [one for one in had if one.by and new.by and one.by != new.by]
    if any(new.agrees(one, None) for one in (had if len(had) > 1 else others)):
        return [new]
    return [*others, new]


def open_readings(run: JobRun, entries: Iterable[Entry], now: str, bends: Bends) -> set[tuple[int, int]]:
    """The pieces begun by the run's present plan, by copy and number, of which made bends are read otherwise: what is
    bent next is not known until that is settled."""
    known = _known(run, tuple(entries), now, bends)
    return {
        (copy, number)
        for copy, (number, marks), piece in known
        if marks == now and any(len(reads) > 1 and reads[-1].made for reads in piece.had.values())
    }


def read_otherwise(
    run: JobRun, entries: Iterable[Entry], now: str, bends: Bends, last: int | None = None
) -> tuple[Finding, ...]:
    """A caution for each thing on a piece of the run that was read twice and cannot be both, by whichever plan it was
    bent. `now`: the digest of the run's present plan, `bends`: the bends of that. `last`: only what so many entries,
    the last of them, say."""
    of = tuple(entries)
    found = []
    for copy, (number, _), piece in _known(run, of, now, bends):
        name = with_copies(piece_name(run.key, number, len(bends)), [copy] if run.alike else [])
        for of_thing, reads in piece.had.items():
            if len(reads) > 1 and (last is None or reads[-1].at >= len(of) - last):
                words = _words(reads[-2], reads[-1], piece.taken.get(of_thing))
                found.append(
                    Finding(rule=READ_OTHERWISE, severity="caution", message=f"{name}: {words}", where=run.key)
                )
    return tuple(found)


def _known(
    run: JobRun, entries: Sequence[Entry], now: str, bends: Bends
) -> Iterator[tuple[int, tuple[int, str], _Known]]:
    """What was read, by copy, by piece and the plan that it was bent by."""
    tape = style_of(run.survey.units, run.survey.fraction)
    places = {id(entry): at for at, entry in enumerate(entries)}
    for copy, of_copy in by_copy(entries, run.times):
        known: dict[tuple[int, str], _Known] = {}
        for entry in of_copy:
            number, marks = entry.piece or 1, entry.pins.marks
            planned = bends[number - 1] if marks and marks == now and number <= len(bends) else ()
            known.setdefault((number, marks), _Known(planned, tape)).hear(places[id(entry)], entry)
        for which, piece in known.items():
            yield copy, which, piece


def _words(one: _Read, other: _Read, taken: _Read | None) -> str:
    by = ""
    if taken is not None and other.made:
        by = (
            f" The new marks kept last were worked out from '{taken.words}': bend nothing more by them until that is"
            " settled, and where it is wrong ask for new ones."
        )
    return (
        f"'{one.words}' and '{other.words}' cannot both be right. Both are kept: measure it again and record it, record"
        f" what was corrected between, or take back the one that is wrong.{by}"
    )


def _measured(item: Measured, at: int, tape: TapeStyle) -> _Read:
    words, doubt = measured_words(item, tape), tolerance_of(item, Tolerance())
    if isinstance(item, OffAt):
        return _Read(("off", (item.way, item.station_mm)), item.off_mm, doubt, words, at, made=False)
    if isinstance(item, LegLean):
        return _Read(("lean", item.way), item.lean_rad, doubt, words, at, made=False)
    if isinstance(item, BendAngle):
        return _Read(("angle", item.number), item.angle_rad, doubt, words, at, made=False)
    return _Read(("rise", item.number), item.rise_mm, doubt, words, at, made=False)


def _bend_read(bend: BendMade, at: int, tape: TapeStyle, *, place: bool) -> Iterator[_Read]:
    """What was read of a bend that is made; `place`: its place is the plan's mark."""
    name, number, may_be = mark_names([bend.number]), bend.number, Tolerance()
    if bend.angle_rad is not None:
        yield _measured(BendAngle(number=number, angle_rad=bend.angle_rad), at, tape)._replace(made=True)
    if bend.mark_mm is not None and place:
        words = f"{name} stands {format_length(bend.mark_mm, tape)} from end A"
        yield _Read(("place", number), bend.mark_mm, may_be.length_mm, words, at, made=True)
    if bend.roll_off_rad is not None:
        off = bend.roll_off_rad
        words = f"the plane of {name} is {format_angle(abs(off))} {clock_words(off)} off the plan"
        yield _Read(("plane", number), off, may_be.angle_rad, words, at, made=True)


def _aim(what: Made, bend: BendMade, read: _Read) -> float:
    """What new marks bring a thing to, that they were worked out from as it was read."""
    mark, kind = mark_of(what, bend.number), read.of[0]
    if kind == "angle":
        return read.value if mark is None else mark.angle_rad
    if kind == "place":
        return read.value - (what.anew.trim_mm if what.anew else 0.0)
    return read.value + twisted_rad(what, bend.number)
