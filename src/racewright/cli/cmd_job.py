"""`racewright job`: the jobs of a shop in one file: runs, their status, revisions, and planning them all."""

from __future__ import annotations

import argparse
from importlib import import_module

from racewright.cli.options import Actions, Fields, action, copies, figure, whole
from racewright.cli.out_files import add_model_arguments, ending
from racewright.records.fields import MOST_COPIES

HELP = "Keep a job of many runs in one file: add, plan all, follow each run's status, undo, back up, hand on."

Parser = argparse.ArgumentParser

#: As the records have them, without loading these for every command.
PER = ("each", "100", "ft", "100 ft", "1000 ft", "m", "100 m")
STATES = ("measured", "planned", "bent", "in", "wired")

_RUN = "the run's key, or how its id begins"
_STEPS = (
    "what new marks want before the bends (cut, at end A; twist N, at mark N), or a step of the plan (stock, length,"
    " lay-out, check, trim, thread, ream, loosen, insert, strap; insert 2: the second)"
)

#: action -> the module of racewright.cli.job that does it, in a function of the action's name
_ACTIONS = {
    **dict.fromkeys(("new", "use", "add", "rename", "area", "times", "tool", "remove", "set"), "edit"),
    "record": "edit",
    **dict.fromkeys(("undo", "redo"), "back"),
    **dict.fromkeys(("list", "show", "status", "log", "bill", "cut", "kits", "batch"), "look"),
    "plan": "batch",
    **dict.fromkeys(("prices", "people", "stock", "items", "wire"), "shop"),
    **dict.fromkeys(("pack", "labels", "models", "export", "import", "backup", "recover", "check"), "files"),
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Sub-commands; without one, the jobs are listed."""
    parser.set_defaults(job_action="list", shop=None, job=None, by=None, json=False)
    actions = parser.add_subparsers(dest="job_action", metavar="ACTION")
    shop = argparse.ArgumentParser(add_help=False)
    shop.add_argument("--shop", metavar="FILE", help="the shop file (else $RACEWRIGHT_SHOP, else ./jobs.rwshop)")
    job = argparse.ArgumentParser(add_help=False, parents=[shop])
    job.add_argument("--job", metavar="KEY", help="which job (else the current one)")
    who = argparse.ArgumentParser(add_help=False)
    who.add_argument("--by", metavar="NAME", help="who makes this change (else your login name)")
    _edit_arguments(actions, shop, job, who)
    _back_arguments(actions, job, who)
    _record_arguments(actions, job, who)
    _look_arguments(actions, shop, job)
    _file_arguments(actions, shop, job, who)
    _need_arguments(actions, job)
    _shop_arguments(actions, job, shop, who)
    _out_arguments(actions, job)


def _edit_arguments(actions: Actions, shop: Parser, job: Parser, who: Parser) -> None:
    new = action(actions, "new", parents=[shop, who], help="begin a job; makes the shop file where there is none")
    new.add_argument("key", metavar="KEY", help="the job's short name, for example orchard")
    new.add_argument("--name", metavar="TEXT", help="the job's name in full")
    new.add_argument("--units", choices=("in", "mm"), default="in", help="what plain numbers of the job mean")
    new.add_argument("--area", action="append", default=[], metavar="NAME", help="a part of the site; may be repeated")

    use = action(actions, "use", parents=[shop], help="make a job the current one, which commands mean unless told")
    use.add_argument("key", metavar="KEY", help="the job's short name")

    add = action(actions, "add", parents=[job, who], help="add surveyed runs, or put new surveys in their place")
    add.add_argument("files", nargs="+", metavar="FILE", help="survey files; each becomes a run")
    add.add_argument("--key", metavar="RUN", help="the run's key, for one file (else the file's name)")
    add.add_argument("--area", metavar="NAME", help="the area that the runs belong to; a new one is added to the job")
    number, words = whole("--times", 1, MOST_COPIES), "how many there are alike, each with a status of its own"
    add.add_argument("--times", type=number, metavar="N", help=words)
    add.add_argument("--replace", action="store_true", help="put the survey in the place of the run's own")
    words = "also where readings are still to be taken ('') or cannot be read; the job says which"
    add.add_argument("--unfinished", action="store_true", help=words)
    number, words = whole("--revision", 0, 10**9), "with --replace: the revision that you worked from"
    add.add_argument("--revision", type=number, metavar="N", help=words)

    rename = action(actions, "rename", parents=[job, who], help="give a run another key")
    rename.add_argument("run_key", metavar="RUN", help=_RUN)
    rename.add_argument("key", metavar="KEY", help="a key that no other run of the job has")

    times = action(actions, "times", parents=[job, who], help="say how many of a run there are alike")
    times.add_argument("times", type=whole("N", 1, MOST_COPIES), metavar="N", help="so many alike; 1: there is one")
    times.add_argument("run_keys", nargs="+", metavar="RUN", help=_RUN)

    tool = action(actions, "tool", parents=[job, who], help="plan runs on their tool as it stands now, or on another")
    tool.add_argument("run_keys", nargs="+", metavar="RUN", help=_RUN)
    tool.add_argument("--on", default="", metavar="NAME", help="another tool (else the run's own)")

    remove = action(actions, "remove", parents=[job, who], help="take a run out of the job; it can be brought back")
    remove.add_argument("run_key", metavar="RUN", help=_RUN)
    area = action(actions, "area", parents=[job, who], help="say in which area runs are; a new one goes to the job")
    area.add_argument("area", metavar="AREA", help="a part of the site; '' for none")
    area.add_argument("run_keys", nargs="+", metavar="RUN", help=_RUN)

    status = action(actions, "set", parents=[job, who], help="set the status of runs")
    status.add_argument("state", choices=STATES, help="wired: wires pulled")
    status.add_argument("run_keys", nargs="+", metavar="RUN", help=_RUN)
    words = "of runs alike only these: 14, 1-14 or 1,3,5-7 (else all)"
    status.add_argument("--copy", action="extend", type=copies("--copy", MOST_COPIES), metavar="N", help=words)


def _back_arguments(actions: Actions, job: Parser, who: Parser) -> None:
    words = "take back the job's last change, one run's, or what is named of a run's record"
    undo = action(actions, "undo", parents=[job, who], help=words)
    undo.add_argument("run_key", nargs="?", metavar="RUN", help="only this run: the newest thing of it that stands")
    undo.add_argument("--to", type=whole("--to", 0, 10**9), metavar="N", help="with RUN: back to revision N")
    undo.add_argument("--anyone", action="store_true", help="also where somebody else made the change")
    for option, metavar, words in (
        ("--made", "N", "of RUN: that the bend at mark N is made"),
        ("--done", "STEP", f"of RUN: that this step is done: {_STEPS}"),
        ("--angle", "N", "of RUN: the angle read of the bend at mark N"),
        ("--rise", "N", "of RUN: the rise read under the bend at mark N"),
        ("--off", "WAY[@PLACE]", "of RUN: how far it is off that way; at end B unless told"),
        ("--lean", "WAY", "of RUN: how far its last leg leans that way"),
        ("--corrected", "N", "of RUN: that the bend at mark N was corrected"),
    ):
        undo.add_argument(option, action="append", default=[], metavar=metavar, help=words)
    words = "of RUN: the new marks that were kept, with the bends that were recorded with them"
    undo.add_argument("--new-marks", action="store_true", help=words)
    undo.add_argument("--note", action="store_true", help="of RUN: a note that was recorded alone")
    words = "of RUN: the entry whose id begins so, all of it or what else is named of it"
    undo.add_argument("--entry", default="", metavar="ID", help=words)
    undo.add_argument("--piece", type=whole("--piece", 1, 1000), metavar="N", help="only of this piece")
    words = "only of these of the runs alike: 14, 1-14 or 1,3,5-7"
    undo.add_argument("--copy", action="extend", type=copies("--copy", MOST_COPIES), metavar="N", help=words)
    redo = action(actions, "redo", parents=[job, who], help="take back the last undo")
    redo.add_argument("--anyone", action="store_true", help="also where somebody else made the undo")


def _record_arguments(actions: Actions, job: Parser, who: Parser) -> None:
    words = "keep what was made, measured or corrected on a piece"
    record = action(actions, "record", parents=[job, who], help=words)
    record.add_argument("run_key", metavar="RUN", help=_RUN)
    count = whole("--piece", 1, 1000)
    record.add_argument("--piece", type=count, default=1, metavar="N", help="which piece of the run (1)")
    words = "which of the runs alike, from 1; with --done several: 1-14 or 1,3,5-7"
    record.add_argument("--copy", action="extend", type=copies("--copy", MOST_COPIES), metavar="N", help=words)
    for option, metavar, words in (
        ("--angle", "N=DEG", "the angle that the bend at mark N has"),
        ("--rise", "N=LENGTH", "the rise under the middle of the bend at mark N"),
        ("--off", "WAY=LENGTH[@PLACE]", "how far it is off up, down, left, right, long or short; at end B unless told"),
        ("--lean", "WAY=DEG", "the last leg leans too far up, down, left or right"),
        ("--corrected", "N=DEG", "the bend at mark N was corrected: + closed, - opened"),
    ):
        record.add_argument(option, action="append", default=[], metavar=metavar, help=words)
    words = (
        "the bend at mark N is made, where its mark stands from end A, or where the bend begins, how far its plane is"
        " off, clockwise seen from A"
    )
    written = "N=DEG[@PLACE][, start PLACE][, roll DEG]"
    record.add_argument("--made", action="append", default=[], metavar=written, help=words)
    words = f"what is done and is no bend: {_STEPS}"
    record.add_argument("--done", action="append", default=[], metavar="STEP", help=words)
    words = "the bends made are not as planned: work out new marks for the rest, and keep them too"
    record.add_argument("--new-marks", action="store_true", help=words)
    words = "with --new-marks: how long the conduit in hand is, from end A as it is now, or from cut line A"
    record.add_argument("--have", default="", metavar="LENGTH", help=words)
    words = "they were made by the marks of the card, not by new marks that are kept"
    record.add_argument("--by-card", action="store_true", help=words)
    record.add_argument(
        "--plan", default="", metavar="DIGEST", help="the card's plan that it was bent by (else the present)"
    )
    record.add_argument("--note", default="", metavar="TEXT", help="kept beside it, or alone")


def _look_arguments(actions: Actions, shop: Parser, job: Parser) -> None:
    listing = action(actions, "list", parents=[shop], help="the jobs of the shop file")
    status = action(actions, "status", parents=[job], help="every run with its status, by area")
    show = action(actions, "show", parents=[job], help="one run: status, notes, what was measured, its bend card")
    show.add_argument("run_key", metavar="RUN", help=_RUN)
    show.add_argument("--hands", default="", metavar="NAME", help="who bends it: the forecast is for their hands")
    show.add_argument("--survey", action="store_true", help="print its survey only, to change it and add it again")
    log = action(actions, "log", parents=[job], help="all changes of the job, or all of one run")
    log.add_argument("run_key", nargs="?", metavar="RUN", help="only this run")
    log.add_argument("--refused", action="store_true", help="the saves that were refused")
    plan = action(actions, "plan", parents=[job], help="plan every run; can be stopped and goes on where it was")
    count = whole("--processes", 1, 512)
    plan.add_argument("--processes", type=count, metavar="N", help="so many processes (else one for each core)")
    plan.add_argument("--on", default="", metavar="ADDRESS", help="on a Dask cluster: dask://host:port")
    plan.add_argument("--again", action="store_true", help="plan every run again, whatever is known")
    plan.add_argument("--by", metavar="NAME", help="who makes this change (else your login name)")
    for parser in (listing, status, show, plan):
        parser.add_argument("--json", action="store_true", help="print the result as JSON")


def _need_arguments(actions: Actions, job: Parser) -> None:
    words = "the bill: sticks, fittings, straps, boxes, wire; with your own prices and hours where the job has them"
    bill = action(actions, "bill", parents=[job], help=words)
    bill.add_argument("--split", choices=("none", "areas", "runs"), default="none", help="also by area, or by run")
    words = "the cut list: which piece from which stick, marks on the tape, saw stop settings, and how good it is"
    cut = action(actions, "cut", parents=[job], help=words)
    add = Fields(cut)
    add("--all", "also runs that are bent already", action="store_true")
    add("--raceway", "only this one, for example 'EMT 1/2'", metavar="NAME")
    add("--least", "buy fewest sticks, or least", choices=("sticks", "length"))
    add("--effort", "0 quick, 1 usual, up to 5: longer", type=whole("--effort", 0, 5), metavar="N")
    add("--prove", "prove the least with an outside solver (an extra)", action="store_true")
    words = "the kit list: what goes to each room, by area: pieces, fittings, straps, boxes, wire; adds up to the bill"
    kits = action(actions, "kits", parents=[job], help=words)
    kits.add_argument("--area", metavar="NAME", help="only the runs of this area")
    words = "the batch list for the bench: what is still to be bent, by tool and angle, each set as few times as can be"
    batch = action(actions, "batch", parents=[job], help=words)
    batch.add_argument("--area", metavar="NAME", help="only the runs of this area")
    words = "only runs and copies of this status (else those not bent yet); may be repeated"
    batch.add_argument("--status", action="append", choices=STATES, help=words)
    batch.add_argument("--through", action="store_true", help="bend each piece through before the next is begun")
    for parser in (bill, cut, kits, batch):
        words, end = "write the tables to FILE.csv or FILE.xlsx", ending(".csv", ".xlsx")
        parser.add_argument("--out", metavar="FILE", type=end, help=words)
        parser.add_argument("--json", action="store_true", help="print all of it as JSON")


def _shop_arguments(actions: Actions, job: Parser, shop: Parser, who: Parser) -> None:
    words = "your own prices and hours: list them; with figures, set them"
    prices = action(actions, "prices", parents=[job, who], help=words)
    prices.add_argument(
        "item", nargs="?", metavar="ITEM", help="as the bill names it: 'EMT 1/2, 10 ft', 'wire 12 THHN'"
    )
    prices.add_argument("--price", metavar="MONEY", help="what one costs")
    prices.add_argument("--hours", dest="labour_h", metavar="HOURS", help="the hours that one takes")
    prices.add_argument("--per", choices=PER, help="of what (each)")
    prices.add_argument("--currency", metavar="TEXT", help="for example USD")
    prices.add_argument("--rate", dest="labour_rate", metavar="MONEY", help="what an hour of labor costs")
    prices.add_argument(
        "--of", choices=("job", "shop"), help="the job's own, or the shop's (else those that count here)"
    )
    away = prices.add_mutually_exclusive_group()
    away.add_argument("--remove", action="store_true", help="the item has no price any more")
    away.add_argument("--drop", action="store_true", help="the job goes by the shop's prices again")
    people = action(actions, "people", parents=[shop, who], help="how well people work: list them; set one's")
    people.add_argument("name", nargs="?", metavar="NAME", help="whose")
    words = "how far a {} is off, two times in three"
    people.add_argument("--mark", metavar="LENGTH", help=words.format("mark"))
    people.add_argument("--angle", dest="angle_deg", type=figure("--angle"), metavar="DEG", help=words.format("bend"))
    people.add_argument(
        "--plane", dest="roll_deg", type=figure("--plane"), metavar="DEG", help=words.format("bend's plane")
    )
    people.add_argument("--cut", metavar="LENGTH", help=words.format("cut"))
    people.add_argument("--unit", dest="units", choices=("in", "mm"), help="unit of lengths written without one")
    out = people.add_mutually_exclusive_group()
    out.add_argument("--remove", action="store_true", help="take them out of the list")
    for parser, group in ((prices, away), (people, out)):
        group.add_argument("--log", action="store_true", help="the revisions: by whom, when, and what changed")
        group.add_argument("--undo", action="store_true", help="as it was before the last change, as a new revision")
        group.add_argument("--to", type=whole("--to", 1, 10**9), metavar="N", help="as at revision N again")
        parser.add_argument("--anyone", action="store_true", help="also where somebody else made the last change")
    words = "what the job's runs are cut from: list it; with sticks, set them"
    stock = action(actions, "stock", parents=[job, who], help=words)
    stock.add_argument("raceway", nargs="?", metavar="RACEWAY", help="for example 'EMT 1/2'")
    stock.add_argument("length", nargs="?", metavar="LENGTH", help="of a stick: '10 ft'; bought as needed unless told")
    many = stock.add_mutually_exclusive_group()
    number = whole("--on-hand", 0, 100_000)
    many.add_argument("--on-hand", type=number, metavar="N", help="so many sticks are on hand; 0: none any more")
    number = whole("--offcuts", 0, 100_000)
    many.add_argument(
        "--offcuts", type=number, metavar="N", help="so many offcuts, used where that saves a new stick; 0: none"
    )
    many.add_argument("--remove", action="store_true", help="no sticks of this length any more")
    stock.add_argument("--price", metavar="MONEY", help="what one costs, where it is bought")
    stock.add_argument("--note", metavar="TEXT", help="where they lie, what they are left from")
    stock.add_argument("--kerf", metavar="LENGTH", help="what the saw takes")
    stock.add_argument("--keep", metavar="LENGTH", help="an offcut at least so long is kept")
    words = "what the job needs that no plan shows, beside its runs: list it; with a count, set it"
    items = action(actions, "items", parents=[job, who], help=words)
    items.add_argument("item", nargs="?", metavar="ITEM", help="as the bill is to name it: '4 in square box'")
    how_many = items.add_mutually_exclusive_group()
    how_many.add_argument("--count", type=whole("--count", 0, 1_000_000), metavar="N", help="so many; 0: none any more")
    how_many.add_argument("--remove", action="store_true", help="none any more")
    wire = action(actions, "wire", parents=[job, who], help="what each wire of the job takes more than its run")
    wire.add_argument("--slack", metavar="LENGTH", help="at each end of a run")
    wire.add_argument("--waste", type=figure("--waste"), metavar="PERCENT", help="on all wire")
    for parser in (prices, people, stock, items, wire):
        parser.add_argument("--json", action="store_true", help="as JSON")


def _out_arguments(actions: Actions, job: Parser) -> None:
    words = "the hand-over pack: cover, run index, bench pages, bill, cut list, checks and as-built notes as one PDF"
    pack = action(actions, "pack", parents=[job], help=words)
    pack.add_argument("file", metavar="OUT", type=ending(".pdf"), help="the PDF to write")
    pack.add_argument("--paper", choices=("letter", "a4"), help="paper size (letter for inches, a4 for mm)")
    cards = pack.add_mutually_exclusive_group()
    entire, none = "the runs' whole cards in place of their bench pages", "leave the runs' bench pages and cards out"
    cards.add_argument("--whole-cards", dest="cards", action="store_const", const="whole", help=entire)
    cards.add_argument("--no-cards", dest="cards", action="store_const", const="none", help=none)
    pack.add_argument("--made-by", metavar="NAME", help="printed on the cover (else room to write)")
    words = "labels for the pieces, one a piece and copy: sheets as PDF or SVG, or a table as CSV or XLSX"
    labels = action(actions, "labels", parents=[job], help=words)
    labels.add_argument("file", metavar="OUT", type=ending(".pdf", ".svg", ".csv", ".xlsx"), help="the file to write")
    add = Fields(labels)
    number = "of the sheet (10 by 3)"
    add("--rows", f"rows {number}", type=whole("--rows", 1, 60), metavar="N")
    add("--columns", f"columns {number}", type=whole("--columns", 1, 12), metavar="N")
    add("--paper", "paper size (letter for inches, a4 for mm)", choices=("letter", "a4"))
    add("--margin-top", "from the paper's edge to the first row (1/2 in)", metavar="LENGTH")
    add("--margin-left", "from the paper's edge to the first column (1/2 in)", metavar="LENGTH")
    add("--gap-across", "between two columns (0)", metavar="LENGTH")
    add("--gap-down", "between two rows (0)", metavar="LENGTH")
    add("--label-width", "of one label (else as the paper has room)", metavar="LENGTH")
    add("--label-height", "of one label (else as the paper has room)", metavar="LENGTH")
    add("--skip", "so many labels of the first sheet are used up", type=whole("--skip", 0, 719), metavar="N")
    labels.add_argument("--no-lines", action="store_true", help="no lines to cut along, for a sheet of labels")
    words = "only runs and copies of this status (else those not bent yet); may be repeated"
    labels.add_argument("--status", action="append", choices=STATES, help=words)
    words = "the job as DXF (a file for each run), glTF or IFC4, for a drawing or the office's model"
    models = action(actions, "models", parents=[job], help=words)
    models.add_argument("--dxf", metavar="FOLDER", help="write a DXF file for each run (needs the extra 'dxf')")
    add_model_arguments(models)
    for parser in (pack, labels, models):
        parser.add_argument("--area", metavar="NAME", help="only the runs of this area")


def _file_arguments(actions: Actions, shop: Parser, job: Parser, who: Parser) -> None:
    out = action(actions, "export", parents=[job], help="write the whole job as one plain JSON file")
    out.add_argument("file", metavar="OUT", type=ending(".json", dash=True), help="the file to write; '-' prints it")
    into = action(
        actions,
        "import",
        parents=[shop, who],
        help="a job file, or a folder of shared runs, becomes a job; what is new of it goes into the job that it is of",
    )
    into.add_argument("file", metavar="FILE", help="a job file, or a folder of shared runs")
    into.add_argument("--key", metavar="KEY", help="a new job's short name (else the file's name)")
    into.add_argument(
        "--replace", action="store_true", help="what the job that is here says differently becomes as the file has it"
    )
    words = "a whole, checked copy; without OUT beside the shop file"
    backup = action(actions, "backup", parents=[shop], help=words)
    backup.add_argument("file", nargs="?", metavar="OUT", help="the copy to write (else beside the shop file)")
    action(actions, "recover", parents=[shop], help="put the newest whole backup in a damaged file's place")
    action(actions, "check", parents=[shop], help="whether the whole file is as it was saved")


def run(args: argparse.Namespace) -> int:
    """Do one action; its module is loaded only then."""
    action = args.job_action or "list"
    module = import_module(f"racewright.cli.job.{_ACTIONS[action]}")
    return int(getattr(module, f"{action}_job")(args))
