"""`pull`: tension and sidewall pressure of one pull, told in words, without a file."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from racewright.cautions import DEAD, DECIDES, PULLING

if TYPE_CHECKING:
    from racewright.errors import Finding
    from racewright.units.tape import TapeStyle
    from racewright.wires.pull_wires import Pulled
    from racewright.wires.pulling import Pull, PullComparison, PullSettings

HELP = "how hard one wire pull is, both ways round, and which end to feed from"
CAUTIONS = (
    "An estimate for planning. The wire maker's figures come first; watch the tension while pulling.",
    "Friction decides: a lubricant's maker gives its own figure, a dry or dirty raceway is worse.",
    *PULLING,
    DEAD,
    DECIDES,
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's options."""
    parser.add_argument("--raceway", required=True, help="raceway type: EMT, IMC, RMC, PVC-40, PVC-80")
    parser.add_argument("--size", required=True, help="trade size: 1/2, 3/4, 1, 1-1/4 ...")
    parser.add_argument("--wires", required=True, help="what is pulled: '3 x 4/0 XHHW, 1 x 4 THHN'")
    parser.add_argument(
        "--path",
        required=True,
        help="the run from end A: 'straight 200, bend 90 r 24, straight 30 up' (feet; radii in inches)",
    )
    parser.add_argument("--friction", type=float, default=0.5, help="coefficient of friction (0.5: dry)")
    parser.add_argument("--metal", default="copper", help="copper or aluminum")
    parser.add_argument("--sidewall-limit", type=float, help="the wire maker's limit in lb/ft (300 where not given)")
    parser.add_argument("--feed-tension", type=float, default=0.0, help="drag of the reel in lb")
    parser.add_argument("--grip", action="store_true", help="one basket grip instead of a pulling eye")
    parser.add_argument("--capstan", action="store_true", help="leave the weight out of the bends (plain capstan rule)")
    parser.add_argument("--json", action="store_true", help="print the result as JSON (N, mm, N/mm)")
    parser.add_argument("--edition", default="NFPA 70-2023", help="edition of the wiring code")


def run(args: argparse.Namespace) -> int:
    """Prints the pull, in feet and lb, or in m and N where the path is written so; 1 where a limit is passed."""
    from racewright.units.length import is_metric
    from racewright.units.said import said_in
    from racewright.units.tape import TapeStyle

    tape = TapeStyle("mm", 1) if is_metric(args.path) else TapeStyle()
    with said_in(tape):
        return _pull(args, tape)


def _pull(args: argparse.Namespace, tape: TapeStyle) -> int:
    from racewright.catalogue.raceways import find_raceway
    from racewright.codebook.edition import load_edition, metal_name
    from racewright.errors import InputError
    from racewright.inspection.check_run import pull_findings
    from racewright.units.factors import LBF_N, LBF_PER_FT
    from racewright.wires.conductors import parse_groups
    from racewright.wires.pull_path import parse_path
    from racewright.wires.pull_wires import pull_wires
    from racewright.wires.pulling import PullSettings, compare_pulls, greatest_friction

    metric = tape.unit == "mm"
    for name, value, least, most, unit in (
        ("friction", args.friction, 0.0, 2.0, ""),
        ("sidewall-limit", args.sidewall_limit, 1.0, 1e6, " lb/ft"),
        ("feed-tension", args.feed_tension, 0.0, 1e6, " lb"),
    ):
        if value is not None and not least <= value <= most:
            raise InputError(
                f"--{name} is {value:g}{unit}; it must lie from {least:g} to {most:g}{unit}.",
                hint="0.5 is usual for dry wire; a lubricant's maker gives less" if name == "friction" else "",
                field=f"--{name}",
            )
    edition = load_edition(args.edition)
    raceway = find_raceway(args.raceway, args.size)
    metal = metal_name(args.metal)
    groups = parse_groups([part for part in args.wires.split(",") if part.strip()], edition)
    limit = args.sidewall_limit
    settings = PullSettings(
        friction=args.friction,
        sidewall_limit_n_per_mm=None if limit is None else limit * LBF_PER_FT,
        feed_tension_n=args.feed_tension * LBF_N,
        basket_grip=args.grip,
        weight_in_bends=not args.capstan,
    )
    shape, wires = parse_path(args.path, raceway), pull_wires(groups, edition, metal)
    pairs = compare_pulls(shape, wires, settings)
    if args.json:
        return _print_json(pairs, settings, tape)
    print(f"{raceway.name}: {', '.join(group.label for group in groups)}, {metal}")
    print(_bundle_line(pairs[0].wires, settings, metric=metric))
    if not metric:
        print("In the path a bare number of a straight is read as feet, of a radius as inches.")
    findings: list[Finding] = []
    for number, pair in enumerate(pairs, 1):
        if len(pairs) > 1:
            ends = f"{_far(pair.start_mm, metric=metric)} to {_far(pair.end_mm, metric=metric)}"
            print(f"\nPull {number}, {ends} from end A")
        _print_pair(pair, metric=metric)
        findings += pull_findings(pair, settings, several=len(pairs) > 1, tape=tape)
    print("\n" + _friction_line(greatest_friction(shape, wires, settings)))
    for finding in findings:
        print(f"{finding.severity}: {finding.message} [{finding.rule}; {finding.citation}]")
    print()
    recalled = pairs[0].wires.from_memory
    if recalled:
        print(f"note: from memory, not read in print: {'; '.join(recalled)}. The wire maker's figures are better.")
    for caution in CAUTIONS:
        print(f"note: {caution}")
    return 1 if any(finding.severity == "problem" for finding in findings) else 0


def _print_json(pairs: tuple[PullComparison, ...], settings: PullSettings, tape: TapeStyle) -> int:
    import json

    import msgspec

    from racewright.inspection.check_run import pull_findings

    findings = [f for pair in pairs for f in pull_findings(pair, settings, several=len(pairs) > 1, tape=tape)]
    print(json.dumps(msgspec.to_builtins({"pulls": pairs, "findings": findings, "cautions": CAUTIONS}), indent=2))
    return 1 if any(finding.severity == "problem" for finding in findings) else 0


def _friction_line(bears: float) -> str:
    if bears <= 0.0:
        return "It passes a limit whatever the friction."
    if bears >= 2.0:
        return "It stays within both limits whatever the friction (up to 2), fed at the better end."
    return f"Fed at the better end it stays within both limits up to a friction of {bears:.2f}."


def _bundle_line(pulled: Pulled, settings: PullSettings, *, metric: bool) -> str:
    from racewright.units.factors import LBF_PER_FT
    from racewright.units.said import said_force, said_press

    weight = pulled.weight_n_per_mm
    line = (
        f"Weight {f'{weight * 1000.0:.2f} N/m' if metric else f'{weight / LBF_PER_FT:.2f} lb/ft'} "
        f"(worked, not a maker's), lying {pulled.bundle}, "
        f"weight correction {pulled.correction:.2f}, friction {settings.friction:g}. "
        f"Limits: {said_force(pulled.limit_n)} ({pulled.limit_reason}), {said_press(settings.sidewall_limit)} in bends."
    )
    if pulled.jam_ratio is not None:
        line += (
            f"\nBore over wire {pulled.jam_ratio:.2f} ({1.05 * pulled.jam_ratio:.2f} in a bend 5 % out of round); "
            "three wires can jam from 2.8 to 3.2."
        )
    return line


def _print_pair(pair: PullComparison, *, metric: bool) -> None:
    for pull in (pair.fed_at_a, pair.fed_at_b):
        print(f"\nFeed at {pull.feed}, pull from {pull.pulled_from}")
        _print_steps(pull, metric=metric)


def _print_steps(pull: Pull, *, metric: bool) -> None:
    from racewright.units.factors import LBF_N
    from racewright.units.said import said_press

    force, unit = (1.0, "N") if metric else (LBF_N, "lb")
    print(f"  {'part':<26}{'slope':>7}{f'in, {unit}':>9}{f'out, {unit}':>9}{'sidewall':>12}")
    for step in pull.steps:
        if step.kind == "bend":
            radius = f"{step.radius_mm:.4g} mm" if metric else f"{step.radius_mm / 25.4:.4g} in"
            what, press = f"bend {step.angle_deg:.4g} r {radius}", said_press(step.sidewall_n_per_mm)
        else:
            what, press = f"straight {_far(step.length_mm, metric=metric)}", ""
        print(
            f"  {what:<26}{step.slope_deg + 0.0:>6.0f}°{step.tension_in_n / force:>9.1f}"
            f"{step.tension_out_n / force:>9.1f}{press:>12}" + ("  hold back" if step.slack else "")
        )


def _far(length_mm: float, *, metric: bool) -> str:
    return f"{length_mm / 1000.0:.4g} m" if metric else f"{length_mm / 304.8:.4g} ft"
