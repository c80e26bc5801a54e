"""`racewright wires`: fill, ampacity, voltage drop, grounding conductor, box fill and pull boxes without a file."""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from racewright.cautions import DEAD, DECIDES
from racewright.cli.figures import whole

if TYPE_CHECKING:
    from racewright.codebook.edition import Edition, RuleStep
    from racewright.errors import Finding
    from racewright.wires.voltage_drop import DropSize

HELP = "size a raceway, a wire or a box: fill, ampacity, drop, ground, box, pullbox"

CAUTIONS = (DEAD, DECIDES)
_METALS = ("copper", "aluminum")
Answer = tuple[str, Any, "Sequence[RuleStep]", "Sequence[Finding]"]


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `racewright wires`: one sub-command a question."""
    parts = parser.add_subparsers(dest="question", required=True, metavar="QUESTION")
    _fill_arguments(parts)
    _current_arguments(parts)
    _box_arguments(parts)
    for part in parts.choices.values():
        part.add_argument("--edition", default="NFPA 70-2023", help="edition of the code (default: %(default)s)")
        part.add_argument("--json", action="store_true", help="print the result as JSON")


def run(args: argparse.Namespace) -> int:
    """Answers one question; 1 where a finding is a problem, else 0."""
    from racewright.codebook.edition import load_edition

    edition = load_edition(args.edition)
    answer, result, steps, findings = _QUESTIONS[args.question](args, edition)
    if args.json:
        _print_json(args.question, edition.name, answer, result, steps, findings)
    else:
        _print_text(answer, steps, findings)
    return 1 if any(finding.severity == "problem" for finding in findings) else 0


def _fill_arguments(parts: Any) -> None:
    size = parts.add_parser("size", help="smallest trade size for a set of wires")
    fit = parts.add_parser("fit", help="does a set of wires fit a raceway, and how many more")
    fit.add_argument("--trade-size", required=True, help="trade size, such as 3/4")
    fit.add_argument("--more", metavar="WIRE", help="also say how many further wires of this kind go in: '12 THHN'")
    for part, needed in ((size, "+"), (fit, "*")):
        part.add_argument("wires", nargs=needed, metavar="WIRES", help="'3 x 8 THHN', '1 x 10 bare', 'cable 0.46 in'")
        part.add_argument("--raceway", required=True, help="EMT, IMC, RMC, PVC-40 or PVC-80")
        part.add_argument("--nipple", metavar="LENGTH", help="a nipple between boxes of this length, at most 24 in")


def _current_arguments(parts: Any) -> None:
    ampacity = parts.add_parser("ampacity", help="how much current a wire may carry in a raceway")
    ampacity.add_argument("wire", help="size and insulation, '12 THHN'")
    ampacity.add_argument("--metal", default="copper", help="copper or aluminum (default: %(default)s)")
    ampacity.add_argument("--ambient-c", type=float, default=30.0, help="degrees C around it (default: %(default)g)")
    ampacity.add_argument("--ambient-f", type=float, help="degrees F around it, instead of C")
    count = ampacity.add_mutually_exclusive_group()
    count.add_argument(
        "--carrying", type=whole("--carrying", 1, 10000), help="current-carrying conductors in it (default: 3)"
    )
    count.add_argument("--circuit", action="append", help="circuits in the raceway, '2 x 2-wire'; may be repeated")
    ampacity.add_argument(
        "--terminals", type=whole("--terminals", 1, 200), help="marked temperature of the terminals: 60 or 75"
    )
    ampacity.add_argument("--wet", action="store_true", help="wet place")
    ampacity.add_argument("--nipple", metavar="LENGTH", help="a nipple of this length, at most 24 in")
    ampacity.add_argument("--load", type=float, help="current to check against, in A")
    ampacity.add_argument(
        "--device", type=float, help="rating of the circuit's overcurrent device in A: checked; over 100 A: 75 C column"
    )

    drop = parts.add_parser("drop", help="voltage lost along a circuit, or the size that keeps a limit")
    drop.add_argument("--wire-size", help="conductor size; without it the thinnest that keeps the limit is found")
    drop.add_argument("--current", type=float, required=True, help="current in A")
    drop.add_argument("--length", required=True, help="one way with its unit: '150 ft' or '45 m'")
    drop.add_argument("--volts", type=float, required=True, help="voltage at the source")
    drop.add_argument("--system", default="single", help="single (also dc) or three (default: %(default)s)")
    drop.add_argument("--metal", default="copper", help="copper or aluminum (default: %(default)s)")
    drop.add_argument("--sets", type=whole("--sets", 1, 100), default=1, help="parallel sets (default: %(default)s)")
    drop.add_argument("--limit", type=float, help="percent, to find a size for (default: 3, with --whole 5)")
    drop.add_argument("--whole", action="store_true", help="feeder and branch together: compare with 5 percent")
    drop.add_argument("--resistance", type=float, help="ohm per 1000 ft of your own, instead of the table's")
    drop.add_argument("--reactance", type=float, help="ohm per 1000 ft of your own, instead of the table's")
    drop.add_argument("--power-factor", type=float, help="power factor of the load; without it the dc table is used")
    drop.add_argument("--raceway", default="", help="EMT, PVC-40 ..., or steel, aluminum, PVC (default: steel)")

    ground = parts.add_parser("ground", help="equipment grounding conductor for an overcurrent device")
    ground.add_argument("--device", type=float, required=True, help="rating of the overcurrent device in A")
    ground.add_argument("--metal", default="copper", help="copper or aluminum (default: %(default)s)")
    ground.add_argument("--needed-size", default="", help="circuit conductor that the ampacity alone needs")
    ground.add_argument("--used-size", default="", help="circuit conductor that is pulled, when thicker")


def _box_arguments(parts: Any) -> None:
    box = parts.add_parser("box", help="room that wires and devices need in a box")
    box.add_argument("--wire", action="append", default=[], help="conductors in, '4 x 12'; may be repeated")
    box.add_argument("--loop", action="append", default=[], help="long unbroken loops, '2 x 12'")
    box.add_argument("--ground", action="append", default=[], help="grounding conductors, '3 x 12'")
    box.add_argument("--device", action="append", default=[], help="device gangs and the wire on them, '1 x 12'")
    box.add_argument("--terminal-block", action="append", default=[], help="terminal blocks, '1 x 12'")
    box.add_argument("--clamps", action="store_true", help="there are clamps inside the box")
    box.add_argument(
        "--supports", type=whole("--supports", 0, 100), default=0, help="types of luminaire stud or hickey (default: 0)"
    )
    box.add_argument("--box", help="a box of the table, '4 x 1 1/2 square'")
    box.add_argument("--volume", type=float, help="marked volume of the box in cubic inches")
    box.add_argument("--shape", default="", help="only boxes of this shape: square, octagonal, device, masonry, cast")

    pull = parts.add_parser("pullbox", help="least size of a pull box")
    pull.add_argument(
        "--pull",
        action="append",
        required=True,
        help="'straight left 2 -> right 2', 'angle left 3 -> bottom 3', 'u top 2 -> top 2'; may be repeated",
    )
    pull.add_argument("--conductor", default="4", help="thickest conductor in it (default: %(default)s)")
    pull.add_argument("--bare", action="store_true", help="that conductor is bare")
    pull.add_argument("--width", help="inside width of a box to check, left to right")
    pull.add_argument("--height", help="inside height of a box to check, top to bottom")


def _size(args: argparse.Namespace, edition: Edition) -> Answer:
    from racewright.catalogue.raceways import canonical_type
    from racewright.wires.conductors import parse_groups
    from racewright.wires.wire_fill import size_raceway

    nipple = _nipple(args, edition)
    found = size_raceway(args.raceway, parse_groups(args.wires, edition), edition, nipple=nipple)
    answer = f"{canonical_type(args.raceway)} {found.trade_size} ({_filled(found.fill)})"
    return answer, found, found.fill.steps, found.fill.findings


def _fit(args: argparse.Namespace, edition: Edition) -> Answer:
    from racewright.catalogue.raceways import find_raceway
    from racewright.errors import InputError
    from racewright.wires.conductors import parse_group, parse_groups
    from racewright.wires.wire_fill import check_fill, how_many_fit

    raceway = find_raceway(args.raceway, args.trade_size)
    nipple = _nipple(args, edition)
    if not args.wires and not args.more:
        raise InputError("No wires were named.", hint="name wires, or --more '12 THHN'", field="wires")
    groups = parse_groups(args.wires, edition) if args.wires else ()
    fill = check_fill(raceway, groups, edition, nipple=nipple) if groups else None
    lines: list[str] = []
    steps: tuple[RuleStep, ...] = ()
    findings: tuple[Finding, ...] = ()
    if fill is not None:
        lines.append(f"{raceway.name}: {'fits' if fill.fits else 'does not fit'} ({_filled(fill)})")
        steps, findings = fill.steps, fill.findings
    if args.more:
        wire = parse_group(args.more, edition).wire
        more = how_many_fit(raceway, wire, edition, beside=groups, nipple=nipple)
        note = f" ({more.note})" if more.note else ""
        lines.append(f"{raceway.name}: {more.more} {'more ' if groups else ''}x {more.wire} go in{note}")
        if fill is None and more.fill_with_more is not None:
            steps, findings = more.fill_with_more.steps, more.fill_with_more.findings
        return "; ".join(lines), {"fill": fill, "more": more}, steps, findings
    return "; ".join(lines), fill, steps, findings


def _ampacity(args: argparse.Namespace, edition: Edition) -> Answer:
    from racewright.errors import InputError
    from racewright.wires.ampacity import check_load, count_carrying, find_ampacity
    from racewright.wires.protection import check_device

    words = args.wire.split()
    if len(words) < 2:
        raise InputError(
            f"'{args.wire}' has no insulation.",
            hint="write size and insulation: '12 THHN'",
            field="wire",
            example="12 THHN",
        )
    carrying = args.carrying if args.carrying is not None else 3
    before: tuple[RuleStep, ...] = ()
    if args.circuit:
        carrying, before = count_carrying([_circuit(text) for text in args.circuit], edition)
    ambient = args.ambient_c if args.ambient_f is None else (args.ambient_f - 32.0) * 5.0 / 9.0
    found = find_ampacity(
        " ".join(words[:-1]),
        words[-1],
        edition,
        metal=args.metal,
        ambient_c=round(ambient, 6),
        carrying=carrying,
        terminal_c=args.terminals,
        circuit_a=args.device or args.load,
        wet=args.wet,
        nipple=_nipple(args, edition),
    )
    guard = found.protection
    answer = f"{found.wire}: {found.usable_a:.4g} A, overcurrent device at most {guard.largest_a:g} A"
    if guard.receptacles_a != guard.largest_a:
        other = "no standard device" if guard.receptacles_a is None else f"{guard.receptacles_a:g} A"
        where = "a branch circuit with several receptacles"
        if guard.above_receptacles:
            where = "a tap or a transformer secondary"
        answer += f" ({other} for {where})"
    load = check_load(found, args.load, edition) if args.load is not None else ()
    if args.device is not None:
        load += check_device(found.wire, args.device, guard, found.usable_a, edition)
    return answer, found, (*before, *found.steps), (*found.findings, *load)


def _drop(args: argparse.Namespace, edition: Edition) -> Answer:
    from racewright.errors import InputError
    from racewright.units.length import names_unit, parse_length
    from racewright.wires.voltage_drop import size_for_drop, voltage_drop

    length_m = float(parse_length(args.length, field="length", allow_zero=False)) / 1000.0
    if not names_unit(args.length):
        raise InputError(
            f"--length {args.length} has no unit, and a circuit is measured in feet or meters.",
            hint=f"write {args.length.strip()} ft or {args.length.strip()} m",
            field="length",
            expected="a length with its unit",
            example="100 ft",
        )
    one_way = f", {args.length.strip()} one way"
    if args.raceway and args.power_factor is None:
        raise InputError(
            "A raceway was named and no power factor; the dc table knows no raceway.",
            hint="give the power factor of the load too, or leave --raceway out",
            field="power-factor",
            example="0.85",
        )
    if args.wire_size is None:
        if args.resistance is not None or args.reactance is not None:
            raise InputError(
                "A size is looked for with the tables' resistance and reactance.",
                hint="name the size with --wire-size to use a resistance or reactance of your own",
                field="wire-size",
            )
        limit = args.limit if args.limit is not None else (5.0 if args.whole else 3.0)
        sized = size_for_drop(
            args.current,
            length_m,
            args.volts,
            limit,
            edition,
            system=args.system,
            metal=args.metal,
            sets=args.sets,
            power_factor=args.power_factor,
            raceway=args.raceway,
            total=args.whole,
        )
        return _sized_words(sized, args.current, args.sets, one_way), sized, sized.take.steps, sized.take.findings
    found = voltage_drop(
        args.wire_size,
        args.current,
        length_m,
        args.volts,
        edition,
        system=args.system,
        metal=args.metal,
        sets=args.sets,
        power_factor=args.power_factor,
        raceway=args.raceway,
        resistance_ohm_per_kft=args.resistance,
        reactance_ohm_per_kft=args.reactance,
        total=args.whole,
    )
    answer = (
        f"{found.size} {found.metal}: {found.drop_v:.2f} V lost ({found.percent:.2f} percent), "
        f"{found.load_v:.1f} V at the load{one_way} ({found.basis})"
    )
    if found.power_factor is None:
        answer += f"; by K: {found.k_drop_v:.2f} V ({found.k_percent:.2f} percent)"
    return answer, found, found.steps, found.findings


def _sized_words(sized: DropSize, current_a: float, sets: int, one_way: str) -> str:
    """Both least sizes and the one to take: the drop's alone may not carry the current."""
    drop, carrying, take = sized.drop, sized.carrying, sized.take
    by_k = f"; by K: {sized.k_size} ({sized.needed_circular_mils:.0f} circular mils)" if not drop.power_factor else ""
    lines = [
        f"Take {take.size} {take.metal}: {take.drop_v:.2f} V lost{one_way} ({take.percent:.2f} percent; {take.basis})"
        if carrying
        else f"No size of the table carries {current_a / sets:g} A: use more parallel sets",
        f"least for the drop: {drop.size} keeps {sized.limit_percent:g} percent, {drop.drop_v:.2f} V lost "
        f"({drop.percent:.2f} percent){by_k}",
    ]
    if carrying:
        lines.append(
            f"least for the current: {carrying.size} carries {carrying.ampacity_a:g} A ({carrying.column_c} C column, "
            "three conductors, 30 C); more wires or heat need the ampacity worked out"
        )
    return "\n".join(lines)


def _ground(args: argparse.Namespace, edition: Edition) -> Answer:
    from racewright.wires.grounding_conductor import ground_size

    found = ground_size(args.device, edition, metal=args.metal, needed_size=args.needed_size, used_size=args.used_size)
    return f"{found.size} {found.metal} equipment grounding conductor", found, found.steps, found.findings


def _box(args: argparse.Namespace, edition: Edition) -> Answer:
    from racewright.wires.box_fill import (
        BoxContents,
        box_need,
        boxes_that_hold,
        check_box,
        find_box,
        parse_counted,
    )

    contents = BoxContents(
        conductors=parse_counted(args.wire, "wire"),
        loops=parse_counted(args.loop, "loop"),
        clamps=args.clamps,
        supports=args.supports,
        devices=parse_counted(args.device, "device"),
        grounds=parse_counted(args.ground, "ground"),
        terminal_blocks=parse_counted(args.terminal_block, "terminal-block"),
    )
    need = box_need(contents, edition)
    answer = f"{need.needed_in3:g} in3 ({need.needed_cm3:.0f} cm3) are needed"
    findings: tuple[Finding, ...] = ()
    if args.box:
        box = find_box(args.box, edition)
        findings = check_box(need, box.volume_in3, edition, name=box.name)
        answer += f"; {box.name} has {box.volume_in3:g} in3: {'too small' if findings else 'enough'}"
    elif args.volume is not None:
        findings = check_box(need, args.volume, edition)
        answer += f"; {args.volume:g} in3 is {'too small' if findings else 'enough'}"
    holding = boxes_that_hold(need, edition, shape=args.shape)
    names = ", ".join(f"{box.name} ({box.volume_in3:g})" for box in holding[:4]) or "none of the table"
    return f"{answer}\nBoxes with room, smallest first: {names}", {"need": need, "boxes": holding}, need.steps, findings


def _pullbox(args: argparse.Namespace, edition: Edition) -> Answer:
    from racewright.units.length import parse_length
    from racewright.wires.pull_box import check_pull_box, parse_pull, pull_box

    need = pull_box(
        [parse_pull(text) for text in args.pull], edition, largest_conductor=args.conductor, insulated=not args.bare
    )
    sides = [(need.width_in, "wide (left to right)"), (need.height_in, "high (top to bottom)")]
    answer = (
        "inside at least " + " and ".join(f"{value:g} in {what}" for value, what in sides if value)
        if any(value for value, _ in sides)
        else "no width or height is set by the rule"
    )
    for spacing in need.spacings:
        answer += f"\nat least {spacing.least_mm / 25.4:g} in between {spacing.between}"
    findings = need.findings
    if args.width or args.height:
        far = 1e9
        width = float(parse_length(args.width, field="width", allow_zero=False)) if args.width else far
        height = float(parse_length(args.height, field="height", allow_zero=False)) if args.height else far
        findings = (*findings, *check_pull_box(need, width, height, edition))
    return answer, need, need.steps, findings


def _nipple(args: argparse.Namespace, edition: Edition) -> bool:
    from racewright.units.length import parse_length
    from racewright.wires.wire_fill import nipple_holds

    if not args.nipple:
        return False
    nipple_holds(float(parse_length(args.nipple, field="nipple", allow_zero=False)), edition)
    return True


def _circuit(text: str) -> tuple[int, str]:
    many, cross, kind = text.partition(" x ")
    if not cross:
        return 1, text.strip()
    return (int(many) if many.strip().isdigit() else 0), kind.strip()


def _filled(fill: Any) -> str:
    return (
        f"{fill.percent:.2f} percent of {fill.limit_percent:g} filled, {fill.wires_area_in2:.4f} of "
        f"{fill.allowed_area_in2:.3f} in2, {fill.wires_area_mm2:.0f} of {fill.allowed_area_mm2:.0f} mm2"
    )


def _print_text(answer: str, steps: Sequence[RuleStep], findings: Sequence[Finding]) -> None:
    from racewright.codebook.edition import from_memory

    print(answer)
    print()
    for number, step in enumerate(steps, start=1):
        print(f"{number:3}. {step.text}  [{step.citation}]")
    if findings:
        print()
    for finding in findings:
        print(f"{finding.severity}: {finding.message} [{finding.rule}, {finding.citation}]")
    print()
    recalled = from_memory(steps, findings)
    if recalled:
        print(f"note: from memory, not read in print: {'; '.join(recalled)}. Check it in the book.")
    for caution in CAUTIONS:
        print(f"note: {caution}")


def _print_json(
    question: str, edition: str, answer: str, result: Any, steps: Sequence[RuleStep], findings: Sequence[Finding]
) -> None:
    import msgspec

    from racewright.codebook.edition import from_memory

    body = {
        "question": question,
        "edition": edition,
        "answer": answer,
        "result": msgspec.to_builtins(result),
        "findings": msgspec.to_builtins(list(findings)),
        "from_memory": from_memory(steps, findings),
        "cautions": CAUTIONS,
    }
    print(json.dumps(body, indent=2, ensure_ascii=False))


_QUESTIONS: dict[str, Callable[[argparse.Namespace, Any], Answer]] = {
    "size": _size,
    "fit": _fit,
    "ampacity": _ampacity,
    "drop": _drop,
    "ground": _ground,
    "box": _box,
    "pullbox": _pullbox,
}
