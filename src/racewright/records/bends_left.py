"""Which bends of a piece are still to be made, by what is recorded of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from racewright.records.entry import Made


def bends_left(planned: Iterable[int], made: Sequence[Made]) -> tuple[int, ...]:
    """The bends of a piece that are still to be made. `planned`: those of the plan that it is bent by; `made`: what was
    made of it by that plan, oldest first, since it was last set back. Where new marks were kept the last of these say
    which bends it has, those among them too that are made and are to be bent on or opened."""
    done = _numbers(made)
    for at, one in reversed([*enumerate(made, 1)]):
        if one.anew:
            again, since = _numbers([one]), _numbers(made[at:])
            marks = [mark.number for mark in one.anew.marks]
            return tuple(number for number in marks if number not in (since if number in again else done))
    return tuple(number for number in planned if number not in done)


def _numbers(made: Iterable[Made]) -> set[int]:
    return {bend.number for one in made for bend in one.bends}
