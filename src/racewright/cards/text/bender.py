"""Benders as lines of text: the list, and one with what its numbers mean."""

from __future__ import annotations

from typing import TYPE_CHECKING

from racewright.tools.written import figures_written
from racewright.units.tape import MM_PER_INCH

if TYPE_CHECKING:
    from racewright.operations.bender import BenderAnswer, BendersAnswer, ShoeData
    from racewright.records.tool import Tool
    from racewright.units.tape import TapeUnit


def list_text(answer: BendersAnswer) -> str:
    """One line a bender."""
    lines = [f"{'name':<20} {'raceway':<10} {'radius':>9} {'take-up':>9} {'gain':>9}   standing"]
    for shoe in answer.benders:
        lengths = " ".join(
            f"{_figure(value, answer.unit):>9}" for value in (shoe.radius_mm, shoe.take_up_mm, shoe.gain_mm)
        )
        lines.append(f"{shoe.name:<20} {shoe.raceway:<10} {lengths}   {_standing(shoe)}")
    return "\n".join(lines)


def as_text(answer: BenderAnswer) -> str:
    """A bender's numbers with their meaning, what test bends gave above them, and where it is kept."""
    profile = answer.profile
    lines = _calibration(answer)
    lines.append(f"{profile.name}: {profile.raceway_type} {profile.trade_size}")
    lines += [f"  {f.label:<13} {_figure(f.mm, answer.unit):>10}   {f.meaning}" for f in answer.figures]
    rows = (("springback", answer.springback), ("source", profile.source), ("standing", profile.standing))
    lines += [f"  {label:<13} {text}" for label, text in rows if text]
    if answer.file:
        lines += ["", f"Kept in {answer.file}."]
    return "\n".join(lines)


def _standing(shoe: ShoeData) -> str:
    if shoe.problem:
        return f"own, with a problem: racewright bender show {shoe.name}"
    return "own" if shoe.own else "taught values"


def _calibration(answer: BenderAnswer) -> list[str]:
    found = answer.calibration
    if found is None:
        return []
    lines = ["Found from the test bends (with standard error):"]
    lines += [f"  {one.label:<13} {one.said:>10} ± {one.error}" for one in answer.found]
    lines += [f"  bend {r.bend} {r.what}: {_figure(r.off_mm, answer.unit)} off the fit" for r in found.residuals]
    return [*lines, *(f"  {verdict}" for verdict in answer.verdicts), ""]


def _figure(value_mm: float, unit: TapeUnit) -> str:
    """A number of a shoe, finer than a tape shows."""
    return f"{value_mm:.1f} mm" if unit == "mm" else f'{value_mm / float(MM_PER_INCH):.3f}"'


def figures_changed(new: Tool | None, before: Tool | None, unit: TapeUnit) -> list[str]:
    """What a revision of a tool says that the one before did not, a line each: 'bend radius 4.471 in, was 4-1/2 in'; of
    the first all of it in one. None: it was taken out."""
    if new is None:
        return []
    now = {"name": new.name, **dict(figures_written(new.profile, unit))}
    if before is None:
        return [", ".join(f"{name} {value}" for name, value in now.items())]
    was = {"name": before.name, **dict(figures_written(before.profile, unit))}
    names = [name for name in dict.fromkeys((*now, *was)) if now.get(name) != was.get(name)]
    old = {name: f"was {was[name]}" if name in was else "not given before" for name in names}
    return [f"{name} {now.get(name, 'no longer given')}, {old[name]}" for name in names]
