"""The fewest settings that make all bends, where each piece's bends keep their own order.

A setting is one angle on one tool, held one way. Notation: a sequence lists the settings of one piece in its bending
order. What is looked for is the shortest list of settings that has each sequence in it, in order, with others between:
their shortest common supersequence. At each setting every piece that wants it next is bent, for waiting gains nothing.
A list needs each setting at least as often as the one piece that needs it most; it is searched breadth first, so that a
search that kept every state has the least.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from racewright.budget import SETTINGS, SETTINGS_COMPARED, SETTINGS_STATES

Sequences = Sequence[tuple[int, ...]]
_At = tuple[int, ...]


class Settings(NamedTuple):
    """The settings in their order; `least`: no order can do with fewer."""

    order: tuple[int, ...]
    least: int


class _Step(NamedTuple):
    """A setting after those before it."""

    setting: int
    before: _Step | None


def fewest_settings(sequences: Sequences) -> Settings:
    """The shortest list of settings that was found; the settings are numbers, and nothing is told by their size."""
    wanted = _longest(sequences)
    if not wanted:
        return Settings((), 0)
    start, ends = (0,) * len(wanted), tuple(len(sequence) for sequence in wanted)
    left = _left(wanted)
    states: dict[_At, _Step | None] = {start: None}
    still = {start: sum(_most(counts, start) for counts in left.values())}  # what is to come at least, of each state
    least, cut_short, looked_at, count = still[start], False, 0, 0
    while ends not in states:
        if looked_at >= SETTINGS:
            cut_short = True
            states = {ends: _greedily(wanted, *next(iter(states.items())))}
            break
        found: dict[_At, _Step | None] = {}
        still_of: dict[_At, int] = {}
        for state, step in states.items():
            for setting, places in sorted(_wanting(wanted, state).items()):
                after = _advanced(state, places)
                looked_at += len(wanted)
                if after not in found:
                    found[after] = _Step(setting, step)
                    still_of[after] = still[state] - _most(left[setting], state) + _most(left[setting], after)
        count += 1
        room = max(1, min(SETTINGS_STATES, (SETTINGS - looked_at) // (len(wanted) * max(1, least - count))))
        if len(found) > room:
            cut_short = True
            # the least that is still to come, then the most that is done; at last their places
            best = sorted(found, key=lambda state: (still_of[state], -sum(state), state))[:room]
            found = {state: found[state] for state in best}
        states, still = found, still_of
    order = _path(states[ends])
    if not cut_short:
        return Settings(order, len(order))
    return Settings(min(order, _path(_greedily(wanted, start, None)), key=len), least)


def _longest(sequences: Sequences) -> list[tuple[int, ...]]:
    """The sequences that are in no other: what makes these makes all. Of very many only those that are there twice are
    left out."""
    different = sorted({one for one in sequences if one}, key=lambda s: (-len(s), s))
    if len(different) > SETTINGS_COMPARED:
        return different
    kept: list[tuple[int, ...]] = []
    for one in different:
        if not any(_is_in(one, other) for other in kept):
            kept.append(one)
    return kept


def _greedily(wanted: Sequences, state: _At, step: _Step | None) -> _Step | None:
    """To the end from here, each time by the setting that those want next which have most before them."""
    while True:
        wanting = _wanting(wanted, state)
        if not wanting:
            return step
        weight = {one: sum(len(wanted[n]) - state[n] for n in places) for one, places in wanting.items()}
        setting = min(weight, key=lambda one: (-weight[one], one))
        state, step = _advanced(state, wanting[setting]), _Step(setting, step)


def _is_in(one: tuple[int, ...], other: tuple[int, ...]) -> bool:
    """Whether `other` has all of `one`, in order."""
    rest = iter(other)
    return all(setting in rest for setting in one)


def _left(wanted: Sequences) -> dict[int, dict[int, list[int]]]:
    """For each setting, of the places of the sequences that want it: how often, from each place of a sequence on."""
    left: dict[int, dict[int, list[int]]] = {}
    for place, sequence in enumerate(wanted):
        for setting in set(sequence):
            counts = [sequence[at:].count(setting) for at in range(len(sequence) + 1)]
            left.setdefault(setting, {})[place] = counts
    return left


def _most(left: dict[int, list[int]], state: _At) -> int:
    """How often the sequence that wants a setting most still wants it: it is still to come at least so often."""
    return max([counts[state[place]] for place, counts in left.items()])


def _wanting(wanted: Sequences, state: _At) -> dict[int, list[int]]:
    """The settings that are wanted next, each with the places of the sequences that want it."""
    wanting: dict[int, list[int]] = {}
    for place, (sequence, at) in enumerate(zip(wanted, state, strict=True)):
        if at < len(sequence):
            wanting.setdefault(sequence[at], []).append(place)
    return wanting


def _advanced(state: _At, places: Sequence[int]) -> _At:
    after = list(state)
    for place in places:
        after[place] += 1
    return tuple(after)


def _path(step: _Step | None) -> tuple[int, ...]:
    order: list[int] = []
    while step is not None:
        order.append(step.setting)
        step = step.before
    return tuple(reversed(order))
