"""The new marks that were kept for the rest of a half-bent piece: of which pieces they hold in place of the card's."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from math import degrees
from typing import NamedTuple

from racewright.errors import Finding
from racewright.fit.words import trim_words
from racewright.plan.model import Plan
from racewright.records.bends_left import (
    OtherMade,
    as_recorded,
    first_steps,
    is_wanted,
    left_when_kept,
    since_kept,
    so_far,
    twists_read,
)
from racewright.records.ends_cut import OnceBent, are_cut, once_bent, steps_after
from racewright.records.entry import (
    NOT_BENT,
    Anew,
    BendMade,
    Corrected,
    Entry,
    Made,
    MadeEntry,
    MarkAnew,
    Readings,
    StatusSet,
    StepMade,
    TwistAnew,
    by_copy,
    for_marks,
    made_of,
)
from racewright.records.ids import Id
from racewright.records.model import JobRun
from racewright.records.naming import piece_name, with_copies
from racewright.records.parts_said import part_words, step_part
from racewright.records.seen_done import with_seen
from racewright.sequence.words import mark_names
from racewright.units.angle import format_degrees, hand_angle
from racewright.units.tape import TapeStyle, format_length, read_tape, style_of

#: The rule of the caution that new marks hold.
NEW_MARKS = "job.new_marks"


class Followed(NamedTuple):
    """New marks that were kept (`bends`: the bends that they were kept with), and the bends that are recorded as made
    by them, all by their numbers: those that are left where the run is set to bent. `other`: those made otherwise, that
    they were kept without. `replaced`: later ones stand in their place; `steps`: what was cut and twisted, as it was
    ticked off or is shown by what was said since; `once_bent`: what is done of that which comes after the bends;
    `ends_were_cut`: before these marks were kept."""

    anew: Anew
    bends: Mapping[int, BendMade]
    since: Mapping[int, BendMade]
    replaced: bool
    other: Mapping[int, OtherMade]
    steps: tuple[StepMade, ...] = ()
    once_bent: OnceBent = OnceBent()
    ends_were_cut: bool = False

    @property
    def done(self) -> bool:
        """Each of their bends is made."""
        return all(mark.number in self.since or mark.number in self.other for mark in self.anew.marks)

    @property
    def twisted(self) -> frozenset[int | None]:
        """The bends at which that is done, of those that they twist, whatever bends are made meanwhile."""
        return frozenset(step.number for step in self.steps if step.kind == "twist")

    @property
    def cut(self) -> bool:
        """End A is cut for them: somebody said so, or has made a bend by marks that count from there."""
        return any(number not in self.bends for number in self.since) or any(one.kind == "cut" for one in self.steps)


class _Kept(NamedTuple):
    """An entry that kept new marks, at its place among those of its copy (`of`) since that was last set back; `record`:
    what was made of its piece by its plan."""

    copy: int
    of: Sequence[Entry]
    at: int
    record: Sequence[MadeEntry]

    @property
    def entry(self) -> Entry:
        return self.of[self.at]


def _kept(run: JobRun, entries: Iterable[Entry]) -> Iterator[_Kept]:
    """Each entry that kept new marks, oldest first."""
    for copy, of in by_copy(entries, run.times):
        made: dict[tuple[int, str], list[MadeEntry]] = {}
        for one in of:
            if (what := for_marks(one.what)) is not None:
                made.setdefault((one.piece or 1, one.pins.marks), []).append(MadeEntry(id=one.id, what=what))
        for at, one in enumerate(of):
            if isinstance(one.what, Made) and one.what.anew:
                yield _Kept(copy, of, at, made[one.piece or 1, one.pins.marks])


def _followed(kept: _Kept) -> Followed:
    """How far new marks that were kept were followed."""
    entry, later = kept.entry, kept.of[kept.at + 1 :]
    assert isinstance(entry.what, Made)
    assert entry.what.anew
    bent, done = _said_bent(later, entry, left_when_kept(entry.what, kept.record))
    one = _how_far(kept.record, entry.id, entry.what.anew, bent=bent)
    before = made_of(kept.of[: kept.at], entry.pins.marks, whole=True).get(entry.piece or 1, ())
    one = one._replace(once_bent=_once_bent(entry, entry.what.anew, later), ends_were_cut=are_cut(before))
    return one._replace(steps=first_steps(entry.what, entry.id)) if done else one


def _once_bent(kept: Entry, anew: Anew, later: Iterable[Entry]) -> OnceBent:
    """What is done of that which the new marks that an entry `kept` want once the piece is bent."""
    said, its = tuple(later), (kept.piece or 1, kept.pins.marks)
    is_in = any(isinstance(one.what, StatusSet) and one.what.status in ("in", "wired") for one in said)
    made = (one.what for one in said if isinstance(one.what, Made) and (one.piece or 1, one.pins.marks) == its)
    return once_bent((step for what in made for step in what.steps), anew, kept.id, is_in=is_in)


def _said_bent(later: Iterable[Entry], kept: Entry, left: set[int]) -> tuple[bool, bool]:
    """Whether somebody calls the piece bent after new marks were kept for it (by the entry `kept`), of which these
    bends are `left`; and whether that says that all is done to it, or what was measured when it was finished: bent it
    is by itself once the last of those left is."""
    bent = done = False
    for entry, is_left, late in since_kept(later, kept, left):
        what = entry.what
        if isinstance(what, Readings | Corrected):
            done = done or (entry.piece or 1, entry.pins.marks) == (kept.piece or 1, kept.pins.marks)
        elif isinstance(what, StatusSet) and what.status not in NOT_BENT and not late:
            bent, done = True, done or is_left or what.status != "bent"
    return bent, done


def _how_far(record: Sequence[MadeEntry], kept: Id, anew: Anew, *, bent: bool) -> Followed:
    """How far new marks that an entry of a piece's record `kept` were followed; `bent`: its run is."""
    at = next(place for place, one in enumerate(record) if one.id == kept)
    after = next((place for place in range(at + 1, len(record)) if record[place].what.anew), None)
    now = so_far(record[:after])
    late = () if after is None else (bend for one in record[after:] for bend in one.what.bends if bend.by_marks == kept)
    since = as_recorded((*now.since, *late))
    other = {one.bend.number: one for one in now.other if one.changes and one.bend.number not in since}
    if after is None and bent:
        left = (mark.number for mark in anew.marks if mark.number not in other)
        since = {number: BendMade(number=number) for number in left} | since
    bends = {bend.number: bend for bend in record[at].what.bends}
    ticks = (step for one in record if not one.what.anew for step in one.what.steps)
    ticked = [step for step in ticks if is_wanted(step, record[at].what, kept)]
    shown = twists_read(record[at].what, since.values(), {step.number for step in ticked})
    steps = (*ticked, *(step for step in first_steps(record[at].what, kept) if step.number in shown))
    others = {} if after is not None else other
    return Followed(anew, bends, since, replaced=after is not None, other=others, steps=steps)


def followed(run: JobRun, entries: Iterable[Entry]) -> dict[Id, Followed]:
    """How far the new marks of each entry that kept some were followed."""
    return {kept.entry.id: _followed(kept) for kept in _kept(run, entries)}


def marked_anew(run: JobRun, entries: Iterable[Entry], now: str | None) -> dict[tuple[int, int], Followed]:
    """The new marks that hold of the run, by copy and piece: the last that were kept for each since it was set back.
    `now`: the digest of the run's present plan, whose marks they replace; None: that is not known, and those of any
    plan are told."""
    last: dict[tuple[int, int, str], _Kept] = {}
    for kept in _kept(run, entries):
        which = (kept.copy, kept.entry.piece or 1, kept.entry.pins.marks)
        if now is None or kept.entry.pins.marks == now:
            last.pop(which, None)
            last[which] = kept
    return {(copy, piece): _followed(kept) for (copy, piece, _), kept in last.items()}


def first_unsaid(run: JobRun, before: Sequence[Entry], left: Container[Id]) -> Iterator[str]:
    """What new marks that held, and are not on record any more (of these entries some are `left`), wanted cut or
    twisted and nobody ticked off, in words that ask: nothing else tells of it, where it is done."""
    style = style_of(run.survey.units, run.survey.fraction)
    for kept in _kept(run, before):
        if kept.entry.id in left or (one := _followed(kept)).replaced:
            continue
        cut = [] if one.cut or not one.anew.cut_first else [trim_words(one.anew.trim_mm, style)]
        twists = [twist for twist in one.anew.twisted if twist.number not in one.twisted]
        if cut or twists:
            piece = kept.entry.piece or 1
            steps = [*(step_part("cut", None) for _ in cut), *(step_part("twist", twist.number) for twist in twists)]
            done = " ".join([*([f"--piece {piece}"] if piece > 1 else []), *(part_words(step) for step in steps)])
            wanted = "; ".join([*cut, *(one.how for one in twists)])
            yield (
                f"{_named(run, (kept.copy, piece), 0)}: the new marks that are taken back say: {wanted}; and nobody"
                " ticked that off. Is it done? Then bring them back, tick it off"
                f" (`racewright job record {run.key} {done}`), and take them back after that: else nothing tells of it."
            )


def new_marks(
    run: JobRun,
    entries: Iterable[Entry],
    now: str | None,
    pieces: int = 0,
    but: Container[tuple[int, int]] = (),
    plan: Plan | None = None,
) -> tuple[Finding, ...]:
    """A caution for each piece of which the rest is bent by new marks, and not by those of its card. `now` as for
    `marked_anew`; `pieces`: so many that the run has; 0: that is not known; `but`: of these, by copy and number, the
    new marks do not hold for the rest any more; `plan`: the present one, where it is at hand. Its values:
    what its message begins with (`head`), and its steps, a line each (`steps`)."""
    return tuple(
        Finding(
            severity="caution",
            rule=NEW_MARKS,
            message=f"{head}: {told.words}",
            where=run.key,
            values={"head": "; ".join(filter(None, (head, told.at_a))), "steps": "\n".join(told.steps)},
        )
        for head, told in _told_of(run, entries, now, pieces, but, plan)
    )


def _told_of(
    run: JobRun,
    entries: Iterable[Entry],
    now: str | None,
    pieces: int,
    but: Container[tuple[int, int]],
    plan: Plan | None,
) -> Iterator[tuple[str, Told]]:
    style = style_of(run.survey.units, run.survey.fraction)
    for which, one in marked_anew(run, entries, now).items():
        if which not in but:
            if plan is not None and which[1] <= len(plan.pieces):
                one = one._replace(anew=with_seen(one.anew, one.bends, plan.pieces[which[1] - 1], style))
            rest = f"the rest {'was' if one.done else 'is'} bent by new marks, not by those of its card"
            yield f"{_named(run, which, pieces)}: {rest}", marks_told(one, style)


def anew_of(run: JobRun, entries: Iterable[Entry], now: str | None, pieces: int = 0) -> tuple[tuple[str, str], ...]:
    """The pieces of which the rest is bent by new marks, each with these in words; the rest as for `new_marks`."""
    style = style_of(run.survey.units, run.survey.fraction)
    return tuple(
        (_named(run, which, pieces), marks_told(one, style).words)
        for which, one in marked_anew(run, entries, now).items()
    )


def _named(run: JobRun, which: tuple[int, int], pieces: int) -> str:
    copy, piece = which
    return with_copies(piece_name(run.key, piece, pieces), [copy] if run.alike else [])


class Told(NamedTuple):
    """New marks in words: what is done, in this order; `at_a`: what comes off otherwise at end A, where that is none of
    these."""

    at_a: str
    steps: tuple[str, ...]

    @property
    def words(self) -> str:
        """All of it: 'first cut 1/2" more off at end A, marks count from there; then mark 1 12": done ...'."""
        return "; ".join(part for part in (self.at_a, "; then ".join(self.steps)) if part)


def marks_told(one: Followed, style: TapeStyle) -> Told:
    """'mark 1 12": done, has 22 1/2°', 'mark 2 26 13/16": bend to 46° while ..., arrow, hook toward A': what is left in
    the words of its step, and what is done as it was recorded; before them what is cut at end A and twisted, behind
    them what is cut at end B, how the piece is turned when it goes in and what is done about an end B that is off. Of
    marks that later ones replaced only what
    is done is told."""
    anew = one.anew
    steps = [_mark_words(mark, one, style) for mark in anew.marks if _is_told(one, mark)]
    if one.replaced:
        steps.append("others were kept" if steps else "others were kept before a bend was made by them")
    else:
        after = steps_after(anew, one.once_bent, style)
        last = (f"{words}: done" if is_done else words for words, is_done in after)
        steps = [*(_twist_words(twist, one) for twist in anew.twisted), *steps, *last]
    if read_tape(abs(anew.trim_mm), style).shown_mm == 0.0:
        return Told("", tuple(steps))
    cut = trim_words(anew.trim_mm, style)
    if not anew.cut_first:
        look = "" if one.cut else _look_words(anew.cut_look_at)
        return Told(f"{cut}, marks count from there{look}", tuple(steps))
    if one.cut:
        return Told("", (f"{cut}: done, marks count from there", *steps))
    return Told("", (f"first {cut}, marks count from there{_look_words(anew.cut_look_at)}", *steps))


def _twist_words(twist: TwistAnew, one: Followed) -> str:
    return f"{twist.how}{': done' if twist.number in one.twisted else _look_words(twist.look_at)}"


def _look_words(look_at: str) -> str:
    """How to see whether a step is done, behind its words: a sheet may have been printed before it was."""
    return f" ({look_at[0].lower()}{look_at[1:].rstrip('.')})" if look_at else ""


def _is_told(one: Followed, mark: MarkAnew) -> bool:
    return not one.replaced or mark.number in one.since


def _mark_words(mark: MarkAnew, one: Followed, style: TapeStyle) -> str:
    name, made = mark_names([mark.number]), one.since.get(mark.number)
    if mark.number in one.other:
        return _by_other_words(name, one.other[mark.number], style)
    if made is not None:
        place = mark.mark_mm if made.mark_mm is None else made.mark_mm
        has = hand_angle(degrees(mark.angle_rad)) if made.angle_rad is None else format_degrees(degrees(made.angle_rad))
        return f"{name} {format_length(place, style)}: done, has {has}"
    do = "bend on or open it" if mark.number in one.bends else "bend it"  # kept before the words of its step were
    how = mark.how or f"{do} until it has {hand_angle(degrees(mark.angle_rad))} after letting go"
    return f"{name} {format_length(mark.mark_mm, style)}: {how}"


def _by_other_words(name: str, one: OtherMade, style: TapeStyle) -> str:
    """'mark 2 21 1/8": done by new marks that were kept before, has 30°': by which marks, and where these or a tape
    put it."""
    mark, made = one.mark, one.bend
    by = "by new marks that are not kept any more" if one.gone else "by the card's mark"
    if not one.by:
        by = "when other new marks were kept"
    elif mark is not None:
        by = "by new marks that were kept before"
    at = made.mark_mm if made.mark_mm is not None or mark is None else mark.mark_mm
    angle = made.angle_rad if made.angle_rad is not None or mark is None else mark.angle_rad
    has = "" if angle is None else f", has {hand_angle(degrees(angle))}"
    return f"{name}{'' if at is None else f' {format_length(at, style)}'}: done {by}{has}"
