"""What was made of a piece by other marks than those that hold now: what these reckon otherwise, in words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import degrees, pi, radians

from racewright.errors import Finding
from racewright.fit.made import LEAST_MADE_RAD
from racewright.marks.mark import arc_start_from_mark_mm, mark_mm
from racewright.plan.model import MarkedBend, Plan
from racewright.records.bends_left import (
    OtherMade,
    SoFar,
    as_recorded,
    bends_left,
    first_steps,
    is_wanted,
    mark_of,
    read_of,
    so_far,
    steps_twice,
    twisted_before,
)
from racewright.records.entry import (
    BendMade,
    Corrected,
    Entry,
    MadeEntry,
    MarkAnew,
    Readings,
    StepMade,
    by_copy,
    made_of,
)
from racewright.records.model import JobRun
from racewright.records.naming import piece_name, with_copies
from racewright.records.parts_said import Part, part_words
from racewright.sequence.words import clock_words, mark_names
from racewright.tools.benders import BenderProfile, HookEnd, Reference
from racewright.units.angle import format_angle, hand_angle
from racewright.units.tape import TapeStyle, format_length, style_of

#: The rule of the caution that bends were made by other marks than those that hold.
OTHER_MARKS = "job.other_marks"
_NOISE_MM = 1e-6
#: So many cuts and twists of one piece are told one by one.
_MOST_STEPS = 12


def may_differ(run: JobRun, entries: Iterable[Entry], now: str) -> bool:
    """Whether bends of the run's plan with this digest may have been made by other marks than those that hold: what
    the marks reckon with tells it, in `bent_by_other`."""
    of = by_copy(entries, run.times)
    known = (so_far(record) for _, entries in of for record in made_of(entries, now).values())
    return any(one.other or one.other_steps or one.on_twice or twisted_before(one) for one in known)


def kept_without(run: JobRun, entries: Iterable[Entry], digest: str) -> frozenset[tuple[int, int]]:
    """The pieces that were begun by the plan with this digest, by copy and number, to which something was done by other
    marks than those that hold, the plan's own or new ones, which do not know of it or read it otherwise than it was
    made: what they reckoned with only that plan tells, so they may not hold."""
    tape = style_of(run.survey.units, run.survey.fraction)
    found = set()
    for copy, of in by_copy(entries, run.times):
        for number, record in made_of(of, digest).items():
            now = so_far(record)
            lost = any(_may_be_lost(one, now, tape) for one in now.other)
            if lost or twisted_before(now) or now.other_steps or now.on_twice:
                found.add((copy, number))
    return frozenset(found)


def _may_be_lost(one: OtherMade, now: SoFar, tape: TapeStyle) -> bool:
    read = _read_of(now, one.bend.number)
    if now.kept is None:  # it was made by new marks that are not kept any more
        return measured_since(one, now) is None
    return read is None or one.changes or was_taken(one, read) or _was_seen_otherwise(one, read, tape)


def _was_seen_otherwise(one: OtherMade, read: BendMade, tape: TapeStyle) -> bool:
    """What is known of a bend without its plan is not as the marks that hold were kept with it: `_read_otherwise`, of
    a plan that is not at hand. What was left out there is as planned, and was not measured otherwise."""
    if one.gone and (read.angle_rad is None or read.mark_mm is None):
        return True
    made, mark = one.bend, None if read.by_marks else one.mark
    if read.angle_rad is None:
        off_angle = made.angle_rad is not None or mark is not None
    else:
        off_angle = one.after and made.angle_rad is not None and not _same_angle(made.angle_rad, read.angle_rad)
    if read.mark_mm is None:
        off_place = made.mark_mm is not None or mark is not None
    else:
        off_place = one.after and made.mark_mm is not None and not _same_place(made.mark_mm, read.mark_mm, tape)
    plane = made.roll_off_rad if one.after or read.roll_off_rad is None else None
    return off_angle or off_place or (plane is not None and not _same_turn(plane, read.roll_off_rad or 0.0))


def bent_by_other(run: JobRun, entries: Iterable[Entry], plan: Plan) -> dict[tuple[int, int], str]:
    """The pieces of the run's present plan whose marks do not hold for the rest, by copy and number, each with what was
    made otherwise and what to do; not of one that was measured or corrected since."""
    found = {}
    for copy, of in by_copy(entries, run.times):
        for number, record in made_of(of, plan.digest).items():
            if number > len(plan.pieces) or _measured_since(of, number, record[-1].id, plan.digest):
                continue
            words = told_otherwise(plan, number, record)
            if words:
                found[copy, number] = words
    return found


def told_otherwise(plan: Plan, piece: int, record: Sequence[MadeEntry]) -> str:
    """What was made of a piece of the plan otherwise than the marks that hold reckon, and what to do; '' where nothing
    was."""
    bends = plan.pieces[piece - 1].bends
    words = other_marks(bends, plan.shoe, plan.tape, record) if bends else ()
    if not words:
        return ""
    left = bends_left([bend.number for bend in bends], record)
    twice = ticked_twice(so_far(record))
    return " ".join(
        [
            f"{'; '.join(words)}.",
            _TO_DO if left else _WHEN_BENT,
            *([_once(twice)] if twice else []),
            *_step_once(record),
            *_on_once(so_far(record).on_twice),
        ]
    )


def _once(twice: Sequence[int]) -> str:
    """What to do of bends that are ticked off twice and there once."""
    made = ",".join(f"{number}=DEG@PLACE" for number in twice)
    return (
        f"What is bent once is recorded again as it is (`racewright job record RUN --made {made}`), or the wrong tick"
        f" is taken back ({_taken_back(Part('made', twice[0]))})."
    )


def _taken_back(tick: Part) -> str:
    """How a wrong tick is taken back."""
    return f"`racewright job undo RUN {part_words(tick)}`, or on the page, in Bend"


def _step_once(record: Sequence[MadeEntry]) -> list[str]:
    twice = steps_twice(record)
    if not twice:
        return []
    kind, number = twice[0]
    how = _taken_back(Part(kind, number or 0))
    return [f"Of what was cut or twisted once and is ticked off twice the wrong tick is taken back ({how})."]


def _on_once(twice: Sequence[int]) -> list[str]:
    if not twice:
        return []
    made = ",".join(f"{number}=DEG" for number in twice)
    return [
        f"What may be bent on or opened twice is measured (`racewright job record RUN --made {made}`); where it was"
        f" done once, the wrong tick is taken back ({_taken_back(Part('made', twice[0]))})."
    ]


_TO_DO = (
    "The marks do not hold for the rest of this piece: bend nothing more of it, measure the bends that are made, and"
    " ask for new marks."
)
_WHEN_BENT = "Measure the piece before it goes in."


def _measured_since(entries: Sequence[Entry], piece: int, made: str, marks: str) -> bool:
    """The piece of the plan with these marks was measured or corrected once that was made."""
    after = False
    for entry in entries:
        after = after or entry.id == made
        of_it = (entry.piece or 1) == piece and entry.pins.marks == marks
        if after and of_it and isinstance(entry.what, Readings | Corrected):
            return True
    return False


def other_findings(run: JobRun, told: dict[tuple[int, int], str], pieces: int) -> tuple[Finding, ...]:
    """A caution for each of the pieces that `bent_by_other` tells of."""
    return tuple(
        Finding(
            severity="caution",
            rule=OTHER_MARKS,
            message=f"{with_copies(piece_name(run.key, number, pieces), [copy] if run.alike else [])}: {words}",
            where=run.key,
        )
        for (copy, number), words in told.items()
    )


def other_marks(
    bends: Sequence[MarkedBend], shoe: BenderProfile, tape: TapeStyle, record: Sequence[MadeEntry]
) -> tuple[str, ...]:
    """The bends of a piece, by its record, that the marks which hold now reckon otherwise than they were made, in
    words: 'mark 2 was bent by the plan's mark, 26 7/16" to 45°, and the new marks that were kept reckon ...'."""
    now = so_far(record)
    told: dict[int, str] = {}
    for one in now.other:
        bend = bends[one.bend.number - 1] if one.bend.number <= len(bends) else None
        if bend is not None and _differs(one, bend, shoe, tape, now):
            told[bend.number] = _words(one, bend, tape, now)
    steps = listed(step_words(step, tape, now) for step in now.other_steps)
    twisted = sorted(number for number in twisted_before(now) - told.keys() if number <= len(bends))
    if twisted:
        by = f"{mark_names(twisted)} may be twisted by new marks that were kept before"
        steps.append(f"{by}, and the new marks kept last do not reckon with it")
    on = [on_twice_words(number) for number in now.on_twice if number <= len(bends) and number not in told]
    return (*told.values(), *steps, *on)


def on_twice_words(number: int) -> str:
    """What is told of a bend that is ticked off twice as bent on or opened."""
    done = f"{mark_names([number])} is bent on or opened by new marks, and that is ticked off twice"
    return f"{done}: if it was done twice, the new marks do not hold"


def listed(words: Iterable[str]) -> list[str]:
    """What was done to a piece, each told once, and of more than so many steps only how many they are."""
    each = list(dict.fromkeys(words))
    more = len(each) - _MOST_STEPS
    return each if more <= 0 else [*each[:_MOST_STEPS], f"and {more} more steps are ticked off so"]


def step_words(step: StepMade, tape: TapeStyle, now: SoFar) -> str:
    """What was cut or twisted otherwise than the marks that hold reckon: 'end A was cut by 5/16" more by new marks that
    are not kept any more, and the marks that hold do not reckon with that'."""
    done = f"end A was cut by {much_words(step, tape)}"
    if step.kind == "twist":
        done = f"it was twisted at {mark_names([step.number or 0])} by {much_words(step, tape)}"
    if now.kept and step.by_marks == now.kept.id:
        wanted = [one for one in first_steps(now.kept.what, now.kept.id) if one.number == step.number]
        if not wanted:
            return f"{done}, and the new marks that hold do not want that"
        if not is_wanted(step, now.kept.what, now.kept.id):
            return f"{done}, and the new marks that hold want {much_words(wanted[0], tape)}"
        return f"{done}, and that is ticked off twice: if it was done twice, the new marks do not hold"
    by = "new marks that were kept before" if step.by_marks in now.anew else "new marks that are not kept any more"
    return f"{done} by {by}, and the marks that hold do not reckon with that"


def much_words(step: StepMade, tape: TapeStyle) -> str:
    """'5/16" more', '3° clockwise'."""
    if step.kind == "cut":
        return f"{format_length(step.trim_mm, tape)} more"
    return f"{format_angle(abs(step.by_rad))} {clock_words(step.by_rad)}"


def _read_of(now: SoFar, number: int) -> BendMade | None:
    """The bend as the marks that hold were kept with it."""
    return read_of(now.kept.what, number) if now.kept else None


def _mark_of(now: SoFar, number: int) -> MarkAnew | None:
    return mark_of(now.kept.what, number) if now.kept else None


def planned_mark_mm(
    bend: MarkedBend,
    shoe: BenderProfile,
    at_mm: float,
    angle_rad: float,
    hook: HookEnd | None,
    reference: Reference | None,
) -> float:
    """Where the plan's own mark stands of a bend that this hook and reference mark (None: the plan's) put there."""
    start = arc_start_from_mark_mm(at_mm, angle_rad, hook or bend.hook, reference or bend.reference, shoe)
    return mark_mm(start, start + shoe.radius_mm * angle_rad, bend.hook, bend.reference, shoe)


def as_made(one: OtherMade, bend: MarkedBend, shoe: BenderProfile) -> BendMade:
    """A bend as it was made by the marks that it followed, by the plan's own mark: as it was measured, else as these
    have it. What of it nobody knows is left out."""
    measured, mark = one.bend, one.mark
    if one.gone:
        return BendMade(number=bend.number, angle_rad=measured.angle_rad, roll_off_rad=measured.roll_off_rad)
    if mark is None:
        angle = radians(bend.angle_deg) if measured.angle_rad is None else measured.angle_rad
        return BendMade(
            number=bend.number,
            angle_rad=angle,
            mark_mm=bend.mark_mm if measured.mark_mm is None else measured.mark_mm,
            roll_off_rad=measured.roll_off_rad,
        )
    angle = mark.angle_rad if measured.angle_rad is None else measured.angle_rad
    at = mark.mark_mm if measured.mark_mm is None else measured.mark_mm
    place = planned_mark_mm(bend, shoe, at, angle, mark.hook, mark.reference)
    return BendMade(number=bend.number, angle_rad=angle, mark_mm=place, roll_off_rad=measured.roll_off_rad)


def _differs(one: OtherMade, bend: MarkedBend, shoe: BenderProfile, tape: TapeStyle, now: SoFar) -> bool:
    """What the marks that hold reckon with is not what was made."""
    read, to_come = _read_of(now, bend.number), _mark_of(now, bend.number)
    if one.gone:
        measured = measured_since(one, now) if read is None else _if_placed(read)
        return measured is None or (read is not None and was_taken(one, read))
    was = as_made(one, bend, shoe)
    assert was.angle_rad is not None
    assert was.mark_mm is not None
    if read is not None:
        if one.unread:
            return _was_read_anew(one, read) or _bent_on_otherwise(was, read, to_come, bend, shoe, tape)
        return _read_otherwise(one, was, read, bend, tape, now)
    if to_come is None or _piece_otherwise(one, now, tape):
        return True
    found = measured_since(one, now)
    if found is not None:
        was = as_made(one._replace(bend=found, mark=to_come), bend, shoe)
    assert was.angle_rad is not None
    assert was.mark_mm is not None
    same = _same_place(was.mark_mm, _marked_mm(to_come, bend, shoe), tape)
    return not same or not _same_angle(was.angle_rad, to_come.angle_rad) or not _same_plane(one, to_come, bend)


def measured_since(one: OtherMade, now: SoFar) -> BendMade | None:
    """A bend that is recorded as made by the marks that hold, with its angle and its place: there it is, whoever ticked
    it off by other marks too; not after marks that are gone, which may have bent it on."""
    last = as_recorded(one.later if one.gone else now.since).get(one.bend.number)
    return None if last is None else _if_placed(last)


def _if_placed(bend: BendMade) -> BendMade | None:
    return None if bend.angle_rad is None or bend.mark_mm is None else bend


def _marked_mm(mark: MarkAnew, bend: MarkedBend, shoe: BenderProfile) -> float:
    return planned_mark_mm(bend, shoe, mark.mark_mm, mark.angle_rad, mark.hook, mark.reference)


def _piece_otherwise(one: OtherMade, now: SoFar, tape: TapeStyle) -> bool:
    """The marks that a bend was made by cut the piece at end A, or twist it, otherwise than those that hold."""
    holds = now.kept.what.anew if now.kept else None
    trims = [0.0 if anew is None else anew.trim_mm for anew in (one.anew, holds)]
    twists = [{} if anew is None else {t.number: t.by_rad for t in anew.twisted} for anew in (one.anew, holds)]
    same = twists[0].keys() == twists[1].keys() and all(_same_angle(by, twists[1][n]) for n, by in twists[0].items())
    return not same or not _same_place(trims[0], trims[1], tape)


def _bent_on_otherwise(
    was: BendMade, read: BendMade, on: MarkAnew | None, bend: MarkedBend, shoe: BenderProfile, tape: TapeStyle
) -> bool:
    """The same of a bend that was bent on or opened by other marks, once these were kept, which leave it as it was
    `read` or bend it `on`, or open it, themselves."""
    assert was.angle_rad is not None
    assert was.mark_mm is not None
    if on is None:
        return not _same_angle(was.angle_rad, radians(bend.angle_deg) if read.angle_rad is None else read.angle_rad)
    return not _same_angle(was.angle_rad, on.angle_rad) or not _same_place(
        was.mark_mm, _marked_mm(on, bend, shoe), tape
    )


def _was_read_anew(one: OtherMade, read: BendMade) -> bool:
    """A bend that was bent on or opened by other marks before these were kept has another angle, as it was `read`, than
    those took it as: whether that is from before or after, nobody knows."""
    had = None if one.followed is None else read_of(one.followed, one.bend.number)
    if one.after or had is None:
        return False
    if read.angle_rad is None or had.angle_rad is None:
        return read.angle_rad != had.angle_rad
    return not _same_angle(read.angle_rad, had.angle_rad)


def _read_otherwise(
    one: OtherMade, was: BendMade, read: BendMade, bend: MarkedBend, tape: TapeStyle, now: SoFar
) -> bool:
    """The same of a bend that the marks that hold were kept with, as it was `read`. What was measured for them stands
    against what a mark alone says, and against what was measured before; what they took from other marks than it was
    made by does not."""
    assert was.angle_rad is not None
    assert was.mark_mm is not None
    angle = radians(bend.angle_deg) if read.angle_rad is None else read.angle_rad
    place = bend.mark_mm if read.mark_mm is None else read.mark_mm
    taken = was_taken(one, read)
    angle_taken = taken and angle_was_taken(read, bend, now)
    off_angle = not _same_angle(was.angle_rad, angle) and (
        read.angle_rad is None or angle_taken or (one.after and one.bend.angle_rad is not None)
    )
    off_place = not _same_place(was.mark_mm, place, tape) and (
        read.mark_mm is None or taken or (one.after and one.bend.mark_mm is not None)
    )
    off_plane = not _same_turn(_plane_off_rad(one, bend), read.roll_off_rad or 0.0) and (
        read.roll_off_rad is None or (one.after and one.bend.roll_off_rad is not None)
    )
    return off_angle or off_place or off_plane


def was_taken(one: OtherMade, read: BendMade) -> bool:
    """What was not measured of a bend, as it was `read`, was taken from other marks than it was made by."""
    return read.by_marks not in ("", one.by)


def angle_was_taken(read: BendMade, bend: MarkedBend, now: SoFar) -> bool:
    """The angle is the one that the marks have which what was not measured was taken from: nobody need have measured
    it."""
    mark = mark_of(now.anew[read.by_marks], bend.number) if read.by_marks in now.anew else None
    planned = radians(bend.angle_deg)
    return _same_angle(planned if read.angle_rad is None else read.angle_rad, mark.angle_rad if mark else planned)


def _same_angle(one_rad: float, other_rad: float) -> bool:
    return abs(one_rad - other_rad) < LEAST_MADE_RAD


def _same_place(one_mm: float, other_mm: float, tape: TapeStyle) -> bool:
    """The tape shows no more than its own rounding between them."""
    return abs(one_mm - other_mm) <= float(tape.step_mm) / 2.0 + _NOISE_MM


def _same_plane(one: OtherMade, to_come: MarkAnew, bend: MarkedBend) -> bool:
    return _same_turn(_plane_off_rad(one, bend), _turned_rad(to_come, bend))


def _same_turn(one_rad: float, other_rad: float) -> bool:
    return abs((one_rad - other_rad + pi) % (2.0 * pi) - pi) < LEAST_MADE_RAD


def _plane_off_rad(one: OtherMade, bend: MarkedBend) -> float:
    """How far the plane of a bend is off the planned one, as it was measured, else by its marks."""
    return _turned_rad(one.mark, bend) if one.bend.roll_off_rad is None else one.bend.roll_off_rad


def _turned_rad(mark: MarkAnew | None, bend: MarkedBend) -> float:
    return 0.0 if mark is None or mark.roll_rad is None else mark.roll_rad - radians(bend.roll_deg)


def _words(one: OtherMade, bend: MarkedBend, tape: TapeStyle, now: SoFar) -> str:
    name = mark_names([bend.number])
    if one.gone:
        return f"{name} was bent by new marks that are not kept any more, so where it is now is not known"
    if one.mark is None:
        by, at, angle = "the plan's mark", bend.mark_mm, radians(bend.angle_deg)
    else:
        by, at, angle = "new marks that were kept before", one.mark.mark_mm, one.mark.angle_rad
    at = at if one.bend.mark_mm is None else one.bend.mark_mm
    angle = angle if one.bend.angle_rad is None else one.bend.angle_rad
    was = "is ticked off twice, by different marks, once by" if _is_twice(one, now) else "was bent by"
    made = f"{name} {was} {by}, {_place_words(at, angle, tape)}"
    if not one.by:
        made = f"other new marks were kept with {name} bent at {_place_words(at, angle, tape)}"
    return f"{made}, and the new marks kept last {_reckoned(one, bend, tape, now)}"


def ticked_twice(now: SoFar) -> list[int]:
    """The bends that are ticked off by different marks, none of which bend them on or open them: bent they are once.
    What the marks that hold were kept with is ticked off by them only where they bend it on."""
    by: dict[int, set[str]] = {}
    for one in now.other:
        if one.by:
            by.setdefault(one.bend.number, set()).add(one.by)
    for bend in now.since:
        if _read_of(now, bend.number) is None:
            by.setdefault(bend.number, set()).add("")  # those that hold
    bent_on = {one.bend.number for one in now.other if one.bent_on}
    return sorted(number for number, marks in by.items() if len(marks) > 1 and number not in bent_on)


def _is_twice(one: OtherMade, now: SoFar) -> bool:
    return bool(one.by) and one.bend.number in ticked_twice(now)


def _reckoned(one: OtherMade, bend: MarkedBend, tape: TapeStyle, now: SoFar) -> str:
    read, mark = _read_of(now, bend.number), _mark_of(now, bend.number)
    if read is not None and (not one.unread or _was_read_anew(one, read)):
        at = bend.mark_mm if read.mark_mm is None else read.mark_mm
        angle = radians(bend.angle_deg) if read.angle_rad is None else read.angle_rad
        plane = "" if _same_turn(_plane_off_rad(one, bend), read.roll_off_rad or 0.0) else ", in another plane"
        return f"took it as {_place_words(at, angle, tape)}{plane}"
    if mark is None:
        return "leave it as it was" if read else "leave it out"
    plane = "" if _same_plane(one, mark, bend) else ", in another plane"
    cut = ", with the piece cut or twisted otherwise" if _piece_otherwise(one, now, tape) else ""
    return f"have it at {_place_words(mark.mark_mm, mark.angle_rad, tape)}{plane}{cut}"


def _place_words(at_mm: float, angle_rad: float, tape: TapeStyle) -> str:
    return f"{format_length(at_mm, tape)} to {hand_angle(degrees(angle_rad))}"
