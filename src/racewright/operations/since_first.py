"""What a cut at end A and a twist that are ticked off make of the bends that were there: where they are since, and how
they lie."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import degrees, radians
from typing import NamedTuple

from msgspec.structs import replace

from racewright.fit.seen_words import off_words
from racewright.operations.bent import Bent
from racewright.operations.kept_before import SAME_CUT_MM
from racewright.records.bends_left import SoFar, as_recorded, carried, twisted_rad
from racewright.records.entry import BendMade, Made, MadeEntry
from racewright.records.model import MadeReading
from racewright.sequence.words import mark_names
from racewright.units.tape import format_length


class SinceFirst(NamedTuple):
    """New marks that were kept, with the bends that they were kept for as these are since: `cut`: their places are less
    what was cut, `twisted`: their planes are twisted along."""

    kept: Made
    cut: bool
    twisted: bool

    @property
    def whole(self) -> bool:
        """Nothing else was to be done to the piece first."""
        anew = self.kept.anew
        assert anew is not None
        return (self.cut or abs(anew.trim_mm) <= SAME_CUT_MM) and (self.twisted or not anew.twisted)


def since_first(
    asked: Bent, now: SoFar, kept: Made, record: Sequence[MadeEntry], said: Mapping[int, MadeReading]
) -> SinceFirst:
    """The `kept` marks of what was made so far, by `record`, after what of it is ticked off; nothing is reckoned from a
    tick that something speaks against: a bend made by other marks, or before it; what was read of a made bend since; or
    a plane that is `said` of it now, rather as before, or where it begins."""
    assert kept.anew is not None
    if now.other or now.other_steps or not _ticked_first(now, kept, record):
        return SinceFirst(kept, cut=False, twisted=False)
    ticked, since = {(step.kind, step.number) for step in now.steps}, as_recorded(now.since)
    read = [since[bend.number] for bend in kept.bends if bend.number in since]
    twists = kept.anew.twisted
    cut = kept.anew.cut_first and ("cut", None) in ticked and not any(bend.mark_mm is not None for bend in read)
    twisted = bool(twists) and all(("twist", one.number) in ticked for one in twists)
    twisted = twisted and not any(bend.roll_off_rad is not None for bend in read)
    cut = cut and not any(bend.number in said and said[bend.number].start for bend in kept.bends)
    turned = {number: twisted_rad(kept, number) for number in carried(kept)}
    twisted = twisted and all(
        _is_twisted(bend, turned[bend.number], said.get(bend.number)) for bend in kept.bends if bend.number in turned
    )
    bends = kept.bends
    if cut:
        bends = tuple(replace(bend, mark_mm=_mark_mm(asked, bend) - kept.anew.trim_mm) for bend in bends)
    if twisted:
        bends = tuple(
            replace(bend, roll_off_rad=(bend.roll_off_rad or 0.0) + turned[bend.number])
            if bend.number in turned
            else bend
            for bend in bends
        )
    return SinceFirst(replace(kept, bends=bends), cut=cut, twisted=twisted)


def taken_words(asked: Bent, first: SinceFirst, said: Mapping[int, MadeReading]) -> str:
    """What is taken of the bends as the ticks have it, and is not `said`; '': nothing is."""
    told = []
    for bend in first.kept.bends:
        name, new = mark_names([bend.number]), said.get(bend.number, MadeReading(number=bend.number))
        if first.cut and bend.mark_mm is not None and not new.mark:
            told.append(f"{name} stands {format_length(bend.mark_mm, asked.tape)} from end A")
        if first.twisted and bend.number in carried(first.kept) and new.roll_off_deg is None:
            told.append(f"{name} lies {off_words(degrees(bend.roll_off_rad or 0.0))} off the plan, seen from A")
    return f"Taken as it was ticked off: {', '.join(told)}. Where it is not so, measure it and say it." if told else ""


def _ticked_first(now: SoFar, kept: Made, record: Sequence[MadeEntry]) -> bool:
    """Each step that is ticked off was so before a bend was made by the marks."""
    before, bent = {bend.number for bend in kept.bends}, False
    for one in record:
        if not one.what.anew:
            if bent and any(step in now.steps for step in one.what.steps):
                return False
            bent = bent or any(bend in now.since and bend.number not in before for bend in one.what.bends)
    return True


def _mark_mm(asked: Bent, bend: BendMade) -> float:
    return asked.bends[bend.number - 1].mark_mm if bend.mark_mm is None else bend.mark_mm


def _is_twisted(bend: BendMade, by_rad: float, said: MadeReading | None) -> bool:
    if said is None or said.roll_off_deg is None:
        return True
    off_rad, was_rad = radians(said.roll_off_deg), bend.roll_off_rad or 0.0
    return abs(off_rad - was_rad - by_rad) < abs(off_rad - was_rad)
