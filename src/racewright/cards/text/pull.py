"""A wire pull in words: the bundle and its limits, both ways round part by part, the friction that it bears."""

from __future__ import annotations

from typing import TYPE_CHECKING

from racewright.codebook.edition import Edition, load_edition
from racewright.units.factors import LBF_N, LBF_PER_FT, MM_PER_FOOT
from racewright.units.said import said_force, said_in, said_press
from racewright.units.tape import MM_PER_INCH, TapeStyle
from racewright.wires.wire_fill import OVAL_BORE

if TYPE_CHECKING:
    from racewright.operations.pull import PullAnswer
    from racewright.wires.pulling import Pull, Pulled, PullSettings


def pull_text(answer: PullAnswer) -> str:
    """In ft and lb, or in m and N where the path is written so."""
    metric = answer.unit == "mm"
    with said_in(TapeStyle("mm", 1) if metric else TapeStyle()):
        lines = [f"{answer.raceway}: {', '.join(answer.wires)}, {answer.metal}"]
        lines += _bundle(answer.pulls[0].wires, answer.settings, load_edition(answer.edition), metric=metric)
        if not metric:
            lines.append("In the path a bare number of a straight is read as feet, of a radius as inches.")
        for number, pair in enumerate(answer.pulls, 1):
            if len(answer.pulls) > 1:
                ends = f"{_far(pair.start_mm, metric=metric)} to {_far(pair.end_mm, metric=metric)}"
                lines += ["", f"Pull {number}, {ends} from end A"]
            for pull in (pair.fed_at_a, pair.fed_at_b):
                lines += ["", f"Feed at {pull.feed}, pull from {pull.pulled_from}", *_steps(pull, metric=metric)]
    lines += ["", _friction(answer.greatest_friction)]
    if answer.from_memory:
        recalled = "; ".join(answer.from_memory)
        lines.append(f"note: from memory, not read in print: {recalled}. The wire maker's figures are better.")
    return "\n".join(lines)


def _friction(bears: float) -> str:
    if bears <= 0.0:
        return "It passes a limit whatever the friction."
    if bears >= 2.0:
        return "It stays within both limits whatever the friction (up to 2), fed at the better end."
    return f"Fed at the better end it stays within both limits up to a friction of {bears:.2f}."


def _bundle(pulled: Pulled, settings: PullSettings, book: Edition, *, metric: bool) -> list[str]:
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
    return lines


def _steps(pull: Pull, *, metric: bool) -> list[str]:
    force, unit = (1.0, "N") if metric else (LBF_N, "lb")
    lines = [f"  {'part':<26}{'slope':>7}{f'in, {unit}':>9}{f'out, {unit}':>9}{'sidewall':>12}"]
    for step in pull.steps:
        if step.kind == "bend":
            inches = step.radius_mm / float(MM_PER_INCH)
            radius = f"{step.radius_mm:.4g} mm" if metric else f"{inches:.4g} in"
            what, press = f"bend {step.angle_deg:.4g} r {radius}", said_press(step.sidewall_n_per_mm)
        else:
            what, press = f"straight {_far(step.length_mm, metric=metric)}", ""
        lines.append(
            f"  {what:<26}{step.slope_deg + 0.0:>6.0f}°{step.tension_in_n / force:>9.1f}"
            f"{step.tension_out_n / force:>9.1f}{press:>12}" + ("  hold back" if step.slack else "")
        )
    return lines


def _far(length_mm: float, *, metric: bool) -> str:
    return f"{length_mm / 1000.0:.4g} m" if metric else f"{length_mm / MM_PER_FOOT:.4g} ft"
