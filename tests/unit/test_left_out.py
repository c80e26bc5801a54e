"""What a bill, a cut list and a pack leave out stands before their first table, with why and what to do, and once."""

from __future__ import annotations

import csv
import html
import json
import re
from collections.abc import Callable
from io import StringIO
from pathlib import Path
from typing import Any

import msgspec
import pytest

from racewright.cards.takeoff_tables import left_out_table
from racewright.cards.text.tail import left_out
from racewright.cli.main import main
from racewright.operations.answer import ask_json
from racewright.records.entry import BendMade, Entry, Made, Pins, Status, StatusSet
from racewright.records.model import Area, Item, Job, JobHead, JobRun, Stock, Wire
from racewright.records.prices import NO_PRICES, Price, Prices
from racewright.store.job_file import job_to_json, write_job
from racewright.store.survey_file import survey_from_text
from racewright.survey.written import WrittenPart, WrittenRun, WrittenSurvey

STRAIGHT = "  raceway: EMT 1/2\n  walk:\n    - leg: 41\n"
OTHER = "  raceway: EMT 3/4\n  walk:\n    - leg: 50\n"
#: Two sticks.
LONG = "  raceway: EMT 1/2\n  walk:\n    - leg: 41\n    - turn: left\n    - leg: 150\n    - turn: left\n    - leg: 30\n"
BENT = "  raceway: EMT 1/2\n  walk:\n    - leg: 41\n    - turn: left\n    - leg: 22\n"
OPEN = "  raceway: EMT 1/2\n  start: {fitting: none}\n  walk:\n    - leg: 41\n"
#: Two corners nearer to each other than the shoe needs.
NO_PLAN = "  raceway: EMT 1/2\n  walk:\n    - leg: 3\n    - turn: left\n    - leg: 40\n"
NO_STICK = "  raceway: EMT 3/4\n  clearance: 1/4\n  stock: [19]\n  walk:\n    - leg: 56 1/4\n      features:\n"
NO_STICK += "        - saddle: {centre: 26 1/8, height: 2 7/8}\n"
#: No straight for the hook at one end of the offset.
STUCK = "  raceway: EMT 1/2\n  walk:\n    - leg: 37 1/2\n      features:\n"
STUCK += "        - offset: {rise: 6, starts_at: 1/2, angle: 60}\n"
WIRES = (Wire(size="12", count=3),)
PRICED = Prices(
    currency="USD",
    items=(
        Price(item="EMT 1/2, 10 ft", price="7.10"),
        Price(item="EMT 1/2", labour_h="0.02", per="ft"),
    ),
)
Told = Callable[..., str]


def job(*runs: tuple[str, str], wires: tuple[Wire, ...] = WIRES, prices: Prices = NO_PRICES, **head: Any) -> Job:
    """Runs by key, each the text of its survey below `run:`; a key with a status behind it ('WS-1 bent') has that."""
    made, entries = [], []
    for named, text in runs:
        key, _, status = named.partition(" ")
        survey = survey_from_text(f"run:\n  name: where {key} goes\n{text}").written
        run = JobRun(key=key, survey=survey, wires=wires, area=key.partition("-")[0])
        made.append(run)
        if status:
            entries.append(Entry(run=run.id, what=StatusSet(status=msgspec.convert(status, Status))))
    areas = tuple(Area(name=name) for name in dict.fromkeys(run.area for run in made))
    head_ = JobHead(name="Orchard workshop", areas=areas, **head)
    return Job(head=head_, runs=tuple(made), entries=tuple(entries), prices=prices)


@pytest.fixture
def told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Told:
    """What `racewright job ...` prints for a job."""
    shops: list[str] = []

    def say(made: Job, *command: str) -> str:
        shops.append(str(tmp_path / f"{len(shops)}.rwshop"))
        write_job(tmp_path / "job.json", made)
        assert main(["job", "import", str(tmp_path / "job.json"), "--shop", shops[-1]]) == 0
        capsys.readouterr()
        main(["job", *command, "--shop", shops[-1]])
        return capsys.readouterr().out

    return say


def block(text: str) -> list[str]:
    """The lines of the block at the top, each in one, without the dash."""
    lines = text.split("\n\n")[0].splitlines()
    assert lines[0] == "NOT INCLUDED", text
    return " ".join(line.strip() for line in lines[1:]).removeprefix("- ").split(" - ")


def below(text: str) -> str:
    return " ".join(text.split("\n\n", 1)[1].split())


def test_a_run_without_a_plan_stands_above_the_bill_and_the_cut_list_with_why_and_a_hint_and_nowhere_again(
    told: Told,
) -> None:
    made = job(("WS-1", STRAIGHT), ("WS-2", NO_PLAN))
    for command in ("bill", "cut"):
        text = told(made, command)
        first = block(text)[0]
        assert first.startswith("WS-2: no plan, so left out: ")
        assert first.endswith("Move them apart, use flatter angles, or go another way round.")
        assert "hint:" not in first
        assert "left out" not in below(text)
        assert "job.no_plan" not in below(text)


def test_many_runs_without_a_plan_are_counted_in_one_line_and_told_one_by_one_below(told: Told) -> None:
    text = told(job(*((f"WS-{k}", NO_PLAN) for k in range(1, 8)), ("WS-9", STRAIGHT)), "cut")
    (first,) = block(text)
    assert first.startswith(
        "7 runs have no plan, so nothing of them is counted or cut: WS-1, WS-2, WS-3, WS-4, WS-5 and"
    )
    assert " and 2 more. " in first
    assert len(re.findall(r"no plan, so left out: ", below(text))) == 7


def unfinished(made: Job, count: int) -> Job:
    """With so many runs more of which a leg is not measured yet."""
    walk = (WrittenPart(leg="41"), WrittenPart(turn="left"), WrittenPart(leg=""))
    more = (
        JobRun(key=f"PH-{k}", survey=WrittenSurvey(run=WrittenRun(name=f"to fan {k}", raceway="EMT 1/2", walk=walk)))
        for k in range(1, count + 1)
    )
    return msgspec.structs.replace(made, runs=(*made.runs, *more))


def test_a_run_that_is_not_measured_to_the_end_says_what_is_open_and_many_are_counted_apart(told: Told) -> None:
    made = job(("WS-1", STRAIGHT), ("WS-2", NO_PLAN))
    text = told(unfinished(made, 1), "cut")
    assert block(text)[0].startswith("PH-1: no plan, so left out: still to be measured: length of leg 2. Take these ")
    assert block(text)[1].startswith("WS-2: no plan, so left out: leg 1: between end A and turn 1")
    assert "still to be measured" not in below(text)
    lines = block(told(unfinished(made, 6), "bill"))
    assert lines[0].startswith("6 runs are still to be measured, so nothing of them is counted or cut: PH-1, PH-2, ")
    assert lines[1].startswith("WS-2: no plan, so left out: ")


def test_a_run_that_no_stick_can_give_says_where_it_stands_what_would_work(told: Told) -> None:
    text = told(job(("WS-1", STRAIGHT), ("WS-2", NO_STICK)), "bill")
    assert block(text)[0].startswith("WS-2: no stick is long enough, so nothing of it is counted or cut.")
    assert "run.sticks" in below(text)


def test_a_piece_that_waits_stands_above_the_cut_list_once(told: Told) -> None:
    text = told(job(("WS-1", STRAIGHT), ("WS-2", STUCK)), "cut")
    assert block(text)[0].startswith("EMT 1/2: Waiting, not to be cut yet: WS-2 ")
    assert "Waiting" not in below(text)


def test_what_is_cut_already_is_named_above_the_list_that_leaves_it_out_and_above_the_one_that_does_not(
    told: Told,
) -> None:
    made = job(("WS-1", STRAIGHT), ("WS-2 bent", STRAIGHT), ("WS-3 in", STRAIGHT))
    (line,) = block(told(made, "cut"))
    assert line.startswith("Cut already, so not on the cut list: WS-2 (bent); WS-3 (in place). ")
    (line,) = block(told(made, "cut", "--all"))
    assert line == "Cut already, yet on the cut list: WS-2 (bent); WS-3 (in place). Do not cut them again."
    assert "Bought already, yet on the bill: WS-2 (bent); WS-3 (in place). Take off what is there." in block(
        told(made, "bill")
    )


def rooms_half_done() -> Job:
    """Twenty rooms alike: 1 to 8 and 10 bent, of 9 a bend is made; six runs more that are bent."""
    made = job(("RM-1", BENT), *((f"MH-{k} bent", STRAIGHT) for k in range(1, 7)))
    room = msgspec.structs.replace(made.runs[0], times=20)
    bent = [Entry(run=room.id, copy=n, what=StatusSet(status="bent")) for n in (*range(1, 9), 10)]
    begun = Entry(run=room.id, copy=9, piece=1, what=Made(bends=(BendMade(number=1),)))
    return msgspec.structs.replace(made, runs=(room, *made.runs[1:]), entries=(*made.entries, *bent, begun))


OTHERS = "; ".join(f"MH-{k} (bent)" for k in range(1, 7))


def test_of_runs_alike_what_is_cut_already_is_named_by_copy_and_each_piece_is_marked(told: Told) -> None:
    made = rooms_half_done()
    text = told(made, "cut", "--all")
    (line,) = block(text)
    assert line == (
        f"Cut already, yet on the cut list: RM-1#1 to 8, 10 (9 bent); {OTHERS}; RM-1#9 (begun). Do not cut them again."
    )
    marked = set(re.findall(r"(\S+) [-\d /]+ \([^)]*\) CUT ALREADY", below(text)))
    assert marked == {*(f"RM-1#{n}" for n in range(1, 11)), *(f"MH-{k}" for k in range(1, 7))}


def test_a_piece_that_is_begun_at_the_bench_gets_no_stick_again(told: Told) -> None:
    text = told(rooms_half_done(), "cut")
    assert set(re.findall(r"RM-1#\d+", below(text))) == {f"RM-1#{n}" for n in range(11, 21)}
    assert "CUT ALREADY" not in text
    assert block(text)[1].startswith("Cut already, so not on the cut list: RM-1#9 (begun). Finish it by its card;")


def test_of_a_run_in_pieces_the_begun_one_is_named_until_its_run_is_bent(told: Told) -> None:
    """Of runs alike with its copy; one that is set back, and of which a bend is made again, is begun again."""
    made = job(("WS-1", LONG), ("WS-2", LONG))
    alike = msgspec.structs.replace(made.runs[1], times=2)

    def bend(run: JobRun, piece: int, copy: int | None = None) -> Entry:
        return Entry(run=run.id, piece=piece, copy=copy, what=Made(bends=(BendMade(number=1),)))

    def status(to: Status, copy: int | None = None) -> Entry:
        return Entry(run=alike.id, copy=copy, what=StatusSet(status=to))

    entries = [bend(made.runs[0], 2), bend(alike, 1, 1), bend(alike, 2, 2), status("bent", 2)]
    half = msgspec.structs.replace(made, runs=(made.runs[0], alike), entries=tuple(entries))
    line = next(line for line in block(told(half, "cut", "--all")) if "Cut already" in line)
    assert line == (
        "Cut already, yet on the cut list: WS-2#2 (1 bent); WS-1-2 (begun); WS-2-1#1 (begun). Do not cut them again."
    ).replace("(1 bent)", "(bent)")
    again = msgspec.structs.replace(half, entries=(*entries, status("measured", 2), bend(alike, 1, 2)))
    line = next(line for line in block(told(again, "cut", "--all")) if "Cut already" in line)
    assert "WS-1-2 (begun); WS-2-1#1 (begun); WS-2-1#2 (begun)." in line


def test_bill_and_kits_name_what_is_there_by_copy_and_a_kits_piece_says_of_which(told: Told) -> None:
    made = rooms_half_done()
    there = f"RM-1#1 to 8, 10 (9 bent); {OTHERS}; RM-1#9 (begun)"
    assert f"Bought already, yet on the bill: {there}. Take off what is there." in block(told(made, "bill"))
    text = told(made, "kits")
    assert f"There already, yet in the kits: {there}. Leave out what is there." in block(text)
    assert ": RM-1  cut already: copies 1 to 10" in text
    assert ": MH-1  cut already\n" in text


def test_cover_bill_and_kits_agree_where_another_plan_made_two_of_three(told: Told) -> None:
    made = job(("RM-1", BENT), ("WS-1", STRAIGHT))
    room = msgspec.structs.replace(made.runs[0], times=3)
    by = Pins(marks="LJ8YBQ")
    bent = [Entry(run=room.id, copy=n, what=StatusSet(status="bent"), pins=by) for n in (1, 2)]
    made = msgspec.structs.replace(made, runs=(room, made.runs[1]), entries=(*made.entries, *bent))
    feet = re.search(r"EMT 1/2, cut length +([\d.]+) ft", told(made, "bill"))
    cover = pages(made)[0][0]
    assert feet, "on the bill"
    assert f"new sticks EMT 1/2 2 1 {float(feet[1]):.1f} ft 1 Open items" in cover
    text = told(made, "kits")
    assert re.search(r"RM-1  made by plan LJ8YBQ, not to this length: copies 1 to 2\n", text)
    assert "its sticks are their pieces, but for those that another plan made: they are on no bill." in text


def test_the_packs_cut_list_marks_what_is_cut_already() -> None:
    cuts = next(page for page in pages(rooms_half_done())[0] if "Cut list" in page and "NOT INCLUDED" in page)
    assert cuts.count("CUT ALREADY") >= 1
    assert within("RM-1#9 CUT ALREADY", " ".join(pages(rooms_half_done())[0]))
    assert not within("RM-1#11 CUT ALREADY", " ".join(pages(rooms_half_done())[0]))


def test_a_raceway_that_was_not_asked_for_is_named(told: Told) -> None:
    made = job(("WS-1", STRAIGHT), ("WS-2", OTHER))
    (line,) = block(told(made, "cut", "--raceway", "EMT 3/4"))
    assert line.startswith("Not on this cut list: EMT 1/2, not asked for here.")


def test_a_raceway_of_which_nothing_is_left_to_cut_has_no_list_of_its_own(told: Told) -> None:
    made = job(("RM-1", BENT), ("WS-2", OTHER))
    begun = Entry(run=made.runs[0].id, piece=1, what=Made(bends=(BendMade(number=1),)))
    made = msgspec.structs.replace(made, entries=(*made.entries, begun))
    for line in ([], ["--raceway", "EMT 3/4"]):
        (words,) = block(told(made, "cut", *line))
        assert words.startswith("Cut already, so not on the cut list: RM-1 (begun).")
    assert block(told(made, "cut", "--all", "--raceway", "EMT 3/4"))[1].startswith("Not on this cut list: EMT 1/2, not")


def test_nothing_left_out_of_a_cut_list_is_said_in_one_line(told: Told) -> None:
    made = job(("WS-1", STRAIGHT), ("WS-2", OTHER))
    assert block(told(made, "cut")) == ["Nothing known is left out."]
    assert json.loads(told(made, "cut", "--json"))["not_included"] == []


def test_a_bill_with_all_prices_and_hours_says_what_no_plan_shows(told: Told) -> None:
    items = ("EMT 1/2, 10 ft", "EMT 1/2 set-screw connector", "EMT 1/2 strap", "wire 12 THWN-2")
    prices = [Price(item=name, price="1", labour_h="1", per="ft" if "wire" in name else "each") for name in items]
    priced = Prices(items=(*prices, Price(item="EMT 1/2", labour_h="1")), labour_rate="40")
    (line,) = block(told(job(("WS-1", STRAIGHT), prices=priced), "bill"))
    assert line.startswith("Nothing else known is left out, but counted only where items of the run or of the job name")
    for what in ("boxes", "pull boxes", "anchors, screws", "grounding bushings", "spares", "Tax and freight"):
        assert what in line


def test_runs_without_wires_and_open_ends_are_told_above_the_bill(told: Told) -> None:
    bare = job(("WS-1", OPEN), wires=())
    both = msgspec.structs.replace(bare, runs=(*bare.runs, *job(("WS-2", STRAIGHT)).runs))
    lines = block(told(both, "bill"))
    assert lines[0].startswith("Wire: none for 1 run that names no wires (WS-1). ")
    assert lines[1].startswith("Fittings: none for 1 end left open (WS-1 end A). ")
    assert block(told(bare, "bill"))[0].startswith("Wire: none, because no run names its wires. ")


def test_five_runs_are_named_and_of_six_one_more_is_counted(told: Told) -> None:
    five = block(told(job(*((f"WS-{k}", OPEN) for k in range(1, 6))), "bill"))[0]
    assert five.startswith("Fittings: none for 5 ends left open (WS-1 end A, ")
    assert five.partition("(")[2].startswith("WS-1 end A, WS-2 end A, WS-3 end A, WS-4 end A, WS-5 end A). ")
    six = block(told(job(*((f"WS-{k}", OPEN) for k in range(1, 7))), "bill"))[0]
    assert "WS-5 end A and 1 more). " in six


def test_a_run_of_which_no_strap_reaches_a_part_is_told_above_the_bill(told: Told) -> None:
    """Behind an offset it lies off its surface to the end."""
    away = "  raceway: EMT 1/2\n  walk:\n    - leg: 70\n      features:\n"
    away += "        - offset: {rise: 2 1/4, starts_at: 21, angle: 22.5}\n"
    line = next(line for line in block(told(job(("WS-1", STRAIGHT), ("WS-2", away)), "bill")) if "Supports" in line)
    assert line.startswith("Supports: no strap is counted for parts of WS-2; each card says where (run.supports). ")
    assert line in block(told(job(("WS-1", STRAIGHT), ("WS-2", away)), "kits"))
    for command in ("bill", "kits"):
        assert "Supports" not in " ".join(block(told(job(("WS-1", STRAIGHT)), command)))


def test_what_is_on_hand_is_not_bought_and_it_says_so(told: Told) -> None:
    stock = (Stock(raceway="EMT 1/2", length="60", offcut=True),)
    assert block(told(job(("WS-1", STRAIGHT), stock=stock), "bill"))[0].startswith(
        "On hand, so not bought: sticks and offcuts, 1 of EMT 1/2. "
    )


def test_a_stick_on_hand_is_no_offcut(told: Told) -> None:
    stock = (Stock(raceway="EMT 1/2", length="45", offcut=True), Stock(raceway="EMT 1/2", length="10 ft", count=2))
    made = job(("WS-1", LONG), ("WS-2", STRAIGHT), stock=stock)
    text = told(made, "cut")
    assert "[offcut 1, 45]" in text
    assert "[stick on hand 2, 120]" in text
    cuts = next(page for page in pages(made)[0] if "Cut list" in page and "NOT INCLUDED" in page)
    assert "stick on hand 2" in cuts
    assert "offcut 2" not in cuts + text


def test_money_that_is_missing_is_told_above_the_sum_that_is_too_low(told: Told) -> None:
    text = told(job(("WS-1", STRAIGHT), prices=PRICED, items=(Item(item="single-gang box"),)), "bill")
    lines = block(text)
    assert lines[0].startswith(
        "4 items have no price, so the sum for material is too low: EMT 1/2 set-screw connector; "
    )
    assert " and 1 more. " in lines[0]
    assert lines[1].startswith("4 items have no hours, so the sum for labor is too low: ")
    assert "10 ft" not in lines[1]  # a stick has none of its own
    assert lines[2].startswith("Money for labor: the job's prices say nothing of what an hour costs.")
    assert "not priced" not in below(text)
    assert block(told(job(("WS-1", STRAIGHT)), "bill"))[0].startswith("Money and hours: no prices are given here. ")


@pytest.mark.parametrize("command", ["bill", "cut"])
def test_a_file_of_tables_begins_with_it_and_each_table_stands_under_its_name(
    told: Told, tmp_path: Path, command: str
) -> None:
    made = job(("WS-1", STRAIGHT), ("WS-2", NO_PLAN))
    path = tmp_path / "tables.csv"
    text = told(made, command, "--out", str(path))
    rows = list(csv.reader(StringIO(path.read_text(encoding="utf-8-sig"), newline="")))
    assert rows[0] == ["NOT INCLUDED"]
    assert rows[1] == ["what, why, what to do"]
    end = rows.index([])
    assert [row[0] for row in rows[2:end]] == block(text)
    assert rows[end + 1] == [{"bill": "Bill", "cut": "Cut list"}[command]]
    assert rows[end + 2][0] in ("group", "raceway")


def test_a_workbook_opens_on_it(told: Told, tmp_path: Path) -> None:
    openpyxl: Any = pytest.importorskip("openpyxl")
    path = tmp_path / "bill.xlsx"
    text = told(job(("WS-1", STRAIGHT), ("WS-2", NO_PLAN)), "bill", "--out", str(path))
    book = openpyxl.load_workbook(path)
    assert book.sheetnames[:2] == ["NOT INCLUDED", "Bill"]
    assert book.active.title == "NOT INCLUDED"
    rows = [row[0] for row in book["NOT INCLUDED"].iter_rows(min_row=2)]
    assert [cell.value for cell in rows] == block(text)
    assert rows[0].alignment.wrapText  # a sentence is read whole, in its cell


def test_where_nothing_is_left_out_text_and_table_say_so() -> None:
    assert left_out(()) == ["NOT INCLUDED", "- Nothing known is left out."]
    assert left_out_table(()).rows == (("Nothing known is left out.",),)


def pages(made: Job, **more: Any) -> tuple[list[str], list[str]]:
    """What the pack's pages say, each as one text, and what the answer says is left out."""
    request = {"job": json.loads(job_to_json(made)), "form": "svg", "cards": "none"} | more
    answer = json.loads(ask_json("job_pack", json.dumps(request)))
    texts = [re.findall(r"<text[^>]*>([^<]*)</text>", page) for page in answer["svg"]]
    return [" ".join(html.unescape(" ".join(words)).split()) for words in texts], answer["not_included"]


def within(line: str, page: str) -> bool:
    """Whether a page says a line, wherever it breaks it."""
    return "".join(line.split()) in "".join(page.split())


def test_the_packs_cover_bill_and_cut_list_each_begin_with_what_they_leave_out() -> None:
    made = job(("WS-1", STRAIGHT), ("WS-2", NO_PLAN), ("WS-3 bent", STRAIGHT), ("WS-4", STUCK), prices=PRICED)
    told_pages, lines = pages(made)
    cover, bill, cuts = told_pages[0], *(p for p in told_pages[1:] if "NOT INCLUDED" in p)
    waiting, again, price = (
        next(line for line in lines if words in line) for words in ("Waiting", "Do not cut them again", "no price")
    )
    for line in lines:
        assert within(line, cover)
    assert cover.index("NOT INCLUDED") < cover.index("How far it has come")
    assert bill.index("NOT INCLUDED") < bill.index("Whole job")
    assert cuts.index("NOT INCLUDED") < cuts.index("EMT 1/2: ")
    for page in (cover, bill, cuts):
        assert page.count("WS-2: no plan, so left out: ") == 1
    assert within(price, bill)
    assert not within(price, cuts)
    for line in (waiting, again):
        assert within(line, cuts)
        assert not within(line, bill)
    assert "Without a figure" not in bill
    assert " ".join(told_pages).count("Waiting, not to be cut yet") == 2  # the cover, and the cut list


def test_a_pack_of_one_area_says_what_it_is_not_of() -> None:
    made = job(("WS-1", STRAIGHT), ("WS-2", OTHER), ("PS-1", STRAIGHT), ("PS-2", STRAIGHT))
    (cover, *others), lines = pages(made, area="ws")
    assert "whole job" not in " ".join([cover, *others]).casefold()  # its totals are of that area
    assert "whole job" in " ".join(pages(made)[0])
    assert lines[0].startswith("This is of WS alone: 2 runs of other areas are left out.")
    assert within(lines[0], cover)


def test_a_pack_without_any_plan_says_so_before_it_says_that_there_is_no_bill() -> None:
    told_pages, _ = pages(job(("WS-1", NO_PLAN)))
    (page,) = (p for p in told_pages if "so there is nothing to count" in p)
    assert page.index("WS-1: no plan, so left out: ") < page.index("No run has a plan")
