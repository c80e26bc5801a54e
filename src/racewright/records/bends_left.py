"""Which bends of a piece are still to be made, by what is recorded of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from racewright.records.entry import Made


def bends_left(planned: Iterable[int], made: Sequence[Made]) -> tuple[int, ...]:
    """The bends of a piece that are still to be made. `planned`: those of the plan that it is bent by; `made`: what was
    made of it by that plan, oldest first, since it was last set back. Where new marks were kept the last of these say
    which bends it has."""
    anew = next((one for one in reversed(made) if one.anew), None)
    asked = [mark.number for mark in anew.anew.marks] if anew and anew.anew else list(planned)
    done = {bend.number for one in made for bend in one.bends}
    return tuple(number for number in asked if number not in done)
