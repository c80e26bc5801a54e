"""`racewright bender`: the profiles that marks are computed from; yours are kept as tools in a shop file."""

from __future__ import annotations

import argparse
import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from racewright.cli.options import Fields, action, given, option_of, whole
from racewright.errors import InputError

if TYPE_CHECKING:
    from racewright.operations.bender import BenderAnswer, TestBendReadings
    from racewright.store.job_store import JobStore
    from racewright.store.shop_tools import ToolShelf

HELP = "list, add, show, calibrate, remove and bring back bender profiles"

_NAME = "what the profile is called"
_EXAMPLE = "angle=90 stub=12 leg=30 cut=39 3/8 mark=7"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Sub-commands; without one, the profiles are listed."""
    parser.set_defaults(bender_action="list", json=False, unit="in", shop=None, by=None)
    actions = parser.add_subparsers(dest="bender_action", metavar="ACTION")
    common = argparse.ArgumentParser(add_help=False)
    words = "the shop file (else $RACEWRIGHT_SHOP, else ./jobs.rwshop where there is one, else your own)"
    common.add_argument("--shop", metavar="FILE", help=words)
    common.add_argument("--json", action="store_true", help="print the result as JSON")
    common.add_argument("--unit", choices=("in", "mm"), default="in", help="unit of lengths written without one")
    action(actions, "list", parents=[common], help="list own profiles and the trade's hand shoes")

    add = action(actions, "add", parents=[common], help="keep a profile of your own")
    add.add_argument("name", metavar="NAME", help=_NAME)
    field = Fields(add)
    _raceway(field, required=True)
    for name, words in _figures():
        field("--arrow-lead" if name == "lead" else option_of(name), words, metavar="LENGTH", dest=name)

    show = action(actions, "show", parents=[common], help="say what the numbers of a profile mean")
    show.add_argument("name", metavar="NAME", help=_NAME)

    fit = action(actions, "calibrate", parents=[common], help="find radius, lead and springback from test bends")
    fit.add_argument("name", metavar="NAME", help=_NAME)
    field = Fields(fit)
    _raceway(field, required=False)
    fit.add_argument("--bend", action="append", default=[], metavar="READINGS", help=f"one test bend: '{_EXAMPLE}'")
    marks = ("center", "star")
    field("--fit", "find this mark's place too (center or star)", action="append", type=_american, choices=marks)
    fit.add_argument("--save", action="store_true", help="keep what was found under NAME")
    fit.add_argument("--anyway", action="store_true", help="with --save: also where the test bends cannot be right")

    remove = action(actions, "remove", parents=[common], help="forget a profile of your own")
    remove.add_argument("name", metavar="NAME", help=_NAME)
    remove.add_argument("--anyway", action="store_true", help="also where runs are on it: they keep its figures")

    log = action(actions, "log", parents=[common], help="the revisions of a profile, by whom and when")
    log.add_argument("name", metavar="NAME", help=_NAME)

    undo = action(actions, "undo", parents=[common], help="bring a profile back as it was before")
    undo.add_argument("name", metavar="NAME", help=_NAME)
    undo.add_argument(
        "--to",
        metavar="N",
        type=whole("--to", 1, 10**9),
        help="as it was at this revision (else before its last change)",
    )
    undo.add_argument("--anyone", action="store_true", help="also where somebody else made the last change")
    add.add_argument("--replace", action="store_true", help="write over a profile of the same name")
    fit.add_argument("--replace", action="store_true", help="with --save: write over a profile of the same name")
    for parser in (add, fit, remove, undo):
        parser.add_argument("--by", metavar="NAME", help="who makes this change (else your login name)")


def _raceway(field: Fields, *, required: bool) -> None:
    field("--raceway", "EMT, IMC, RMC, PVC-40, PVC-80", metavar="TYPE", required=required)
    field("--size", "trade size or metric designator", metavar="SIZE", required=required)


def _figures() -> Iterator[tuple[str, str]]:
    """The lengths of a profile that are asked for when one is added, each with what it is."""
    from racewright.operations.common import figure_words

    asked = ("take_up", "gain", "radius", "lead", "hook_reach", "grip")
    return ((name, words) for name, (_, words) in figure_words().items() if name in asked)


def _american(word: str) -> str:
    """A mark of the shoe, as the requests spell it."""
    return word.replace("centre", "center")


def run(args: argparse.Namespace) -> int:
    """Do what was asked; 1 where a check found a problem."""
    actions = {
        "list": _list,
        "add": _add,
        "show": _show,
        "calibrate": _calibrate,
        "remove": _remove,
        "log": _log,
        "undo": _undo,
    }
    return actions[args.bender_action or "list"](args)


def _shelf(args: argparse.Namespace) -> ToolShelf:
    """The tools of the shop file that is meant, then one's own."""
    from racewright.store.places import own_shop, tools_file
    from racewright.store.shop_tools import ToolShelf

    return ToolShelf(tools_file(args.shop), own_shop())


def _list(args: argparse.Namespace) -> int:
    import msgspec

    from racewright.cards.text.bender import list_text
    from racewright.cli.answers import asked, show
    from racewright.operations.bender import BendersRequest
    from racewright.store.places import tools_file

    answer = asked("benders", BendersRequest(unit=args.unit), tools=_shelf(args))
    return show(msgspec.structs.replace(answer, file=str(tools_file(args.shop))), list_text, as_json=args.json)


def _show(args: argparse.Namespace) -> int:
    from racewright.cards.text.bender import as_text
    from racewright.cli.answers import asked, show
    from racewright.operations.bender import BenderRequest

    request = BenderRequest(bender_name=args.name, unit=args.unit)
    answer = asked("bender", request, options={"bender_name": "NAME"}, tools=_shelf(args))
    return show(answer, as_text, as_json=args.json)


def _add(args: argparse.Namespace) -> int:
    from racewright.cards.text.bender import as_text
    from racewright.cli.answers import asked, show
    from racewright.operations.bender import BenderAnswer, BenderRequest
    from racewright.operations.common import BenderRecord

    record = BenderRecord(**given(args, BenderRecord))
    request = BenderRequest(bender=record, bender_name=args.name, unit=args.unit)
    answer = asked("bender", request, options={f"bender.{field}": option for field, option in args.told.items()})
    assert isinstance(answer, BenderAnswer)
    return show(_kept(args, answer), as_text, as_json=args.json)


def _calibrate(args: argparse.Namespace) -> int:
    from racewright.cards.text.bender import as_text
    from racewright.cli.answers import asked, show
    from racewright.operations.bender import BenderAnswer, CalibrateRequest

    if not args.bend:
        raise InputError(
            "No test bend was given.", hint=f"add --bend '{_EXAMPLE}' for each", field="bend", example=_EXAMPLE
        )
    request = CalibrateRequest(
        bender_name=args.name,
        bends=tuple(bend_readings(text, number) for number, text in enumerate(args.bend, 1)),
        bender=_shelf(args).record(args.name),
        **given(args, CalibrateRequest),
    )
    answer = asked("calibrate", request)
    assert isinstance(answer, BenderAnswer)
    if not args.save:
        return show(answer, as_text, as_json=args.json)
    wrong = any(f.rule == "bender.test_bends" and f.severity == "problem" for f in answer.findings)
    if wrong and not args.anyway:
        left = "Not kept, as the test bends cannot be right: `--anyway` keeps it all the same."
        return show(answer, lambda told: f"{as_text(told)}\n\n{left}", as_json=args.json)
    return show(_kept(args, answer), as_text, as_json=args.json)


def _kept(args: argparse.Namespace, answer: BenderAnswer) -> BenderAnswer:
    """The answer with where its record is kept from now on."""
    from contextlib import suppress

    import msgspec

    from racewright.cli.job.common import opened, who
    from racewright.store.places import tools_file
    from racewright.store.shop_tools import keep_tool, read_tools

    where = tools_file(args.shop)
    assert answer.record is not None
    with suppress(OSError):  # else saving says why
        where.parent.mkdir(parents=True, exist_ok=True)
    read_tools(where)  # what stood in an older file of one's own comes first
    with opened(where, create=True) as store:
        keep_tool(store, args.name, answer.record, replace=args.replace, by=who(args))
    return msgspec.structs.replace(answer, file=str(where))


def _remove(args: argparse.Namespace) -> int:
    from racewright.cli.job.common import who
    from racewright.store.shop_tools import forget_tool

    with _tools_at_hand(args) as store:
        removed, where = forget_tool(store, args.name, by=who(args), anyway=args.anyway), store.path
    said = json.dumps({"removed": removed, "file": str(where)}, indent=2)
    other = _shelf(args).record(removed) is not None
    told = f" Another profile of that name, in another file, now goes by it: `racewright bender show {removed}`."
    print(said if args.json else f"Removed '{removed}' from {where}.{told if other else ''}")
    return 0


def _log(args: argparse.Namespace) -> int:
    """The revisions, newest first, each with what it changed."""
    import msgspec

    from racewright.cards.text.bender import figures_changed
    from racewright.records.tool import Tool
    from racewright.store.shop_tools import tool_history

    with _tools_at_hand(args) as store:
        name, revisions = tool_history(store, args.name)
    if args.json:
        told = [
            {"revision": r.number, "at": r.at, "by": r.by, "what": r.what, "tool": msgspec.to_builtins(r.value)}
            for r in revisions
        ]
        print(json.dumps({"name": name, "revisions": told}, indent=2))
        return 0
    tools = [one.value if isinstance(one.value, Tool) else None for one in revisions]
    for place, new in enumerate(revisions):
        print(f"revision {new.number}  {new.at}  {new.by}  {new.what}")
        for line in figures_changed(tools[place], next(filter(None, tools[place + 1 :]), None), args.unit):
            print(f"    {line}")
    return 0


def _undo(args: argparse.Namespace) -> int:
    from racewright.cli.job.common import who
    from racewright.store.shop_tools import bring_back

    with _tools_at_hand(args) as store:
        tool, now, was = bring_back(store, args.name, args.to, by=who(args), anyone=args.anyone)
    said = json.dumps({"name": tool.name, "revision": now, "as_at": was}, indent=2)
    words = f"{tool.name}: as at revision {was} again, now revision {now}. Runs stay on what they have."
    print(said if args.json else words)
    return 0


@contextmanager
def _tools_at_hand(args: argparse.Namespace) -> Iterator[JobStore]:
    """The shop file that is meant, for what is done to a tool of it. Raises UnknownName where it has none."""
    from racewright.cli.job.common import opened
    from racewright.store.places import tools_file
    from racewright.store.shop_tools import read_tools, unknown_tool

    where = tools_file(args.shop)
    read_tools(where)  # what stood in an older file of one's own comes first
    if not where.exists():
        raise unknown_tool(args.name, ())
    with opened(where) as store:
        yield store


def bend_readings(text: str, number: int = 1) -> TestBendReadings:
    """'angle=90 stub=12 leg=30 cut=39 3/8 mark=7 [at=arrow] [pointer=93]', each reading as it is written.

    Raises InputError for an unknown or repeated key, or a missing one.
    """
    import msgspec

    from racewright.operations.bender import TestBendReadings

    parts = re.split(r"(?:^|[\s,;])\s*([A-Za-z]+)\s*=", text)
    pairs = [(key.lower(), value.strip()) for key, value in zip(parts[1::2], parts[2::2], strict=True)]
    given = dict(pairs)
    fields = {field.name: field for field in msgspec.structs.fields(TestBendReadings)}
    wrong = [key for key in given if key not in fields]
    missing = [name for name, field in fields.items() if field.required and name not in given]
    if wrong or missing or len(given) < len(pairs) or parts[0].strip():
        what = (
            f"'{wrong[0]}' is not a reading" if wrong else f"'{missing[0]}' is missing" if missing else "not understood"
        )
        raise InputError(
            f"Test bend {number}: {what}.",
            hint=f"write it like this, each reading once: '{_EXAMPLE}', with at=center or at=star for another mark"
            " and pointer=93 if it was read",
            field=wrong[0] if wrong else missing[0] if missing else "bend",
            example=_EXAMPLE,
        )
    if "at" in given:
        given["at"] = _american(given["at"].lower())
    try:
        return msgspec.convert(given, TestBendReadings)
    except msgspec.ValidationError:
        long = next((key for key, value in given.items() if len(value) > 60), "")
        what = f"'{long}' is longer than a reading is" if long else f"no mark '{given.get('at', '')[:40]}'"
        hint = f"write it like this: '{_EXAMPLE}'" if long else "marks: arrow, center, star"
        raise InputError(f"Test bend {number}: {what}.", hint=hint, field=long or "at") from None
