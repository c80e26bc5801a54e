"""What the page works out for itself too: both are held to one table of cases (web-ui/test/same-in-both.test.ts)."""

from __future__ import annotations

import json
from math import degrees, radians
from pathlib import Path
from typing import Any

import msgspec
import pytest

from racewright.fit.measured import BendAngle
from racewright.plan.model import Step
from racewright.records.anew import marked_anew
from racewright.records.bends_left import as_recorded, bends_left, reopened, so_far, status_at_bench, steps_twice
from racewright.records.differ import differences
from racewright.records.entry import (
    Anew,
    BendMade,
    Corrected,
    Entry,
    Made,
    MadeEntry,
    MarkAnew,
    MoveMade,
    Noted,
    Pins,
    Readings,
    StatusSet,
    StepMade,
    TwistAnew,
    What,
    by_copy,
    made_of,
    status_words,
)
from racewright.records.ids import digest, new_id
from racewright.records.kinds import KINDS
from racewright.records.model import Job, JobHead, JobRun
from racewright.records.naming import piece_name, with_copies
from racewright.records.of_plan import of_digests
from racewright.records.other_marks import ticked_twice
from racewright.records.steps import steps_planned
from racewright.records.superseded import pieces_begun
from racewright.records.tool import Tool, ToolAt, ToolPin, tools_called
from racewright.store.job_changes import set_times
from racewright.store.job_store import JobStore
from racewright.tools.written import BenderRecord

CASES: dict[str, list[Any]] = json.loads((Path(__file__).parent / "same_in_both.json").read_text(encoding="utf-8"))
RUN = digest("run")
DONE: dict[str, What] = {
    "readings": Readings(measured=(BendAngle(number=1, angle_rad=0.8),)),
    "corrected": Corrected(moves=(MoveMade(number=1, by_rad=0.01),)),
    "note": Noted(note="the wall is wet"),
}


def entry(kind: str, *told: Any) -> Entry:
    """One of a case: a status of a copy (and the marks that it pins), a bend made of a piece of a copy (and its
    degrees, by which marks: the plan's, or the new marks with this number, how far its plane is off, where its mark
    stood), the bends that are made of a piece (of each its number, or this with its degrees and by which marks) and
    those that have new marks (and their number), what else was done on a piece of a copy, or any of these as somebody
    said it at a time, by the marks P."""
    if kind == "said":
        by, at, of = told
        one = entry(*of)
        pins = one.pins if one.pins.marks else Pins(marks="P")
        return msgspec.structs.replace(one, by=by, at=at, pins=pins)
    if kind == "status":
        status, copy, marks = (*told, None, None)[:3]
        return Entry(run=RUN, copy=copy, what=StatusSet(status=status), pins=Pins(marks=marks or ""))
    if kind == "made":
        bend, piece, copy, *told_of = (*told, None, None)[: max(3, len(told))]
        return Entry(run=RUN, piece=piece, copy=copy, what=Made(bends=(bend_made(bend, *told_of),)))
    if kind == "anew":
        bends, marks, piece, number = (*told, None)[:4]
        first = told[4] if len(told) > 4 else []
        anew = Anew(
            marks=tuple(MarkAnew(number=number, mark_mm=100.0, angle_rad=0.5) for number in marks),
            cut_first="cut" in first,
            trim_mm=8.0 if "cut" in first else 0.0,
            twisted=tuple(TwistAnew(number=one, by_rad=0.1, how=f"twist {one}") for one in first if one != "cut"),
        )
        made = Made(bends=tuple(bend_made(*(one if isinstance(one, list) else [one])) for one in bends), anew=anew)
        return Entry(id=digest(number) if number else new_id(), run=RUN, piece=piece, what=made)
    if kind == "step":
        which, piece, by, much = (*told, None, None)[:4]
        step: dict[str, Any] = {"kind": "cut", "trim_mm": much or 8.0}
        if by is None:
            return Entry(run=RUN, piece=piece, what=Made(bends=(), steps=(StepMade(kind=which, number=1),)))
        if which != "cut":
            step = {"kind": "twist", "number": which, "by_rad": much or 0.1}
        return Entry(run=RUN, piece=piece, what=Made(bends=(), steps=(StepMade(**step, by_marks=digest(by)),)))
    piece, copy = (*told, None, None)[:2]
    return Entry(run=RUN, piece=piece, copy=copy, what=DONE[kind])


def bend_made(
    number: int, deg: float | None = None, by: str = "", roll: float | None = None, mark_mm: float | None = None
) -> BendMade:
    angle, off = (None if one is None else radians(one) for one in (deg, roll))
    by = by if by in ("", "plan") else digest(by)
    return BendMade(number=number, angle_rad=angle, roll_off_rad=off, mark_mm=mark_mm, by_marks=by)


def on_record(entries: list[Entry]) -> dict[int, list[MadeEntry]]:
    pins = Pins(marks="P")
    return made_of((msgspec.structs.replace(one, pins=pins) for one in entries), pins.marks)


def job(case: dict[str, Any]) -> Job:
    leg = "" if case.get("unfinished") else "40"
    written = {"run": {"name": "Pump house", "raceway": "EMT 1/2", "walk": [{"leg": leg}]}}
    run = msgspec.convert({"id": RUN, "key": "RM", "times": case["times"], "survey": written}, JobRun)
    return Job(head=JobHead(name="orchard"), runs=(run,), entries=tuple(entry(*one) for one in case["entries"]))


def named(group: str) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("case", [pytest.param(one, id=one["name"]) for one in CASES[group]])


@named("runs")
def test_how_far_runs_alike_are_and_what_of_them_is_begun(case: dict[str, Any]) -> None:
    made = job(case)
    (run,) = made.runs
    assert list(made.statuses(run)) == case["statuses"]
    assert made.status(run) == case["status"]
    assert status_words(made.statuses(run)) == case["words"]
    assert list(made.copies_begun(run)) == case["begun"]
    assert made.is_begun(run) == bool(case["begun"])
    pieces = [list(pieces_begun(of)) for _, of in by_copy(made.entries_of(run), run.times)]
    assert pieces == case["pieces"]


@named("bends_left")
def test_which_bends_are_left_to_make(case: dict[str, Any]) -> None:
    entries = [entry(*one) for one in case["entries"]]
    for piece, (planned, left) in enumerate(zip(case["planned"], case["left"], strict=True), 1):
        assert list(bends_left(planned, on_record(entries).get(piece, []))) == left


@named("as_recorded")
def test_what_was_measured_of_a_bend_stands_until_it_is_measured_anew(case: dict[str, Any]) -> None:
    made = [one.what for one in (entry(*told) for told in case["entries"]) if isinstance(one.what, Made)]
    bends = as_recorded(bend for one in made for bend in one.bends).values()
    found = [
        (b.number, *(rad and round(degrees(rad), 6) for rad in (b.angle_rad, b.roll_off_rad)), b.mark_mm) for b in bends
    ]
    assert found == [(number, *(*read, None, None, None)[:3]) for number, *read in case["bends"]]


@named("status_at_bench")
def test_how_far_a_run_is_by_what_is_made_of_it(case: dict[str, Any]) -> None:
    made = on_record([entry(*told) for told in case["entries"]])
    assert status_at_bench(case["stood"], case["planned"], made) == case["status"]


@named("before_bends")
def test_what_comes_before_the_bends_is_done(case: dict[str, Any]) -> None:
    """And whether marks are told that do not reckon with what was done for others."""
    pins, run = Pins(marks="P"), job(CASES["runs"][0]).runs[0]
    entries = [msgspec.structs.replace(entry(*told), pins=pins) for told in case["entries"]]
    (followed,) = marked_anew(run, entries, "P").values()
    cut = ["cut"] if followed.anew.cut_first and not followed.cut else []
    assert [*cut, *(one.number for one in followed.anew.twisted if one.number not in followed.twisted)] == case["left"]
    now = so_far(made_of(entries, "P")[1])
    assert bool(now.other or now.other_steps) == case["other"]


@named("twice")
def test_which_bends_are_ticked_off_by_different_marks(case: dict[str, Any]) -> None:
    record = on_record([entry(*one) for one in case["entries"]])[1]
    assert ticked_twice(so_far(record)) == case["twice"]
    assert [number or kind for kind, number in steps_twice(record)] == case.get("steps", [])
    assert list(so_far(record).on_twice) == case.get("on", [])


@named("steps_planned")
def test_what_a_record_calls_the_steps_of_a_plan(case: dict[str, Any]) -> None:
    steps = [Step(kind=kind, piece=piece, title="") for kind, piece in case["steps"]]
    assert [one and list(one) for one in steps_planned(steps)] == case["named"]


@named("called_before")
def test_which_entries_are_of_a_plan_that_was_called_otherwise(case: dict[str, Any]) -> None:
    entries = [Entry(run=RUN, pins=Pins(marks=marks), what=Noted(note="wet")) for marks in case["pinned"]]
    assert [one.pins.marks for one in of_digests(entries, case["digest"], case["before"], [])] == case["now"]


@named("of_its_bends")
def test_what_is_said_of_bends_that_a_piece_has(case: dict[str, Any]) -> None:
    entries = [msgspec.structs.replace(entry(*told), pins=Pins(marks="P")) for told in case["entries"]]
    left = of_digests(entries, "P", "", [range(count) for count in case["bends"]])
    made = [(one.piece, one.what.bends) for one in left if isinstance(one.what, Made)]
    assert [[piece, *(bend.number for bend in bends)] for piece, bends in made] == case["left"]


@named("reopened")
def test_new_marks_on_a_bent_piece_leave_it_to_be_bent(case: dict[str, Any]) -> None:
    """A run that is bent counts as planned then, as everything of it that is still to be done."""
    pins = Pins(marks="P")
    entries = [msgspec.structs.replace(entry(*one), pins=pins) for one in case["entries"]]
    assert reopened(entries) == case["again"]
    bent = [Entry(run=RUN, what=StatusSet(status="bent"), pins=pins), *entries]
    whole = msgspec.structs.replace(job(CASES["runs"][0]), entries=tuple(bent))
    assert whole.statuses(whole.runs[0]) == (("planned",) if case["again"] else ("bent",))


@named("added")
def test_copies_that_are_added_begin_anew_but_for_those_bent_before(case: dict[str, Any], tmp_path: Path) -> None:
    with JobStore.open(tmp_path / "jobs.rwshop", create=True) as store:
        store.create_job("orchard", job(case))
        for times in (case["to"], case.get("then", case["to"])):
            set_times(store, "orchard", ["RM"], times)
        kept = store.load("orchard")
    (run,) = kept.runs
    assert list(kept.statuses(run)) == case["statuses"]
    if "pieces" in case:
        assert [list(pieces_begun(of)) for _, of in by_copy(kept.entries_of(run), run.times)] == case["pieces"]


@pytest.mark.parametrize("case", CASES["newer_tool"])
def test_a_tool_is_newer_than_the_revision_that_its_run_is_on(case: dict[str, Any]) -> None:
    tool, profile = digest("tool"), BenderRecord(raceway="EMT", size="1/2")
    tools = [ToolAt(id=digest("another"), revision=9, name="another", profile=profile)]
    for revision in sorted({case["on"] or 0, case["now"]} - {0}):
        tools.append(ToolAt(id=tool, revision=revision, name="blue half", profile=profile))
    whole = job(CASES["runs"][0])
    pin = ToolPin(id=tool, revision=case["on"]) if case["on"] else None
    run = msgspec.structs.replace(whole.runs[0], tool=pin)
    newer = msgspec.structs.replace(whole, tools=tuple(tools), runs=(run,)).newer_tool(run)
    assert (newer and newer.revision) == case["newer"]


@pytest.mark.parametrize("case", CASES["pieces"])
def test_a_piece_has_one_name(case: tuple[str, int, int, int | None, str]) -> None:
    key, number, pieces, copy, called = case
    assert with_copies(piece_name(key, number, pieces), [copy] if copy else []) == called


def test_tools_of_one_name_are_told_apart() -> None:
    profile = BenderRecord(raceway="EMT", size="1/2")
    tools = [Tool(id=begins.ljust(32, "0"), name=name, profile=profile) for name, begins, _ in CASES["tools"]]
    assert list(tools_called(tools)) == [called for *_, called in CASES["tools"]]


@named("differences")
def test_where_two_versions_differ_in_words(case: dict[str, Any]) -> None:
    holds = KINDS[case["kind"]].holds
    mine, theirs = (msgspec.convert(case[one], holds) for one in ("mine", "theirs"))
    assert [list(one) for one in differences(mine, theirs)] == case["told"]
    assert differences(mine, mine) == ()
