"""The hand-over pack's PDF read back by pypdf, a library that is not ours: words, page numbers, outline, links."""

from __future__ import annotations

import re
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest

from racewright.cards.pack import build_pack
from racewright.cards.pack_model import Pack, PackDocument
from racewright.exports.pdf import to_pdf
from racewright.job.plan_job import PlannedRun
from racewright.plan.model import Plan
from racewright.plan.plan_run import plan_run
from racewright.records.model import Job, JobHead, JobRun
from racewright.store.survey_file import read_survey_file
from racewright.survey.written import WrittenRun, WrittenSurvey
from racewright.takeoff.bill import make_bill
from racewright.takeoff.bill_model import RunMaterials
from racewright.takeoff.cutting_model import WantedPiece
from racewright.units.tape import read_tape, reading

pypdf = pytest.importorskip("pypdf")
pytest.importorskip("reportlab")
EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.yaml"))


@pytest.fixture(scope="module")
def plans() -> dict[str, Plan]:
    return {f"R-{k:02d}": plan_run(read_survey_file(path).survey) for k, path in enumerate(EXAMPLES, start=1)}


def packed(key: str, plan: Plan, area: str = "") -> PlannedRun:
    survey = WrittenSurvey(run=WrittenRun(name=plan.name, raceway=plan.raceway, walk=()))
    return PlannedRun(run=JobRun(key=key, survey=survey, area=area), plan=plan)


@pytest.fixture(scope="module")
def document(plans: dict[str, Plan]) -> PackDocument:
    runs = tuple(packed(key, plan, plan.name.split(",")[0]) for key, plan in plans.items())
    needs = [
        RunMaterials(
            run=key,
            raceway=plan.raceway,
            pieces=tuple(
                WantedPiece(label=key, length_mm=read_tape(p.cut_length_mm, plan.tape).shown_mm, run=key)
                for p in plan.pieces
            ),
        )
        for key, plan in plans.items()
    ]
    bill = make_bill(needs)
    return build_pack(Pack(job=Job(head=JobHead(name="Orchard cooperative")), runs=runs, bill=bill))


@pytest.fixture(scope="module")
def pdf(document: PackDocument) -> Any:
    return pypdf.PdfReader(BytesIO(to_pdf(document.scene, document.outline, document.links)))


@pytest.fixture(scope="module")
def words(pdf: Any) -> list[str]:
    return [page.extract_text() for page in pdf.pages]


def card_words(key: str, words: list[str]) -> str:
    return "\n".join(text for text in words if f"run {key}, sheet " in text)


def test_every_runs_marks_are_on_its_card(plans: dict[str, Plan], words: list[str]) -> None:
    for key, plan in plans.items():
        card = card_words(key, words)
        for piece in plan.pieces:
            for bend in piece.bends:
                assert reading(bend.mark_tape, plan.tape.unit) in card


def test_every_page_says_which_it_is(words: list[str]) -> None:
    for number, text in enumerate(words, start=1):
        assert re.findall(r"page (\d+) of (\d+)", text) == [(str(number), str(len(words)))]


def test_the_contents_name_the_right_pages(document: PackDocument, words: list[str]) -> None:
    contents = next(text for text in words if "Contents and run index" in text)
    heads = {"Bill": "Bill", "Cut list": "Cut list", "What the checks found": "What the checks found"}
    heads["As-built notes and signatures"] = "As-built notes"
    for title, head in heads.items():
        (page,) = {e.page for e in document.outline if e.title == title}
        assert re.search(rf"{title}\s+{page}\b", contents)
        assert head in words[page - 1]
        assert not re.search(rf"^{title}$", words[page - 2].split("Local codes")[0], re.MULTILINE)


def test_the_index_names_the_page_where_a_runs_card_begins(plans: dict[str, Plan], words: list[str]) -> None:
    index = "\n".join(text for text in words if "Contents and run index" in text)
    for key in plans:
        (first,) = [n for n, text in enumerate(words, start=1) if f"run {key}, sheet 1 of " in text]
        row = index[index.index(key) :]
        after = row[: row.find("R-", 3)] if row.find("R-", 3) > 0 else row
        assert str(first) in after.split()


def test_the_outline_leads_where_the_contents_do(document: PackDocument, pdf: Any) -> None:
    def flat(items: list[Any]) -> list[tuple[str, int]]:
        out = []
        for item in items:
            if isinstance(item, list):
                out += flat(item)
            else:
                out.append((item.title, pdf.get_destination_page_number(item) + 1))
        return out

    assert flat(pdf.outline) == [(entry.title, entry.page) for entry in document.outline]


def test_links_lead_to_their_pages(document: PackDocument, pdf: Any) -> None:
    found = []
    for number, page in enumerate(pdf.pages, start=1):
        for reference in page.get("/Annots", ()):
            target = reference.get_object()["/Dest"][0].get_object()
            found.append((number, pdf.get_page_number(target) + 1))
    assert sorted(found) == sorted((link.page, link.target) for link in document.links)


def test_findings_stand_with_their_citations(plans: dict[str, Plan], words: list[str]) -> None:
    checks = " ".join(" ".join(text.split()) for text in words if "What the checks found" in text)
    for plan in plans.values():
        for finding in plan.findings:
            assert finding.rule in checks
            assert " ".join(finding.citation.split()) in checks


def test_there_is_room_to_sign(words: list[str]) -> None:
    assert "Signatures" in words[-1]
    for who in ("bent by", "installed by", "wires pulled by", "checked by", "received by"):
        assert who in words[-1]
    assert "It approves nothing" in " ".join(words[-1].split())


def test_the_same_pack_is_the_same_file(document: PackDocument) -> None:
    assert to_pdf(document.scene, document.outline) == to_pdf(document.scene, document.outline)


def test_the_pack_without_cards_is_short(plans: dict[str, Plan]) -> None:
    plan = plans["R-01"]
    short = build_pack(Pack(job=Job(head=JobHead(name="Orchard")), runs=(packed("R-01", plan),)), cards="none")
    assert short.first_pages == {}
    assert "Run cards" not in [entry.title for entry in short.outline]
    assert len(short.scene.pages) <= 7
