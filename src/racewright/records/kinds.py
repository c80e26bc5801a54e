"""The kinds of record, a row each: what everything reads that lists kinds. A kind of record more is a row more here."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import msgspec

from racewright.records.entry import Entry
from racewright.records.model import JobHead, JobRun
from racewright.records.parse import check_head, check_run
from racewright.records.person import Person, accuracy_of
from racewright.records.prices import PriceList, check_list
from racewright.records.tool import Tool, check_tool

Value = JobHead | JobRun | Entry | Tool | Person | PriceList


class Kind(msgspec.Struct, frozen=True, kw_only=True):
    """What is to be known of a kind of record. `holds`: what one of it says; `member`: under what name such stand in a
    job file. `most`: so many there may be of a job, or of the shop. `called`: one in words, with the field that tells
    it apart. `check`: what it must be beside its own form, with what gives the head of its job, and as it stands (None:
    it is new); raises InputError."""

    name: str
    holds: type[Value]
    member: str
    most: int
    called: str
    check: Callable[[Any, Callable[[], JobHead], Any], object] = lambda value, head, had: None
    #: Of the whole shop, and of no job.
    of_shop: bool = False
    #: Runs name it with a revision, and stay on it as it was: so all of its revisions, no more than this, are told.
    most_revisions: int = 0
    #: A device is told it, and may write it, unless somebody says otherwise: what things cost, and how well people
    #: work, stays at the desk.
    told: bool = True

    @property
    def pinned(self) -> bool:
        """Whether runs stay on it as it was at a revision."""
        return self.most_revisions > 0


#: In the order in which the records of one change are taken in.
_ALL = (
    Kind(
        name="job",
        holds=JobHead,
        member="head",
        most=1,
        called="the head of {name}",
        check=lambda head, _, had: check_head(head, had),
    ),
    Kind(
        name="run",
        holds=JobRun,
        member="runs",
        most=20_000,
        called="run {key}",
        check=lambda run, head, _: check_run(run, head(), f"run {run.key}"),
    ),
    Kind(name="entry", holds=Entry, member="entries", most=400_000, called="the entry"),
    Kind(
        name="tool",
        holds=Tool,
        member="tools",
        most=2_000,
        called="tool {name}",
        check=lambda tool, _, __: check_tool(tool),
        of_shop=True,
        most_revisions=1_000,
    ),
    Kind(
        name="person",
        holds=Person,
        member="people",
        most=1_000,
        called="person {name}",
        check=lambda person, _, __: accuracy_of(person),
        of_shop=True,
        told=False,
    ),
    Kind(
        name="prices",
        holds=PriceList,
        member="prices",
        most=2_000,
        called="the prices",
        check=lambda prices, _, had: check_list(prices, had),
        of_shop=True,
        told=False,
    ),
)
KINDS: dict[str, Kind] = {kind.name: kind for kind in _ALL}


def kind_of(value: Value) -> Kind:
    """The kind of the record that holds this value."""
    return next(kind for kind in KINDS.values() if kind.holds is type(value))


def called(value: Value) -> str:
    """A value in words, for messages."""
    return kind_of(value).called.format_map(msgspec.structs.asdict(value))
