"""The hand-over pack's pages: nothing overlaps, nothing leaves the paper, numbers and links lead to the right page."""

from __future__ import annotations

from decimal import Decimal
from itertools import combinations
from typing import Any

import msgspec
import pytest
from page_boxes import bounds, text_box
from plan_factory import every_plan, job_run

from racewright.cards.back_pages import shared_findings
from racewright.cards.front_pages import open_points
from racewright.cards.pack import build_pack
from racewright.cards.pack_model import Pack
from racewright.cards.text.job import cut_words
from racewright.drawing.scene import Box, Page, Scene, Text
from racewright.errors import Finding, InputError, LimitError, UnknownName
from racewright.job.plan_job import PlannedRun
from racewright.records.entry import STATUSES, Entry, Noted, StatusSet
from racewright.records.model import Job, JobHead, Wire
from racewright.survey.draft import Unfinished
from racewright.takeoff.bill import make_bill
from racewright.takeoff.bill_model import Part, PriceBook, PriceEntry, RunMaterials, WireNeed
from racewright.takeoff.cutting_model import CutRules, WantedPiece, cut_order
from racewright.units.tape import TapeStyle, TapeUnit, style_of

IN = TapeStyle()
REAM = Finding(rule="run.ream", severity="info", message="Ream every cut end.", citation="NFPA 70-2023 358.28")
BENDS = Finding(rule="run.bends", severity="caution", message="", citation="NFPA 70-2023 358.26")
LONG = "insulated-throat set-screw connector with a very long name that has to break " * 2
PRICES = PriceBook(
    (
        PriceEntry(item="EMT 1/2", price=Decimal("7.10"), labour_h=Decimal("0.8")),
        PriceEntry(item="wire 12 THWN-2 copper", per="100 ft", price=Decimal("31.40")),
    ),
    currency="crowns",
    labour_rate=Decimal("40"),
)


def make_pack(copies: int = 1, units: TapeUnit = "in", name: str = "Orchard cooperative", note: str = "") -> Pack:
    """Every plan of the factory as runs of three areas, not in the order of areas, and one run without a plan."""
    runs, entries = [], []
    for copy in range(copies):
        for k, plan in enumerate(every_plan().values()):
            key = f"R-{copy * 7 + k + 1:03d}"
            findings = (
                *plan.findings,
                REAM,
                msgspec.structs.replace(BENDS, message=f"{key} bends a lot"),
            )
            run = job_run(
                key,
                plan.name,
                area=("pump house", "packing shed", "")[k % 3],
                wires=(Wire(size="12", count=3),) if k == 1 else (),
                note="hung before the duct was moved" if k == 2 else "",
            )
            entries.append(Entry(run=run.id, what=StatusSet(status=STATUSES[k % 5])))
            if k == 2:
                entries.append(Entry(run=run.id, piece=1, what=Noted(note="far end 1/4 in low")))
            runs.append(PlannedRun(run=run, plan=msgspec.structs.replace(plan, findings=findings)))
    lost = job_run("R-999", "roof unit", "EMT 3/4")
    runs.append(PlannedRun(run=lost, plan=None, trouble=LimitError("the offset does not exist")))
    needs = [
        RunMaterials(
            run=run.key,
            area=run.area,
            raceway=run.raceway,
            pieces=(
                WantedPiece(label=f"{run.key}-1", length_mm=1800.0 + 60.0 * (k % 3), run=run.key),
                WantedPiece(label=f"{run.key}-2", length_mm=3048.0 if k == 2 else 900.0 + 60.0 * (k % 4), run=run.key),
            ),
            parts=(Part(group="strap", item="EMT 1/2 strap", count=3), Part(group="connector", item=LONG, count=2)),
            wires=(WireNeed(item="wire 12 THWN-2, black", count=2, length_mm=1200.0),),
        )
        for k, run in enumerate(runs)
    ]
    rules = CutRules(offcuts_mm=(1200.0,))
    bill = make_bill(needs, {"EMT 1/2": rules}, PRICES, style=style_of(units))
    job = Job(head=JobHead(name=name, units=units, note=note), runs=tuple(p.run for p in runs), entries=tuple(entries))
    return Pack(job=job, runs=tuple(runs), bill=bill, made_on="3 March")


def texts(page: Page) -> list[str]:
    return [item.text for item in page.items if isinstance(item, Text) and item.text.strip()]


def clashes(scene: Scene) -> list[tuple[str, str]]:
    """Boxes are ascent to descent, so lines set close may share 0.5 mm of empty descent."""
    out = []
    for page in scene.pages:
        boxes = [(t.text, text_box(t)) for t in page.items if isinstance(t, Text) and t.text.strip()]
        out += [(a, b) for (a, x), (b, y) in combinations(boxes, 2) if x.overlaps(y, 0.5)]
    return out


@pytest.fixture(scope="module", params=[("letter", "in"), ("a4", "mm")], ids=["letter", "a4"])
def built(request: pytest.FixtureRequest) -> Any:
    paper, units = request.param
    pack = make_pack(3, units, note="Feeders of the three buildings.")
    pack = msgspec.structs.replace(pack, made_by="the crew")
    return pack, build_pack(pack, paper)


def test_no_text_lies_on_another(built: Any) -> None:
    assert clashes(built[1].scene) == []


def test_everything_stays_within_the_margins(built: Any) -> None:
    for page in built[1].scene.pages:
        m = page.margin_mm
        sheet = Box(m, m, page.width_mm - m, page.height_mm - m)
        # 0.5 mm for half the stroke of lines that lie on the margin
        assert [item for item in page.items if not bounds(item).inside(sheet, 0.5)] == []


def test_pages_are_counted_through(built: Any) -> None:
    pages = built[1].scene.pages
    for number, page in enumerate(pages, start=1):
        counted = [text for text in texts(page) if text.startswith("page ") and " of " in text]
        assert counted == [f"page {number} of {len(pages)}"]


def test_every_planned_run_has_its_card_where_the_index_says(built: Any) -> None:
    pack, document = built
    pages = document.scene.pages
    assert set(document.first_pages) == {run.key for run in pack.runs if run.plan is not None}
    index = [row for page in pages if any("Contents and run index" in t for t in texts(page)) for row in texts(page)]
    for run in pack.runs:
        assert run.key in index
        if run.plan is None:
            continue
        number = document.first_pages[run.key]
        assert any(text.startswith(f"run {run.key}, sheet 1 of ") for text in texts(pages[number - 1]))
        assert str(number) in index


def test_outline_entries_begin_where_they_say(built: Any) -> None:
    _, document = built
    heads = {name: name for name in ("Contents", "Bill", "Cut list", "What the checks found")}
    heads |= {"Run index": "Runs", "As-built notes and signatures": "As-built notes"}
    seen = {entry.title: entry.page for entry in document.outline}
    for title, head in heads.items():
        assert head in texts(document.scene.pages[seen[title] - 1])
    runs = [entry for entry in document.outline if entry.title.startswith("R-")]
    assert [entry.page for entry in runs] == sorted(document.first_pages.values())
    assert seen["Run cards"] == seen["pump house"] == runs[0].page
    order = [entry.page for entry in document.outline]
    assert order == sorted(order)


def test_links_lead_to_what_stands_under_them(built: Any) -> None:
    _, document = built
    pages = document.scene.pages
    assert len(document.links) == 9 + len(document.first_pages)
    for link in document.links:
        words = [
            item.text
            for item in pages[link.page - 1].items
            if isinstance(item, Text) and text_box(item).inside(link.box, 0.6)
        ]
        assert str(link.target) in words


def test_contents_and_index_count_the_sheets_that_they_take_themselves() -> None:
    """Twenty-nine runs: with numbers of four digits the index would take a sheet more than it does."""
    document = build_pack(make_pack(4), "letter")
    pages = document.scene.pages
    fronts = [page for page in pages if "Contents and run index" in texts(page)]
    told = {entry.title: entry.page for entry in document.outline}
    covers = [page for page in pages if page.label.endswith(": Cover")]
    assert told["Run cards"] == len(covers) + len(fronts) + 1
    assert "Bill" in texts(pages[told["Bill"] - 1])
    lines = texts(fronts[0])
    for name in ("Run cards", "Bill", "Cut list", "As-built notes and signatures"):
        assert lines[lines.index(name) + 1] == str(told[name])
    for key, number in document.first_pages.items():
        assert any(text.startswith(f"run {key}, sheet 1 of ") for text in texts(pages[number - 1]))


def test_a_run_stands_with_its_area(built: Any) -> None:
    pack, document = built
    assert [run.key for run in pack.in_order if run.plan] == list(document.first_pages)
    areas = [run.area for run in pack.in_order]
    assert areas == sorted(areas, key=pack.areas.index)


def test_the_cover_names_what_stands_open() -> None:
    words = open_points(make_pack())
    assert words[0] == "1 run without a plan, so left out: R-999"
    assert words[1].startswith("2 problems of the checks, in 2 runs: ")
    unfinished = msgspec.structs.replace(make_pack().runs[-1], trouble=Unfinished(("leg 2",), InputError("leg 2")))
    assert open_points(msgspec.structs.replace(make_pack(), runs=(unfinished,))) == [
        "1 run still to be measured, so left out: R-999"
    ]
    assert any(word.startswith("7 cautions") or "cautions found" in word for word in words)
    quiet = msgspec.structs.replace(make_pack(), runs=())
    assert open_points(quiet) == ["nothing that the checks of this pack look for"]


def test_a_finding_of_many_runs_is_written_once() -> None:
    pack = make_pack()
    found = {finding.rule: keys for finding, keys in shared_findings(pack, "info")}
    assert found["run.ream"] == [run.key for run in pack.in_order if run.plan]
    shown = [text for page in build_pack(pack, cards="none").scene.pages for text in texts(page)]
    assert sum("Ream every cut end." in text for text in shown) == 1


def test_every_finding_stands_with_its_citation() -> None:
    pack = make_pack()
    words = " ".join(t for page in build_pack(pack).scene.pages if "What the checks found" in texts(page) or
                     any(t.startswith("checks") for t in texts(page)) for t in texts(page))  # fmt: skip
    for run in pack.runs:
        for finding in run.findings:
            assert finding.rule in words
            assert finding.citation in words


def test_every_piece_is_on_the_cut_list() -> None:
    pack = make_pack(4)
    words = " ".join(t for page in build_pack(pack).scene.pages for t in texts(page))
    for stick in pack.cuts[0].plan.sticks:
        assert all(piece.label in words for piece in stick.pieces)
    assert cut_words(pack.cuts[0].plan, IN) in words
    order = cut_order(pack.cuts[0].plan, IN)
    assert order.settings_one_by_one > len(order.settings)
    assert "set the stop at" in words
    assert "Whole sticks, not cut: " in words


def test_the_bill_shows_every_line_and_its_sums() -> None:
    pack = make_pack()
    assert pack.bill is not None
    pages = build_pack(pack).scene.pages
    words = [t for page in pages if any(t.startswith("bill") for t in texts(page)) for t in texts(page)]
    for line in pack.bill.job.lines:
        assert line.item.split()[0] in " ".join(words)
        assert f"{line.quantity:,f}" in words
    assert f"{pack.bill.job.material:,f}" in words
    assert f"{pack.bill.job.labour_h:,f}" in words
    assert f"Material and labor: {pack.bill.job.total:,f} crowns" in words
    assert {"Whole job", "pump house", "packing shed", "no area"} <= set(words)


def test_an_empty_job_is_a_pack_too() -> None:
    document = build_pack(Pack(job=Job(head=JobHead(name="Orchard cooperative")), runs=()))
    words = [text for page in document.scene.pages for text in texts(page)]
    assert "The job holds no runs yet." in words
    assert document.first_pages == {}
    assert clashes(document.scene) == []


def test_hostile_words_stay_within_the_paper() -> None:
    long = "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbau" * 3
    pack = make_pack(name=long, note="x\x00\x1b[31m\n" + long * 4)
    runs = tuple(
        msgspec.structs.replace(run, run=job_run(run.key, f"{long} \x07 <b>&", run.raceway, area=long))
        for run in pack.runs
    )
    document = build_pack(msgspec.structs.replace(pack, runs=runs))
    for page in document.scene.pages:
        sheet = Box(0.0, 0.0, page.width_mm, page.height_mm)
        assert [item for item in page.items if not bounds(item).inside(sheet)] == []


def test_another_paper_is_refused() -> None:
    with pytest.raises(UnknownName, match="no paper called 'legal'"):
        build_pack(make_pack(), "legal")
