"""What a person keeps, handed in with every question: an operation reads no file."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, NamedTuple

from racewright.tools.model import BenderProfile

if TYPE_CHECKING:
    from racewright.job.plan_job import Chunk, RunSummary

    Plans = Mapping[str, RunSummary]
    Workers = Callable[[Sequence[Chunk]], Iterable[tuple[RunSummary, ...]]]


class Known(NamedTuple):
    """`benders`: the person's own by name; it may be a mapping that reads its file when it is first looked into.
    `plans`: how the planning of runs went before, by the digest of all that it depends on. `workers`: plans units of
    work on more than one core; None: one after the other, here."""

    benders: Mapping[str, BenderProfile] = MappingProxyType({})
    plans: Plans = MappingProxyType({})
    workers: Workers | None = None


NOTHING_KNOWN = Known()
