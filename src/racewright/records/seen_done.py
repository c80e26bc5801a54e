"""How to see whether what new marks want before their bends is done, where these were kept before that was kept too."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec.structs import replace

from racewright.fit.made import Twist, twist_rad
from racewright.fit.seen_words import cut_seen_words, twist_seen_words
from racewright.plan.model import PlannedPiece
from racewright.records.entry import Anew, BendMade, TwistAnew
from racewright.units.tape import TapeStyle


def with_seen(anew: Anew, made: Mapping[int, BendMade], piece: PlannedPiece, tape: TapeStyle) -> Anew:
    """New marks with how that is seen, by the plan of their piece; `made`: the bends that they were kept with."""
    look = anew.cut_look_at
    if not look and anew.trim_mm > 0.0 and piece.extra_a_mm <= 0.0:
        look = cut_seen_words(_places_mm(made, piece), anew.trim_mm, tape)
    twists = tuple(Twist(one.number, one.by_rad) for one in anew.twisted)
    return replace(anew, cut_look_at=look, twisted=tuple(_twist_seen(one, made, twists) for one in anew.twisted))


def _places_mm(made: Mapping[int, BendMade], piece: PlannedPiece) -> list[tuple[int, float]]:
    planned_mm = {bend.number: bend.mark_mm for bend in piece.bends}
    placed = ((n, one.mark_mm if one.mark_mm is not None else planned_mm.get(n)) for n, one in made.items())
    return [(number, at_mm) for number, at_mm in placed if at_mm is not None]


def _twist_seen(one: TwistAnew, made: Mapping[int, BendMade], twists: tuple[Twist, ...]) -> TwistAnew:
    bend = made.get(one.number)
    if one.look_at or bend is None:
        return one
    then_rad = (bend.roll_off_rad or 0.0) + twist_rad(twists, one.number)
    return replace(one, look_at=twist_seen_words(one.number, then_rad - one.by_rad, then_rad))
