"""A run that was cut and bent by another plan than its present one is warned of wherever a person looks at it."""

from __future__ import annotations

import json
import re
from math import radians
from pathlib import Path
from typing import Any

import msgspec
import pytest
from typed import kept, type_in

from racewright.job.plan_job import plan_one
from racewright.operations.answer import ask_json
from racewright.records.anew import followed, marks_told
from racewright.records.entry import (
    Anew,
    BendMade,
    Corrected,
    Entry,
    Made,
    MarkAnew,
    MoveMade,
    Noted,
    Pins,
    StatusSet,
    StepMade,
    TwistAnew,
    What,
)
from racewright.records.far_off import tells_bends
from racewright.records.model import JobRun
from racewright.records.superseded import made_by_other, superseded
from racewright.store.job_file import job_to_json
from racewright.store.job_store import JobStore
from racewright.store.survey_file import survey_from_text
from racewright.units.tape import style_of

SADDLE = str(Path(__file__).parents[2] / "examples" / "pump-house-saddle.yaml")
OLD, NEW = "AAAAAA", "BBBBBB"
TEXT = "run:\n  name: Pump house, to the float switch\n  raceway: EMT 1/2\n  walk:\n    - leg: {leg}\n"
TEXT += "    - turn: left\n    - leg: 30\n"
RUN = JobRun(key="PH-4", survey=survey_from_text(TEXT.format(leg=40)).written)


def entry(what: What, marks: str = OLD, piece: int | None = None) -> Entry:
    return Entry(run=RUN.id, what=what, piece=piece, pins=Pins(marks=marks))


def bends(*numbers: int) -> Made:
    return Made(bends=tuple(BendMade(number=number) for number in numbers))


def said(*entries: Entry, now: str = NEW) -> list[str]:
    found = superseded(RUN, entries, now)
    assert {(f.rule, f.severity, f.where) for f in found} <= {("run.superseded", "caution", "PH-4")}
    return [f.message.split(". ")[0] for f in found]


BENT, IN, MEASURED, PLANNED = (StatusSet(status=status) for status in ("bent", "in", "measured", "planned"))
MOVED = Corrected(moves=(MoveMade(number=1, by_rad=0.01),))


@pytest.mark.parametrize(
    ("what", "far"), [(BENT, "cut and bent"), (IN, "cut and bent"), (bends(1), "begun"), (MOVED, "cut and bent")]
)
def test_a_status_a_bend_made_and_a_correction_of_another_plan_are_told(what: What, far: str) -> None:
    """With the run, for a screen may show no more than the words."""
    name = "PH-4-1" if isinstance(what, Made) else "PH-4"
    of = 1 if isinstance(what, Made) else None
    assert said(entry(what, piece=of)) == [f"{name}: {far} for plan {OLD}; the plan is now {NEW}"]
    assert said(entry(what, piece=of), now="") == [f"{name}: {far} for plan {OLD}; the run has no plan now"]
    assert said(entry(what), now=OLD) == []
    assert said(entry(what, "")) == []


ANEW = Made(bends=(BendMade(number=1),), anew=Anew(marks=(MarkAnew(number=2, mark_mm=600.0, angle_rad=0.5),)))
PLAN_2, OTHER_1 = BendMade(number=2, by_marks="plan"), BendMade(number=1, by_marks="plan")


@pytest.mark.parametrize(
    ("later", "since"),
    [
        ([entry(bends(2), piece=1)], {2}),
        ([entry(bends(2), NEW, piece=1)], set()),
        ([entry(bends(2), piece=2)], set()),
        ([entry(Made(bends=(PLAN_2, OTHER_1)), piece=1)], {2}),
        ([entry(BENT)], {2}),
        ([entry(ANEW, piece=1), entry(BENT)], set()),
    ],
    ids=["made", "of another plan", "of another piece", "by the card, and one told late", "all bent", "replaced"],
)
def test_what_counts_as_made_since_new_marks_were_kept(later: list[Entry], since: set[int]) -> None:
    kept = entry(ANEW, piece=1)
    how_far = followed(RUN, [kept, *later])[kept.id]
    assert {*how_far.since, *how_far.other} == since


def test_a_bend_that_other_marks_made_is_done_and_told_by_these() -> None:
    first, last = entry(ANEW, piece=1), entry(ANEW, piece=1)
    by_first = entry(Made(bends=(BendMade(number=2, by_marks=first.id),)), piece=1)
    for entries, words in (
        ([first, by_first, last], 'mark 2 23 5/8": done by new marks that were kept before, has 28 1/2°'),
        ([last, entry(Made(bends=(PLAN_2,)), piece=1), entry(BENT)], "mark 2: done by the card's mark"),
    ):
        how_far = followed(RUN, entries)[last.id]
        assert how_far.done
        assert marks_told(how_far, style_of("in", 16)).words == words


@pytest.mark.parametrize(("cut_first", "done"), [(True, ": done"), (False, "")], ids=["a step", "before it was one"])
def test_a_cut_is_told_as_done_only_where_it_is_a_step_of_its_own(cut_first: bool, done: str) -> None:
    assert ANEW.anew is not None
    anew = msgspec.structs.replace(ANEW.anew, trim_mm=8.0, cut_first=cut_first)
    kept = entry(msgspec.structs.replace(ANEW, anew=anew), piece=1)
    how_far = followed(RUN, [kept, entry(bends(2), piece=1)])[kept.id]
    assert how_far.cut
    words = marks_told(how_far, style_of("in", 16)).words
    assert words.startswith(f'cut 5/16" more off at end A{done}, marks count from there; ')


@pytest.mark.parametrize("what", [PLANNED, MEASURED, Noted(note="the wall is wet")])
def test_what_is_not_bent_yet_and_notes_are_not(what: What) -> None:
    assert said(entry(what)) == []


def test_pieces_are_named() -> None:
    told = said(entry(bends(1), piece=2), entry(bends(1), NEW, piece=1))
    assert told == [f"PH-4-2: begun for plan {OLD}; the plan is now {NEW}"]
    told = said(entry(bends(1), piece=2), entry(MOVED, piece=1), entry(bends(1), piece=3))
    assert told == [
        f"PH-4-2, PH-4-3: begun for plan {OLD}; the plan is now {NEW}",
        f"PH-4-1: cut and bent for plan {OLD}; the plan is now {NEW}",
    ]
    told = said(entry(bends(1), piece=2), entry(BENT, NEW))
    assert told == [f"PH-4-2: cut and bent for plan {OLD}; the plan is now {NEW}"], "its copy is bent by now"


def test_it_says_how_what_is_begun_is_ended() -> None:
    """A begun piece that is set to measured stays begun: bent first, then back, is what ends it."""
    (found,) = superseded(RUN, [entry(bends(1)), entry(MEASURED)], NEW, 1)
    assert "if it is scrapped, set the run to bent and then back to measured" in found.message
    assert "if the new one is right, record every bend that is made with its place" in found.message
    assert superseded(RUN, [entry(bends(1)), entry(BENT), entry(MEASURED)], NEW, 1) == ()


def test_the_sheet_does_not_hold_for_what_was_bent_by_new_marks() -> None:
    anew = Anew(marks=(MarkAnew(number=2, mark_mm=254.0, angle_rad=radians(44)),))
    kept = entry(Made(bends=(BendMade(number=1),), anew=anew), piece=2)
    (found,) = superseded(RUN, [entry(bends(1), piece=1), kept], NEW)
    rest = (
        'plan, but for the rest that is bent by new marks instead: PH-4-2, mark 2 10": bend it until it has 44° after'
    )
    assert f"finish it by the sheet that bears its {rest}" in found.message
    (found,) = superseded(RUN, [kept, entry(BENT)], NEW)
    assert 'for the rest that was bent by new marks instead: PH-4-2, mark 2 10": done, has 44°.' in found.message
    (found,) = superseded(RUN, [kept, entry(BENT), entry(MEASURED), entry(bends(1))], NEW)
    assert "finish it by the sheet that bears its plan. If" in found.message, "it was made again"


def test_neither_sheet_nor_new_marks_hold_where_bends_were_made_by_others() -> None:
    anew = Anew(marks=(MarkAnew(number=2, mark_mm=254.0, angle_rad=radians(44)),))
    kept = entry(Made(bends=(BendMade(number=1),), anew=anew), piece=2)
    by_card = entry(Made(bends=(BendMade(number=2, by_marks="plan"),)), piece=2)
    stop = "Bend nothing more of PH-4-2: it was bent, cut or twisted by other marks than its sheet's or the new ones"
    (found,) = superseded(RUN, [entry(bends(1), piece=1), kept, by_card], NEW)
    assert f"finish it by the sheet that bears its plan. {stop}" in found.message
    (found,) = superseded(RUN, [kept, by_card], NEW)
    assert stop in found.message
    assert "finish" not in found.message
    assert "by new marks instead" not in found.message
    known = entry(Made(bends=(BendMade(number=2, by_marks=kept.id),)), piece=2)
    later = entry(Made(bends=(BendMade(number=1), BendMade(number=2, by_marks=kept.id)), anew=anew), piece=2)
    for record in ([kept, known], [kept, known, later]):
        (found,) = superseded(RUN, record, NEW)
        assert "Bend nothing more" not in found.message


GONE = "9" * 32


@pytest.mark.parametrize(
    ("after", "made", "stops"),
    [
        (True, Made(bends=(BendMade(number=2, by_marks=GONE),)), True),
        (True, Made(bends=(), steps=(StepMade(kind="cut", trim_mm=8.0, by_marks=GONE),)), True),
        (False, Made(bends=(), steps=(StepMade(kind="twist", number=1, by_rad=0.1, by_marks=GONE),)), True),
        (True, Made(bends=(BendMade(number=2, angle_rad=0.5, mark_mm=254.0, by_marks="plan"),)), False),
    ],
    ids=["a bend", "a cut", "a twist alone", "measured since"],
)
def test_the_sheet_does_not_hold_for_what_was_done_by_new_marks_that_are_not_kept_any_more(
    after: bool, made: Made, stops: bool
) -> None:
    """As it is told of the present plan (`job.other_marks`): a new survey makes it no better."""
    gone = Made(bends=(BendMade(number=2, by_marks=GONE),))
    record = [*([entry(bends(1), piece=2)] if after else []), *([] if stops else [entry(gone, piece=2)])]
    (found,) = superseded(RUN, [*record, entry(made, piece=2)], NEW)
    assert found.message.startswith(f"PH-4-2: begun for plan {OLD}; the plan is now {NEW}. ")
    assert ("Bend nothing more of PH-4-2: it was bent, cut or twisted by other marks" in found.message) == stops
    assert ("finish it by the sheet" in found.message) != stops
    assert made_by_other(RUN, [*record, entry(made, piece=2)], NEW, 2) == {(1, 2): OLD}
    assert tells_bends([entry(made, piece=2)]), "so that the list asks for its plan"


@pytest.mark.parametrize(
    ("read", "made", "stops"),
    [
        ({"angle_rad": 0.5, "mark_mm": 254.0}, {"angle_rad": 0.6}, (False, True)),
        ({"angle_rad": 0.5, "mark_mm": 254.0}, {"angle_rad": 0.5, "mark_mm": 254.7}, (False, False)),
        ({"angle_rad": 0.5, "mark_mm": 254.0}, {"mark_mm": 256.0}, (False, True)),
        ({"angle_rad": 0.5, "mark_mm": 254.0}, {"roll_off_rad": 0.1}, (True, True)),
        ({"angle_rad": 0.5, "roll_off_rad": 0.2}, {"roll_off_rad": 0.1}, (False, True)),
        ({"angle_rad": 0.5}, {}, (False, False)),
        ({"angle_rad": 0.5}, {"mark_mm": 254.0}, (True, True)),
        ({"mark_mm": 254.0}, {"angle_rad": 0.5}, (True, True)),
        ({"mark_mm": 254.0}, {"by_marks": "0" * 32}, (True, True)),
    ],
)
def test_new_marks_do_not_hold_either_where_a_bend_was_read_otherwise_than_it_was_made(
    read: dict[str, Any], made: dict[str, Any], stops: tuple[bool, bool]
) -> None:
    """What was measured for them stands against what was measured before."""
    anew = Anew(marks=(MarkAnew(number=2, mark_mm=354.0, angle_rad=radians(44)),))
    kept = entry(Made(bends=(BendMade(number=1, **read),), anew=anew), piece=2)
    by_card = entry(Made(bends=(BendMade(number=1, **{"by_marks": "plan", **made}),)), piece=2)
    for record, stop in zip(([by_card, kept], [kept, by_card]), stops, strict=True):
        (found,) = superseded(RUN, record, NEW)
        assert ("Bend nothing more of PH-4-2" in found.message) == stop
        assert ("finish it by the sheet" in found.message) != stop


def test_new_marks_do_not_hold_either_where_those_before_them_may_have_twisted_the_piece() -> None:
    marks = (MarkAnew(number=2, mark_mm=354.0, angle_rad=radians(44)),)
    twists = tuple(TwistAnew(number=number, by_rad=0.05, how="twist it") for number in (1, 2))
    twisted = Anew(marks=marks, twisted=twists)
    for off, stop in ((None, True), (0.0, False)):
        read = (
            BendMade(number=1, angle_rad=0.5, mark_mm=254.0, roll_off_rad=off),
            BendMade(number=2, angle_rad=0.5, mark_mm=354.0, roll_off_rad=0.0),
        )
        record = [entry(Made(bends=read, anew=anew), piece=2) for anew in (twisted, Anew(marks=marks))]
        (found,) = superseded(RUN, record, NEW)
        assert ("Bend nothing more of PH-4-2" in found.message) == stop


def test_of_runs_alike_the_copies_are_named() -> None:
    """Each of them is bent, and set back, for itself; what is said of all is said of each."""
    alike = msgspec.structs.replace(RUN, times=9)
    entries = [msgspec.structs.replace(entry(BENT), copy=copy) for copy in (1, 2, 3, 7)]
    entries.append(msgspec.structs.replace(entry(BENT, NEW), copy=8))
    entries.append(msgspec.structs.replace(entry(MEASURED), copy=2))
    (found,) = superseded(alike, entries, NEW)
    assert found.message.startswith(f"PH-4#1, 3, 7: cut and bent for plan {OLD}; the plan is now {NEW}. ")
    assert superseded(alike, [*entries, entry(MEASURED)], NEW) == ()
    (found,) = superseded(alike, [entry(BENT)], NEW)
    assert found.message.startswith("PH-4#1 to 9: cut and bent for")


def test_what_is_put_in_place_later_was_bent_by_the_plan_of_the_day_it_was_bent() -> None:
    assert len(said(entry(BENT), entry(IN, NEW))) == 1
    assert said(entry(BENT, NEW), entry(IN, NEW)) == []


def test_a_run_that_is_set_back_and_made_again_is_told_no_more() -> None:
    assert said(entry(bends(1, 2)), entry(BENT), entry(MEASURED)) == []
    assert said(entry(BENT), entry(MEASURED), entry(BENT, NEW)) == []


def test_a_half_bent_piece_is_told_though_its_run_was_planned_anew() -> None:
    assert len(said(entry(bends(1)), entry(MEASURED, ""), entry(PLANNED, NEW))) == 1
    assert said(entry(bends(1)), entry(bends(1), NEW)) == []
    assert len(said(entry(bends(1)), entry(bends(2), NEW))) == 1


@pytest.fixture
def changed(empty_folder: Path) -> tuple[str, str]:
    """A shop file with a run that is bent and then measured anew, and one that is not bent: the digests of the bent
    run's two plans."""
    type_in("new", "orchard")
    plans: list[str] = []
    for leg in (40, 44):
        Path("run.yaml").write_text(TEXT.format(leg=leg), encoding="utf-8")
        type_in("add", "run.yaml", "--key", "PH-4", *(["--replace"] if plans else []))
        job = kept()
        plans.append(plan_one(job.runs[0], job).digest)
        if len(plans) == 1:
            type_in("set", "bent", "PH-4")
            type_in("add", "run.yaml", "--key", "PH-5")
    return plans[0], plans[1]


@pytest.mark.parametrize("command", [("plan",), ("status",), ("show", "PH-4"), ("bill",), ("cut", "--all")])
def test_every_command_over_the_run_says_it_once(
    changed: tuple[str, str], command: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    old, new = changed
    type_in("plan")
    capsys.readouterr()
    assert type_in(*command) == 0
    out = " ".join(capsys.readouterr().out.split())
    words = f"cut and bent for plan {old}; the plan is now {new}. What is there may not fit"
    assert out.count(words) == 1, out
    assert "caution: PH-4: cut and bent" in out
    type_in("set", "measured", "PH-4")
    capsys.readouterr()
    type_in(*command)
    assert "cut and bent for plan" not in capsys.readouterr().out


def test_the_pack_counts_it_on_its_cover_and_in_its_run_index_and_says_it_among_the_checks(
    changed: tuple[str, str],
) -> None:
    old, new = changed
    request = {"job": json.loads(job_to_json(kept())), "form": "svg", "cards": "none"}
    answer = json.loads(ask_json("job_pack", json.dumps(request)))
    pages = [" ".join(re.findall(r"<text[^>]*>([^<]*)</text>", page)) for page in answer["svg"]]
    (checks,) = (page for page in pages if "What the checks found" in page and "CAUTION" in page)
    assert f"cut and bent for plan {old}; the plan is now {new}." in " ".join(checks.split())
    assert "1 caution of the checks, in 1 run: PH-4" in pages[0]
    assert [f["where"] for f in answer["findings"] if f["rule"] == "run.superseded"] == ["PH-4"]


def test_a_piece_with_some_or_all_bends_made_is_named_above_the_cut_list_and_stands_on_it_no_more(
    changed: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert changed
    type_in("add", SADDLE, "--key", "PH-6")
    type_in("record", "PH-6", "--made", "1=22.5")
    type_in("record", "PH-5", "--made", "1=90")
    capsys.readouterr()
    type_in("cut")
    top, rest = capsys.readouterr().out.split("\n\n", 1)
    assert "Cut already, so not on the cut list: PH-6 (begun). Finish it by its card;" in " ".join(top.split())
    assert "PH-4 (bent); PH-5 (bent)" in " ".join(top.split())
    assert "PH-5" not in rest
    assert "PH-6" not in rest


def test_it_stands_above_the_card_and_on_the_runs_page_in_the_pack(
    changed: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    old, new = changed
    capsys.readouterr()
    type_in("show", "PH-4")
    out = " ".join(capsys.readouterr().out.split())
    words = f"cut and bent for plan {old}; the plan is now {new}."
    assert out.count(words) == 1
    assert out.index(words) < out.index("Cut")
    request = {"job": json.loads(job_to_json(kept())), "form": "svg"}
    answer = json.loads(ask_json("job_pack", json.dumps(request)))
    pages = [" ".join(" ".join(re.findall(r"<text[^>]*>([^<]*)</text>", page)).split()) for page in answer["svg"]]
    (page,) = (p for p in pages if "PH-4 Pump house" in p and "OTHER PLAN" in p and "What the checks found" not in p)
    assert page.index("OTHER PLAN") < page.index("Mark it"), "framed, before its marks"
    assert "Cut, bent or begun by another plan than its bench page, whose marks do not hold for it: PH-4" in pages[0]
    assert any("OTHER PLAN, 1 caution" in p for p in pages), "in the index of runs"
    assert "".join(words.split()) in "".join(page.split())


def _recorded(run: str, capsys: pytest.CaptureFixture[str]) -> str:
    capsys.readouterr()
    type_in("record", run, "--made", "2=45")
    return capsys.readouterr().out


def test_lists_send_a_piece_that_is_begun_by_another_plan_to_the_sheet_of_that_plan(
    changed: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Not to its card, whose marks are others by now; one that is begun by the present plan has its card still."""
    old, _ = changed
    type_in("set", "measured", "PH-4")
    survey = Path("saddle.yaml")
    survey.write_text(Path(SADDLE).read_text(encoding="utf-8"), encoding="utf-8")
    for key in ("PH-6", "PH-7", "PH-8"):
        type_in("add", str(survey), "--key", key)
    for key in ("PH-6", "PH-7"):
        type_in("record", key, "--made", "1=22.5")
    type_in("record", "PH-8", "--made", "1=25", "--new-marks")
    type_in("record", "PH-8", "--made", "2=45", "--by-card")
    before = plan_one(kept().runs[2], kept()).digest
    survey.write_text(survey.read_text(encoding="utf-8").replace("EMT 1/2", "EMT 3/4"), encoding="utf-8")
    type_in("add", str(survey), "--key", "PH-8", "--replace")
    capsys.readouterr()
    type_in("add", str(survey), "--key", "PH-6", "--replace")
    assert "PH-6: bends of it are made already, and its plan changes now" in capsys.readouterr().err
    assert plan_one(kept().runs[2], kept()).digest != before != old
    said_again = " ".join(_recorded("PH-6", capsys).split())
    assert f"it was begun for plan {before}, and this is recorded for the present one" in said_again
    assert f"record it with `--plan {before}`" in said_again
    type_in("undo", "PH-6")
    for command, words in (
        (
            "batch",
            f"by another plan than its run has now: PH-6 (plan {before}). Finish it by the sheet that bears this",
        ),
        ("batch", "Bends are made on it already: PH-7. Finish it by its own card."),
        (
            "batch",
            "by other marks than those that hold now or far from where they belong: PH-8. Bend nothing more of it",
        ),
        ("cut", "PH-8 (begun, STOP). Bend nothing more of it"),
        (
            "cut",
            f"PH-6 (begun, plan {before}); PH-7 (begun). Finish it by the sheet of the plan that is named, else by its",
        ),
    ):
        capsys.readouterr()
        type_in(command)
        assert words in " ".join(capsys.readouterr().out.split())


def test_lists_say_by_which_plan_a_piece_was_made_and_not_the_length_of_the_present_one(
    changed: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Nor is there a label with the signs of the present one for it; what is not begun has both. What is there takes no
    stick: the cut list, the bill and the pack count the other run's alone."""
    old, new = changed

    def out(*words: str) -> str:
        capsys.readouterr()
        type_in(*words)
        return capsys.readouterr().out

    def lines(text: str) -> tuple[str, str]:
        """What stands above the first list, and the rest."""
        top, _, rest = text.partition("\n\n")
        return " ".join(top.split()), rest

    made = f"Made by another plan than its run has now, so {{}}: PH-4 (plan {old})."
    top, listed = lines(out("cut", "--all"))
    assert made.format("it is on no stick of this list") in top
    assert "yet on the cut list" not in top
    assert "PH-4" not in listed.partition("Measure each stick")[0]
    assert "EMT 1/2: 1 piece, 1 new stick;" in listed
    top, _ = lines(out("bill"))
    assert made.format("its conduit is not on the bill, while its fittings, straps and wires are") in top
    assert "Bought already" not in top
    bills = json.loads(ask_json("job_bill", json.dumps({"job": json.loads(job_to_json(kept()))})))["bill"]
    conduit = [row["quantity"] for row in bills["job"]["lines"] if row["item"] == "EMT 1/2, cut length"]
    by_run = {b["name"]: [r["quantity"] for r in b["lines"] if r["group"] == "conduit"] for b in bills["runs"]}
    assert by_run == {"PH-4": [], "PH-5": conduit}
    assert f"[ ] conduit    EMT 1/2: PH-4  made by plan {old}\n" in (kits := out("kits"))
    assert re.search(r"\[ \] conduit    EMT 1/2, [-\d /]+\": PH-5\n", kits)
    told = f"Bent or begun by another plan than its run has now, so without a label of this one: PH-4 (plan {old})."
    capsys.readouterr()
    type_in("labels", "labels.csv", "--status", "bent", "--status", "measured")
    assert told in " ".join("".join(capsys.readouterr()).split())
    text = Path("labels.csv").read_text(encoding="utf-8-sig")
    assert "PH-5" in text
    assert new not in text
    request = {"job": json.loads(job_to_json(kept())), "form": "svg", "cards": "none"}
    pages = " ".join(json.loads(ask_json("job_pack", json.dumps(request)))["svg"])
    read = " ".join(" ".join(re.findall(r"<text[^>]*>([^<]*)</text>", pages)).split())
    assert made.format("it is on no stick of this list") in read
    assert "PH-4 CUT ALREADY" not in read


def test_a_run_of_which_an_end_was_renamed_is_the_plan_that_it_was_made_by(
    empty_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Also what was made while the names were in a plan's digest, and pins the one of then; an older card that bears it
    is taken as its own by `record`."""
    assert empty_folder
    type_in("new", "orchard")
    survey = Path("saddle.yaml")
    survey.write_text(Path(SADDLE).read_text(encoding="utf-8"), encoding="utf-8")
    for key in ("PH-6", "PH-7"):
        type_in("add", str(survey), "--key", key)
    plan = plan_one(kept().runs[0], kept())
    run = kept().runs[0]
    tick = Entry(run=run.id, what=bends(1), piece=1, pins=Pins(marks=plan.digest_before))
    with JobStore.open("jobs.rwshop") as store:
        store.add_entries("orchard", [tick], by="Kim", what="made")
    type_in("record", "PH-7", "--made", "1=22.5")
    survey.write_text(survey.read_text(encoding="utf-8").replace("name: disconnect", "name: cutout"), encoding="utf-8")
    type_in("add", str(survey), "--key", "PH-7", "--replace")
    capsys.readouterr()
    assert type_in("plan") == 0
    for key in ("PH-6", "PH-7"):
        type_in("show", key)
    for command in ("status", "batch", "cut"):
        type_in(command)
    answer = json.loads(ask_json("job_pack", json.dumps({"job": json.loads(job_to_json(kept())), "form": "svg"})))
    out = capsys.readouterr().out + " ".join(answer["svg"])
    assert "the plan is now" not in out
    assert "another plan" not in out
    assert f"(plan {plan.digest}" in out
    type_in("record", "PH-6", "--made", "1=22.5", "--plan", plan.digest_before)
    assert "is recorded as bent already" in "".join(capsys.readouterr())
    assert [entry.pins.marks for entry in kept().entries if isinstance(entry.what, Made)] == [
        plan.digest_before,
        plan.digest,
        plan.digest,
    ]
