"""`racewright bender`: the profiles that marks are computed from; your own are kept in a file of yours."""

from __future__ import annotations

import argparse
import re
from math import degrees, radians
from typing import TYPE_CHECKING, Any

from racewright.errors import InputError
from racewright.field_words import one_word

if TYPE_CHECKING:
    from racewright.catalogue.model import Raceway
    from racewright.errors import Finding
    from racewright.tools.calibration import Calibration, TestBend
    from racewright.tools.model import BenderProfile
    from racewright.tools.written import BenderRecord

HELP = "list, add, show, calibrate or remove bender profiles"

_BEND_KEYS = ("angle", "stub", "leg", "cut", "mark", "at", "pointer")
_MARKS = ("arrow", "centre", "star")
_EXAMPLE = "angle=90 stub=12 leg=30 cut=39 3/8 mark=7"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Sub-commands; without one, the profiles are listed."""
    parser.set_defaults(bender_action="list", json=False, unit="in")
    actions = parser.add_subparsers(dest="bender_action", metavar="ACTION")
    common = argparse.ArgumentParser(add_help=False)
    common.add_argument("--json", action="store_true", help="print the result as JSON")
    common.add_argument("--unit", choices=("in", "mm"), default="in", help="unit of lengths written without one")
    actions.add_parser("list", parents=[common], help="list own profiles and the trade's hand shoes")

    add = actions.add_parser("add", parents=[common], help="keep a profile of your own")
    add.add_argument("name", metavar="NAME")
    _raceway_arguments(add, required=True)
    add.add_argument("--take-up", default="", metavar="LENGTH", help="stub to the back of a 90, minus the arrow's mark")
    add.add_argument(
        "--gain", default="", metavar="LENGTH", help="stub + leg to the backs of a 90, minus the cut length"
    )
    add.add_argument("--radius", default="", metavar="LENGTH", help="centreline radius, instead of the gain")
    add.add_argument("--arrow-lead", default="", metavar="LENGTH", help="from the arrow to where the bend begins")
    add.add_argument("--hook-reach", default="", metavar="LENGTH", help="straight needed past the arrow, in the hook")
    add.add_argument("--grip", default="", metavar="LENGTH", help="straight needed on the other side, to hold")
    add.add_argument("--replace", action="store_true", help="write over a profile of the same name")

    show = actions.add_parser("show", parents=[common], help="say what the numbers of a profile mean")
    show.add_argument("name", metavar="NAME")

    fit = actions.add_parser("calibrate", parents=[common], help="find radius, lead and springback from test bends")
    fit.add_argument("name", metavar="NAME")
    _raceway_arguments(fit, required=False)
    fit.add_argument("--bend", action="append", default=[], metavar="READINGS", help=f"one test bend: '{_EXAMPLE}'")
    fit.add_argument(
        "--fit",
        action="append",
        default=[],
        type=one_word,
        choices=("centre", "star"),
        help="find this mark's place too (center or star)",
    )
    fit.add_argument("--save", action="store_true", help="keep what was found under NAME")

    remove = actions.add_parser("remove", parents=[common], help="forget a profile of your own")
    remove.add_argument("name", metavar="NAME")


def run(args: argparse.Namespace) -> int:
    """Do what was asked; 1 where a check found a problem."""
    from racewright.units.said import said_in
    from racewright.units.tape import style_of

    actions = {"list": _list, "add": _add, "show": _show, "calibrate": _calibrate, "remove": _remove}
    with said_in(style_of(args.unit)):
        return actions[args.bender_action or "list"](args)


def _raceway_arguments(parser: argparse.ArgumentParser, *, required: bool) -> None:
    parser.add_argument(
        "--raceway", required=required, default="", metavar="TYPE", help="EMT, IMC, RMC, PVC-40, PVC-80"
    )
    parser.add_argument("--size", required=required, default="", metavar="SIZE", help="trade size or metric designator")


def _list(args: argparse.Namespace) -> int:
    from racewright.cautions import DECIDES, cautions_for
    from racewright.store.bender_file import bender_file, load_own_benders
    from racewright.tools.benders import default_benders, raceway_of
    from racewright.tools.profile_checks import check_profile

    own = load_own_benders()
    wrong = [name for name, profile in own.items() if _has_problem(check_profile(profile, raceway_of(profile)))]
    taken = {name.casefold() for name in own}
    rest = [profile for profile in default_benders() if profile.name.casefold() not in taken]
    if args.json:
        data = {"file": str(bender_file()), "own": list(own.values()), "with_problems": wrong, "hand_shoes": rest}
        _print_json({**data, "cautions": cautions_for()})
        return 0
    print(f"{'name':<20} {'raceway':<10} {'radius':>9} {'take-up':>9} {'gain':>9}   standing")
    for profile in [*own.values(), *rest]:
        lengths = " ".join(
            f"{_tape(value, args.unit):>9}" for value in (profile.radius_mm, profile.take_up_mm, profile.gain_mm)
        )
        standing = "own" if profile.name in own else "taught values"
        if profile.name in wrong:
            standing = f"own, with a problem: racewright bender show {profile.name}"
        raceway = f"{profile.raceway_type} {profile.trade_size}"
        print(f"{profile.name:<20} {raceway:<10} {lengths}   {standing}")
    print("\nTaught values are a start: shoes differ, so make a test bend and `racewright bender calibrate`.")
    print(DECIDES)
    return 0


def _add(args: argparse.Namespace) -> int:
    from racewright.store import bender_file as store
    from racewright.tools.profile_checks import refuse_impossible
    from racewright.tools.written import BenderRecord, check_name, profile_of

    name = check_name(args.name)
    record = BenderRecord(
        raceway=args.raceway,
        size=args.size,
        take_up=_with_unit(args.take_up, args.unit),
        gain=_with_unit(args.gain, args.unit),
        radius=_with_unit(args.radius, args.unit),
        lead=_with_unit(args.arrow_lead, args.unit),
        hook_reach=_with_unit(args.hook_reach, args.unit),
        grip=_with_unit(args.grip, args.unit),
    )
    profile = profile_of(name, record)
    refuse_impossible(profile)
    with store.changing() as records:
        same = _own_name(records, name)
        if same is not None and not args.replace:
            raise InputError(
                f"There is a profile '{same}' already.",
                hint="add --replace to write over it, or choose another name",
                field="name",
            )
        records.pop(same or "", None)
        records[name] = record
    return _report(profile, args, saved=str(store.bender_file()))


def _show(args: argparse.Namespace) -> int:
    from racewright.store.bender_file import find_bender

    return _report(find_bender(args.name), args)


def _remove(args: argparse.Namespace) -> int:
    from racewright.errors import UnknownName
    from racewright.store.bender_file import bender_file, changing

    with changing() as records:
        same = _own_name(records, args.name)
        if same is None:
            raise UnknownName(
                f"No own profile '{args.name}' to remove.",
                hint=f"own profiles: {', '.join(records) or 'none yet'} (the trade's hand shoes stay)",
                field="name",
            )
        del records[same]
    where = bender_file()
    if args.json:
        _print_json({"removed": same, "file": str(where)})
    else:
        print(f"Removed '{same}' from {where}.")
    return 0


def _calibrate(args: argparse.Namespace) -> int:
    import msgspec

    from racewright.store import bender_file as store
    from racewright.tools.calibration import calibrate, profile_from_calibration
    from racewright.tools.profile_checks import refuse_impossible
    from racewright.tools.written import check_name, profile_of, record_of

    if not args.bend:
        raise InputError(
            "No test bend was given.", hint=f"add --bend '{_EXAMPLE}' for each", field="bend", example=_EXAMPLE
        )
    records = store.load_records()
    name = check_name(args.name)
    raceway, hook, grip = _raceway_for(args, records)
    bends = [read_test_bend(text, number, args.unit) for number, text in enumerate(args.bend, 1)]
    found = calibrate(raceway, bends, fit_marks=tuple(args.fit))
    fitted = profile_from_calibration(name, raceway, found)
    record = msgspec.structs.replace(record_of(fitted), hook_reach=hook, grip=grip)
    profile = msgspec.structs.replace(profile_of(name, record), source=fitted.source)
    saved = ""
    if args.save:
        refuse_impossible(profile)
        with store.changing() as standing:
            standing.pop(_own_name(standing, name) or "", None)
            standing[name] = record
        saved = str(store.bender_file())
    if not args.json:
        _print_calibration(found, args.unit)
    return _report(profile, args, saved=saved, calibration=found)


def read_test_bend(text: str, number: int = 1, unit: str = "in") -> TestBend:
    """'angle=90 stub=12 leg=30 cut=39 3/8 mark=7 [at=arrow] [pointer=93]' (degrees; lengths in `unit` unless written).

    Raises InputError for an unknown or repeated key, a missing one, or what is no number.
    """
    from racewright.tools.calibration import TestBend
    from racewright.units.length import parse_length

    parts = re.split(r"(?:^|[\s,;])\s*([A-Za-z]+)\s*=", text)
    pairs = list(zip((key.lower() for key in parts[1::2]), (value.strip() for value in parts[2::2]), strict=True))
    given = dict(pairs)
    wrong = [key for key in given if key not in _BEND_KEYS]
    missing = [key for key in ("angle", "stub", "mark") if key not in given]
    if wrong or missing or len(given) < len(pairs) or parts[0].strip():
        what = (
            f"'{wrong[0]}' is not a reading" if wrong else f"'{missing[0]}' is missing" if missing else "not understood"
        )
        raise InputError(
            f"Test bend {number}: {what}.",
            hint=f"write it like this, each reading once: '{_EXAMPLE}', with at=centre or at=star for another mark"
            " and pointer=93 if it was read",
            field=wrong[0] if wrong else missing[0] if missing else "bend",
            example=_EXAMPLE,
        )
    at = one_word(given.get("at", "arrow").lower())
    if at not in _MARKS:
        raise InputError(f"Test bend {number}: no mark '{at}'.", hint=f"marks: {', '.join(_MARKS)}", field="at")
    lengths = {
        key: float(parse_length(given[key], "mm" if unit == "mm" else "in", field=f"bend {number} {key}"))
        for key in ("stub", "leg", "cut", "mark")
        if key in given
    }
    return TestBend(
        angle_rad=_angle(given["angle"], number, "angle"),
        stub_mm=lengths["stub"],
        mark_mm=lengths["mark"],
        leg_mm=lengths.get("leg"),
        cut_length_mm=lengths.get("cut"),
        reference="arrow" if at == "arrow" else "centre" if at == "centre" else "star",
        pointer_rad=_angle(given["pointer"], number, "pointer") if "pointer" in given else None,
    )


def _angle(text: str, number: int, field: str) -> float:
    from racewright.units.angle import read_degrees

    try:
        return radians(read_degrees(text, least=-180.0, most=180.0, hint="degrees: 90, 22.5, 22 1/2"))
    except InputError as error:
        raise InputError(f"Test bend {number}: {error.message}", hint=error.hint, field=field) from None


def _own_name(records: dict[str, BenderRecord], name: str) -> str | None:
    return next((own for own in records if own.casefold() == name.strip().casefold()), None)


def _raceway_for(args: argparse.Namespace, records: dict[str, BenderRecord]) -> tuple[Raceway, str, str]:
    """The raceway, of what was written, else of the profile NAME; and hook reach and grip as they were written in that
    profile, '' where they are the taught ones."""
    from racewright.catalogue.raceways import find_raceway
    from racewright.tools.benders import default_by_name, raceway_of
    from racewright.tools.written import profile_of

    same = _own_name(records, args.name)
    hook, grip = (records[same].hook_reach, records[same].grip) if same else ("", "")
    if args.raceway and args.size:
        return find_raceway(args.raceway, args.size), hook, grip
    known = profile_of(same, records[same]) if same else default_by_name(args.name)
    if known is None or args.raceway or args.size:
        raise InputError(
            f"Which conduit was bent? '{args.name}' is no profile yet, or only one of raceway and size was given.",
            hint="add --raceway EMT --size 1/2",
            field="raceway",
        )
    return raceway_of(known), hook, grip


def _with_unit(text: str, unit: str) -> str:
    """What the user wrote, with the unit that was meant where none was written."""
    from racewright.units.length import names_unit

    bare = text.strip()
    return bare if not bare or names_unit(bare) else f"{bare} {unit}"


def _tape(value_mm: float, unit: str) -> str:
    return f"{value_mm:.1f} mm" if unit == "mm" else f'{value_mm / 25.4:.3f}"'


def _report(
    profile: BenderProfile, args: argparse.Namespace, *, saved: str = "", calibration: Calibration | None = None
) -> int:
    from racewright.cautions import cautions_for, cautions_text
    from racewright.tools.benders import raceway_of
    from racewright.tools.profile_checks import check_profile

    findings = check_profile(profile, raceway_of(profile))
    if args.json:
        data: dict[str, Any] = {"profile": profile, "findings": findings, "cautions": cautions_for("bend")}
        if saved:
            data["file"] = saved
        if calibration is not None:
            data["calibration"] = calibration
        _print_json(data)
    else:
        _print_profile(profile, args.unit)
        _print_findings(findings)
        if saved:
            print(f"\nKept in {saved}.")
        print(cautions_text("bend"))
    return 1 if _has_problem(findings) else 0


def _has_problem(findings: list[Finding]) -> bool:
    return any(finding.severity == "problem" for finding in findings)


def _print_profile(profile: BenderProfile, unit: str) -> None:
    print(f"{profile.name}: {profile.raceway_type} {profile.trade_size}")
    rows = (
        ("bend radius", profile.radius_mm, "to the middle of the conduit"),
        ("take-up", profile.take_up_mm, "stub to the back of a 90, minus the arrow's mark"),
        ("gain of a 90", profile.gain_mm, "stub + leg to the backs, minus the cut length"),
        ("arrow", 0.0 - profile.arrow_lead_mm, "from where the bend begins; minus is on the hook side"),
        ("centre mark", profile.centre_mm, "past where the bend begins: middle of a 45"),
        ("star", profile.star_mm, "past where the bend begins: back of a 90"),
        ("hook reach", profile.hook_reach_mm, "straight needed past the arrow, in the hook"),
        ("grip", profile.grip_mm, "straight needed on the other side"),
    )
    for label, value, meaning in rows:
        print(f"  {label:<13} {_tape(value, unit):>10}   {meaning}")
    if profile.springback_b0_rad is None or profile.springback_b1 is None:
        print("  springback    not calibrated: read the angle after letting go")
    else:
        pulls = ", ".join(
            f"{angle}° pull to {degrees(profile.pointer_rad(radians(angle)) or 0.0):.1f}°" for angle in (30, 45, 90)
        )
        print(f"  springback    {pulls}")
    for label, text in (("source", profile.source), ("standing", profile.standing)):
        if text:
            print(f"  {label:<13} {text}")


def _print_calibration(found: Calibration, unit: str) -> None:
    values = {"radius": found.radius_mm, "lead": found.arrow_lead_mm, "centre": found.centre_mm, "star": found.star_mm}
    print("Found from the test bends (with standard error):")
    for name, error in zip(found.names, found.standard_errors_mm, strict=True):
        print(f"  {name:<13} {_tape(values[name], unit):>10} +- {_tape(error, unit)}")
    for residual in found.residuals:
        print(f"  bend {residual.bend} {residual.what}: {_tape(residual.off_mm, unit)} off the fit")
    if found.misfit is None:
        print("  as many unknowns as readings: nothing is left over to check them; one more bend would")
    else:
        verdict = "the bends agree" if found.misfit < 2.0 else "the bends disagree: look for a slip in the readings"
        print(f"  misfit {found.misfit:.2f} (readings to spare: {found.degrees_of_freedom}): {verdict}")
    if found.springback is not None and found.springback.terms == 1:
        print("  springback from one angle only: taken as the same for every angle")
    print()


def _print_findings(findings: list[Finding]) -> None:
    for finding in findings:
        tail = f" ({finding.citation})" if finding.citation else ""
        print(f"  {finding.severity}: {finding.message}{tail} [{finding.rule}]")


def _print_json(data: object) -> None:
    import json

    import msgspec

    print(json.dumps(msgspec.to_builtins(data), indent=2))
