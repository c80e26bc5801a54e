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
    left = [_left_of(sequence) for sequence in wanted]
    ends = tuple(len(sequence) for sequence in wanted)
    states: dict[_At, _Step | None] = {(0,) * len(wanted): None}
    least, cut_short, looked_at, count = _still(left, (0,) * len(wanted)), False, 0, 0
    while ends not in states:
        if looked_at >= SETTINGS:
            cut_short = True
            states = {ends: _greedily(wanted, *next(iter(states.items())))}
            break
        found: dict[_At, _Step | None] = {}
        for state, step in states.items():
            for setting in sorted({s[at] for s, at in zip(wanted, state, strict=True) if at < len(s)}):
                found.setdefault(_advanced(wanted, state, setting), _Step(setting, step))
                looked_at += len(wanted)
        count += 1
        room = max(1, min(SETTINGS_STATES, (SETTINGS - looked_at) // (len(wanted) * max(1, least - count))))
        if len(found) > room:
            cut_short = True
            # the least that is still to come, then the most that is done; at last their places
            best = sorted(found, key=lambda state: (_still(left, state), -sum(state), state))[:room]
            found = {state: found[state] for state in best}
        states = found
    order = _path(states[ends])
    if not cut_short:
        return Settings(order, len(order))
    return Settings(min(order, _path(_greedily(wanted, (0,) * len(wanted), None)), key=len), least)


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
        weight: dict[int, int] = {}
        for sequence, at in zip(wanted, state, strict=True):
            if at < len(sequence):
                weight[sequence[at]] = weight.get(sequence[at], 0) + len(sequence) - at
        if not weight:
            return step
        setting = min(weight, key=lambda one: (-weight[one], one))
        state, step = _advanced(wanted, state, setting), _Step(setting, step)


def _is_in(one: tuple[int, ...], other: tuple[int, ...]) -> bool:
    """Whether `other` has all of `one`, in order."""
    rest = iter(other)
    return all(setting in rest for setting in one)


def _left_of(sequence: tuple[int, ...]) -> list[dict[int, int]]:
    """How often each setting is still wanted from each place of a sequence on."""
    counts: list[dict[int, int]] = [{}]
    for setting in reversed(sequence):
        counts.append({**counts[-1], setting: counts[-1].get(setting, 0) + 1})
    return counts[::-1]


def _still(left: Sequence[Sequence[dict[int, int]]], state: _At) -> int:
    """What is still to come at least: each setting as often as the sequence that wants it most."""
    most: dict[int, int] = {}
    for counts, at in zip(left, state, strict=True):
        for setting, count in counts[at].items():
            if count > most.get(setting, 0):
                most[setting] = count
    return sum(most.values())


def _advanced(wanted: Sequences, state: _At, setting: int) -> _At:
    return tuple(at + (at < len(s) and s[at] == setting) for s, at in zip(wanted, state, strict=True))


def _path(step: _Step | None) -> tuple[int, ...]:
    order: list[int] = []
    while step is not None:
        order.append(step.setting)
        step = step.before
    return tuple(reversed(order))
