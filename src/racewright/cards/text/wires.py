"""Answers on wires, boxes and pulls in words: what is said first, and the steps below it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from racewright.units.factors import LBF_N, LBF_PER_FT, MM_PER_FOOT
from racewright.units.said import said_force, said_press
from racewright.units.tape import MM_PER_INCH
from racewright.wires.wire_fill import OVAL_BORE

if TYPE_CHECKING:
    from racewright.codebook.edition import Edition
    from racewright.operations.pull import PullAnswer
    from racewright.operations.wires_common import CodeAnswer
    from racewright.wires.ampacity import Ampacity
    from racewright.wires.box_fill import BoxNeed, TabledBox
    from racewright.wires.protection import GroundSize
    from racewright.wires.pull_box import PullBox
    from racewright.wires.pulling import Pull, PullComparison, Pulled, PullSettings
    from racewright.wires.voltage_drop import DropSize, VoltageDrop
    from racewright.wires.wire_fill import Fill, FillSize, MoreFit


def wires_text(answer: CodeAnswer) -> str:
    """The answer, every step with its article, and what of it is from memory."""
    lines = [answer.headline, ""]
    lines += [f"{number:3}. {step.text}  [{step.citation}]" for number, step in enumerate(answer.steps, start=1)]
    if answer.from_memory:
        recalled = "; ".join(answer.from_memory)
        lines += ["", f"note: from memory, not read in print: {recalled}. Check it in the book."]
    return "\n".join(lines)


def size_words(found: FillSize) -> str:
    """'EMT 1/2 (38.15 percent of 40 filled, ...)'."""
    return f"{found.fill.raceway} ({_filled(found.fill)})"


def fit_words(raceway: str, fill: Fill | None, more: MoreFit | None) -> str:
    """'EMT 3/4: fits (...); EMT 3/4: 13 more x 12 THHN go in'."""
    said = [f"{raceway}: {'fits' if fill.fits else 'does not fit'} ({_filled(fill)})"] if fill else []
    if more:
        note = f" ({more.note})" if more.note else ""
        said.append(f"{raceway}: {more.more} {'more ' if fill else ''}x {more.wire} go in{note}")
    return "; ".join(said)


def ampacity_words(found: Ampacity) -> str:
    """'12 THHN copper: 24 A, overcurrent device at most 20 A'."""
    guard = found.protection
    words = f"{found.wire}: {found.usable_a:.4g} A, overcurrent device at most {guard.largest_a:g} A"
    if guard.receptacles_a == guard.largest_a:
        return words
    other = "no standard device" if guard.receptacles_a is None else f"{guard.receptacles_a:g} A"
    several = "a branch circuit with several receptacles"
    return f"{words} ({other} for {'a tap or a transformer secondary' if guard.above_receptacles else several})"


def drop_words(found: VoltageDrop, one_way: str) -> str:
    """'8 copper: 3.11 V lost (2.59 percent), 116.9 V at the load, 100 ft one way (dc resistance); by K: ...'."""
    words = (
        f"{found.size} {found.metal}: {found.drop_v:.2f} V lost ({found.percent:.2f} percent), "
        f"{found.load_v:.1f} V at the load{one_way} ({found.basis})"
    )
    by_k = f"; by K: {found.k_drop_v:.2f} V ({found.k_percent:.2f} percent)"
    return words if found.power_factor is not None else words + by_k


def sized_words(sized: DropSize, current_a: float, one_way: str) -> str:
    """Both least sizes and the one to take: the drop's alone may not carry the current (`current_a`, of one set)."""
    drop, carrying, take = sized.drop, sized.carrying, sized.take
    by_k = f"; by K: {sized.k_size} ({sized.needed_circular_mils:.0f} circular mils)" if not drop.power_factor else ""
    lines = [
        f"Take {take.size} {take.metal}: {take.drop_v:.2f} V lost{one_way} ({take.percent:.2f} percent; {take.basis})"
        if carrying
        else f"No size of the table carries {current_a:g} A: use more parallel sets",
        f"least for the drop: {drop.size} keeps {sized.limit_percent:g} percent, {drop.drop_v:.2f} V lost "
        f"({drop.percent:.2f} percent){by_k}",
    ]
    if carrying:
        lines.append(
            f"least for the current: {carrying.size} carries {carrying.ampacity_a:g} A ({carrying.column_c} C column, "
            "three conductors, 30 C); more wires or heat need the ampacity worked out"
        )
    return "\n".join(lines)


def ground_words(found: GroundSize) -> str:
    """'10 copper equipment grounding conductor'."""
    return f"{found.size} {found.metal} equipment grounding conductor"


def box_words(need: BoxNeed, name: str, volume_in3: float | None, enough: bool, holding: Sequence[TabledBox]) -> str:
    """The room needed, whether the box that was asked about has it, and the smallest that do."""
    words = f"{need.needed_in3:g} in3 ({need.needed_cm3:.0f} cm3) are needed"
    if volume_in3 is not None:
        verdict = "enough" if enough else "too small"
        has = f"{name} has {volume_in3:g} in3:" if name else f"{volume_in3:g} in3 is"
        words += f"; {has} {verdict}"
    names = ", ".join(f"{box.name} ({box.volume_in3:g})" for box in holding[:4]) or "none of the table"
    return f"{words}\nBoxes with room, smallest first: {names}"


def pull_box_words(need: PullBox) -> str:
    """'inside at least 18 in wide (left to right) and 21 in high (top to bottom)', and what lies between entries."""
    sides = [(need.width_in, "wide (left to right)"), (need.height_in, "high (top to bottom)")]
    least = " and ".join(f"{value:g} in {what}" for value, what in sides if value)
    lines = [f"inside at least {least}" if least else "no width or height is set by the rule"]
    lines += [f"at least {gap.least_mm / float(MM_PER_INCH):g} in between {gap.between}" for gap in need.spacings]
    return "\n".join(lines)


def _filled(fill: Fill) -> str:
    return (
        f"{fill.percent:.2f} percent of {fill.limit_percent:g} filled, {fill.wires_area_in2:.4f} of "
        f"{fill.allowed_area_in2:.3f} in2, {fill.wires_area_mm2:.0f} of {fill.allowed_area_mm2:.0f} mm2"
    )


def pull_text(answer: PullAnswer) -> str:
    """In ft and lb, or in m and N where the path is written so."""
    lines = [f"{answer.raceway}: {', '.join(answer.wires)}, {answer.metal}", *answer.facts]
    for pull in answer.told:
        if pull.title:
            lines += ["", pull.title]
        for way in pull.ways:
            rows = [f"  {a:<26}{b:>7}{c:>9}{d:>9}{e:>12}  {f}".rstrip() for a, b, c, d, e, f in (way.head, *way.rows)]
            lines += ["", way.title, *rows]
    lines += ["", answer.bears]
    if answer.from_memory:
        recalled = "; ".join(answer.from_memory)
        lines.append(f"note: from memory, not read in print: {recalled}. The wire maker's figures are better.")
    return "\n".join(lines)


def friction_words(bears: float) -> str:
    """Up to which friction a pull stays within its limits."""
    if bears <= 0.0:
        return "It passes a limit whatever the friction."
    if bears >= 2.0:
        return "It stays within both limits whatever the friction (up to 2), fed at the better end."
    return f"Fed at the better end it stays within both limits up to a friction of {bears:.2f}."


def pull_facts(pulled: Pulled, settings: PullSettings, book: Edition, *, metric: bool) -> tuple[str, ...]:
    """What is pulled and what it may bear; how a bare number of the path was read. In the unit that is said."""
    weight = pulled.weight_n_per_mm
    lines = [
        f"Weight {f'{weight * 1000.0:.2f} N/m' if metric else f'{weight / LBF_PER_FT:.2f} lb/ft'} "
        f"(worked, not a maker's), lying {pulled.bundle}, "
        f"weight correction {pulled.correction:.2f}, friction {settings.friction:g}. "
        f"Limits: {said_force(pulled.limit_n)} ({pulled.limit_reason}), {said_press(settings.sidewall_limit)} in bends."
    ]
    if pulled.jam_ratio is not None:
        lines.append(
            f"Bore over wire {pulled.jam_ratio:.2f} ({OVAL_BORE * pulled.jam_ratio:.2f} in a bend 5 % out of round); "
            f"three wires can jam from {float(book.limit('jam_low')):g} to {float(book.limit('jam_high')):g}."
        )
    if not metric:
        lines.append("In the path a bare number of a straight is read as feet, of a radius as inches.")
    return tuple(lines)


def pull_title(number: int, pair: PullComparison, *, metric: bool) -> str:
    """'Pull 1, 0 ft to 90 ft from end A'."""
    return f"Pull {number}, {_far(pair.start_mm, metric=metric)} to {_far(pair.end_mm, metric=metric)} from end A"


def pull_head(*, metric: bool) -> tuple[str, ...]:
    """The heads of a pull's parts."""
    unit = "N" if metric else "lb"
    return ("part", "slope", f"in, {unit}", f"out, {unit}", "sidewall", "")


def pull_rows(pull: Pull, *, metric: bool) -> tuple[tuple[str, ...], ...]:
    """A pull part by part: what it is, its slope, tension in and out, sidewall pressure, and where to hold back."""
    force = 1.0 if metric else LBF_N
    rows = []
    for step in pull.steps:
        if step.kind == "bend":
            inches = step.radius_mm / float(MM_PER_INCH)
            radius = f"{step.radius_mm:.4g} mm" if metric else f"{inches:.4g} in"
            what, press = f"bend {step.angle_deg:.4g} r {radius}", said_press(step.sidewall_n_per_mm)
        else:
            what, press = f"straight {_far(step.length_mm, metric=metric)}", ""
        tensions = (f"{step.tension_in_n / force:.1f}", f"{step.tension_out_n / force:.1f}")
        rows.append((what, f"{step.slope_deg + 0.0:.0f}°", *tensions, press, "hold back" if step.slack else ""))
    return tuple(rows)


def _far(length_mm: float, *, metric: bool) -> str:
    return f"{length_mm / 1000.0:.4g} m" if metric else f"{length_mm / MM_PER_FOOT:.4g} ft"
