"""Handling in words: the stance, and what binds where no order is possible."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from racewright.sequence.state import Blocked
from racewright.units.tape import TapeStyle, format_length


def stance_words(stance: str) -> str:
    """'on the floor' or 'in the air'."""
    return "on the floor" if stance == "floor" else "in the air"


def format_room(value_mm: float, tape: TapeStyle) -> str:
    """A length as this tape shows it, with its unit."""
    return format_length(value_mm, tape)


def blocked_words(blocked: Blocked, tape: TapeStyle) -> str:
    """What binds, in one sentence."""
    after = ""
    if blocked.made:
        names = [str(index + 1) for index in blocked.made]
        after = f" after bend{'s' if len(names) > 1 else ''} {_listed(names)}"
    head = f"bend {blocked.bend_index + 1}{after}, hook toward {blocked.hook}"
    has, needs = format_room(blocked.measured_mm, tape), format_room(blocked.needed_mm, tape)
    if blocked.limit == "hook reach":
        return f"{head}: {has} of straight conduit for the hook, {needs} needed"
    if blocked.limit == "grip":
        return f"{head}: {has} of straight conduit to grip, {needs} needed"
    head += f", {stance_words(blocked.stance)}"
    if blocked.limit == "floor":
        below = format_room(max(0.0, -blocked.measured_mm), tape)
        return f"{head}: a part would be {below} below the floor"
    what = "the conduit itself" if blocked.limit == "conduit itself" else f"the bender's {blocked.limit}"
    if blocked.measured_mm <= 0.0:
        return f"{head}: what is bent already hits {what}"
    return f"{head}: what is bent already passes {what} by {has}, {needs} wanted"


def with_words(blocked: Sequence[Blocked], tape: TapeStyle) -> tuple[Blocked, ...]:
    """The same with their sentence filled in."""
    return tuple(msgspec.structs.replace(b, words=blocked_words(b, tape)) for b in blocked)


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
