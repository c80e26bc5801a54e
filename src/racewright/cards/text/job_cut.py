"""The cut list as text: which piece from which stick, marks on the tape, settings of the saw's stop."""

from __future__ import annotations

from typing import TYPE_CHECKING

from racewright.takeoff.bill_model import RacewayCuts
from racewright.takeoff.cut_order import cut_order
from racewright.takeoff.cutting_model import CutPlan
from racewright.units.tape import TapeStyle, format_length, style_of

if TYPE_CHECKING:
    from racewright.operations.job_materials import JobCutAnswer


def job_cut_text(answer: JobCutAnswer) -> str:
    """Every raceway's list."""
    style = style_of(answer.units)
    lines = [line for one in answer.cuts for line in (*_cuts(one, style), "")]
    lines += [] if answer.cuts else ["nothing to cut"]
    return "\n".join([*lines, "Measure each stick before you cut it; marks count from the hooked end."])


def _cuts(one: RacewayCuts, style: TapeStyle) -> list[str]:
    order = cut_order(one.plan, style)
    pieces = sum(len(s.cuts) for s in order.sticks)
    lines = [
        f"{one.raceway}: {pieces} pieces, {cut_words(one.plan, style)}",
        f"  {leftover_words(one.plan, style)}",
        f"  saw cut {format_length(one.plan.rules.kerf_mm, style)}; length, then (mark from the hooked end)",
    ]
    for stick in order.sticks:
        source = f"offcut {stick.offcut}, {stick.source.text}" if stick.offcut else stick.source.text
        cuts = "  ".join(
            f"{c.label} {c.length.text} ({c.mark.text})" if c.cut else f"{c.label} {c.length.text} (to the end)"
            for c in stick.cuts
        )
        left = f"{stick.leftover.text} {'keep' if stick.kept else 'scrap'}" if stick.leftover else "nothing"
        lines.append(f"  stick {stick.number:<3} [{source}] {cuts}  left {left}")
    lines.append(f"  saw stop: {len(order.settings)} settings (stick by stick: {order.settings_one_by_one})")
    for number, stop in enumerate(order.settings, 1):
        takes = ", ".join(f"{s}" if n == 1 else f"{s} ({n} pieces)" for s, n in stop.takes)
        lines.append(f"    {number:<3} {stop.length.text:>10}  {stop.pieces} from stick {takes}")
    return lines


def cut_words(plan: CutPlan, style: TapeStyle) -> str:
    """'18 sticks; no plan can do with fewer', or how far from the best it is at most."""
    sticks = f"{plan.new_sticks} new stick{'' if plan.new_sticks == 1 else 's'}"
    if plan.new_sticks == 0:
        return "no new stick: what is on hand is enough" if plan.sticks else "nothing to cut"
    if plan.rules.least == "length":
        bought = f"{sticks}, {_long(plan.new_length_mm, style)} bought"
        if plan.proved:
            return f"{bought}; no plan can do with less"
        return f"{bought}; at most {_long(plan.new_length_mm - plan.least_length_mm, style)} from the best"
    if plan.proved:
        return f"{sticks}; no plan can do with fewer"
    return f"{sticks}; at most {plan.gap_sticks} from the best"


def leftover_words(plan: CutPlan, style: TapeStyle) -> str:
    """What is left over, in words."""
    kept = ", ".join(format_length(r, style) for r in plan.kept_mm) or "nothing"
    untouched = f"; untouched on hand: {len(plan.unused_offcuts)}" if plan.unused_offcuts else ""
    return f"kept: {kept}{untouched}; scrap {_long(plan.scrap_mm, style)}, saw cuts {_long(plan.kerf_total_mm, style)}"


def _long(value_mm: float, style: TapeStyle) -> str:
    return f"{value_mm / 304.8:.1f} ft" if style.unit == "in" else f"{value_mm / 1000.0:.2f} m"
