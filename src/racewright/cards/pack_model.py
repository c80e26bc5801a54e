"""What the hand-over pack is made from: the records of a job (and these in words), its plans, its bill; and what
comes of it."""

from __future__ import annotations

from math import degrees

import msgspec

from racewright.drawing.scene import Box, Scene
from racewright.fit.measured import BACK, ApexRise, BendAngle, LegLean, Measured
from racewright.job.materials import job_tape
from racewright.job.plan_job import PlannedRun
from racewright.records.model import JobHead, JobRun, MoveMade, TweakMade
from racewright.sequence.words import clock_words, mark_names
from racewright.takeoff.bill_model import JobBill, RacewayCuts
from racewright.units.tape import TapeStyle, format_length, style_of


class Pack(msgspec.Struct, frozen=True, kw_only=True):
    """All of it. `made_on` (a date) and `made_by` are printed as they are; '' leaves room to write them in. `bill`:
    None where no run has a plan."""

    head: JobHead
    runs: tuple[PlannedRun, ...]
    made_on: str = ""
    made_by: str = ""
    bill: JobBill | None = None

    @property
    def title(self) -> str:
        """The job's name."""
        return self.head.name

    @property
    def tape(self) -> TapeStyle:
        """How lengths of the whole job read."""
        return job_tape(self.head)

    @property
    def cuts(self) -> tuple[RacewayCuts, ...]:
        """The cut lists that the bill counts by."""
        return self.bill.cuts if self.bill else ()

    @property
    def areas(self) -> tuple[str, ...]:
        """The areas in the order in which runs name them."""
        return tuple(dict.fromkeys(run.area for run in self.runs))

    @property
    def in_order(self) -> tuple[PlannedRun, ...]:
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


def short_name(name: str, area: str) -> str:
    """The name without the area that it begins with: under the area's heading it need not be said again."""
    head, comma, rest = name.partition(", ")
    return rest if comma and area and head.casefold() == area.casefold() else name


def wire_lines(run: JobRun) -> tuple[str, ...]:
    """What is pulled into the run, in words; the survey's wires where the run names none of its own."""
    if run.wires:
        return tuple(
            " ".join(part for part in (f"{w.count} × {w.size}", w.insulation, w.material, w.colour) if part)
            for w in run.wires
        )
    return tuple(str(wire) for wire in run.survey.run.wires)


def as_built_lines(run: JobRun) -> tuple[str, ...]:
    """What was measured on bent pieces and what was corrected, in words."""
    style = style_of(run.survey.units, run.survey.fraction)
    lines = []
    for seen in run.as_bent:
        words = "; ".join(_measured(measured, style) for measured in seen.measured)
        lines.append(_signed(f"piece {seen.piece}: {words}".removesuffix(": "), seen.note, seen.by, seen.at))
    for tweak in run.tweaks:
        lines.append(_signed(f"piece {tweak.piece}, corrected: {_moves(tweak)}", tweak.note, tweak.by, tweak.at))
    return tuple(lines)


def _moves(tweak: TweakMade) -> str:
    return ", ".join(_move(move) for move in tweak.moves)


def _move(move: MoveMade) -> str:
    name, size = mark_names([move.number]), f"{degrees(abs(move.by_rad)):.3g}°"
    if move.kind == "angle":
        return f"{name} opened {size}" if move.by_rad < 0.0 else f"{name} bent another {size}"
    what = "rotated in its fitting" if move.kind == "spin" else f"twisted at {name}"
    return f"{what} {size} {clock_words(move.by_rad)}"


def _measured(measured: Measured, style: TapeStyle) -> str:
    if isinstance(measured, BendAngle):
        return f"{mark_names([measured.number])} has {degrees(measured.angle_rad):.4g}°"
    if isinstance(measured, ApexRise):
        return f"rise under {mark_names([measured.number])} {format_length(measured.rise_mm, style)}"
    if isinstance(measured, LegLean):
        way = BACK[measured.way] if measured.lean_rad < 0.0 else measured.way
        return f"last leg leans {way} {degrees(abs(measured.lean_rad)):.3g}°"
    place = "end B" if measured.station_mm is None else f"{format_length(measured.station_mm, style)} from end A"
    way = BACK[measured.way] if measured.off_mm < 0.0 else measured.way
    return f"off {way} by {format_length(abs(measured.off_mm), style)} at {place}"


def _signed(text: str, note: str, by: str, at: str) -> str:
    who = " ".join(part for part in (by, at) if part)
    return "; ".join(part for part in (text, note) if part) + (f" ({who})" if who else "")
