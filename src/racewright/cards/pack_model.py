"""What the hand-over pack is made from. It knows runs, plans, bills and cut lists; no job file, no store."""

from __future__ import annotations

import msgspec

from racewright.drawing.scene import Box, Scene
from racewright.errors import Finding
from racewright.plan.model import Plan
from racewright.takeoff.bill_model import JobBill, RacewayCuts
from racewright.units.tape import TapeStyle


class PackRun(msgspec.Struct, frozen=True, kw_only=True):
    """One run. `key` is its short name; `status` in words; `trouble` says why there is no plan.

    `wires`, `as_built`, `notes` are lines of words: what is pulled in, what was measured or corrected on the bent
    pieces, and what somebody wrote down. `findings`: the plan's and any other check's.
    """

    key: str
    name: str
    raceway: str
    area: str = ""
    status: str = ""
    plan: Plan | None = None
    trouble: str = ""
    findings: tuple[Finding, ...] = ()
    wires: tuple[str, ...] = ()
    as_built: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def short_name(self) -> str:
        """The name without the area that it begins with: under the area's heading it need not be said again."""
        head, comma, rest = self.name.partition(", ")
        return rest if comma and self.area and head.casefold() == self.area.casefold() else self.name


class Pack(msgspec.Struct, frozen=True, kw_only=True):
    """All of it. `made_on` (a date) and `made_by` are printed as they are; '' leaves room to write them in.

    `statuses`: the words of all statuses in their order; else in the order in which runs have them."""

    title: str
    runs: tuple[PackRun, ...]
    tape: TapeStyle
    made_on: str = ""
    made_by: str = ""
    note: str = ""
    statuses: tuple[str, ...] = ()
    bill: JobBill | None = None
    cuts: tuple[RacewayCuts, ...] = ()

    @property
    def areas(self) -> tuple[str, ...]:
        """The areas in the order in which runs name them."""
        return tuple(dict.fromkeys(run.area for run in self.runs))

    @property
    def in_order(self) -> tuple[PackRun, ...]:
        """The runs as the pack lists them: area by area."""
        return tuple(run for area in self.areas for run in self.runs if run.area == area)


class Entry(msgspec.Struct, frozen=True, kw_only=True):
    """A place in the pack: its heading, the page it begins on (from 1), and whether it stands below another."""

    title: str
    page: int
    level: int = 0


class Link(msgspec.Struct, frozen=True, kw_only=True):
    """A place on page `page` (from 1) that leads to page `target` (from 1)."""

    page: int
    box: Box
    target: int


class PackDocument(msgspec.Struct, frozen=True, kw_only=True):
    """The finished pack: its pages, its outline and its links. `first_pages`: run's key -> page its card begins on."""

    scene: Scene
    outline: tuple[Entry, ...]
    links: tuple[Link, ...]
    first_pages: dict[str, int]
