"""Kept new marks that do not hold: they come out otherwise now, or bends were made by other marks than those."""

import json
import sys
from math import degrees, radians
from pathlib import Path
from typing import Any

import msgspec
import pytest
from kept_new_marks import SADDLE, kept_with, last, marked, remark, remarked_or_refused, words_of
from typed import kept, type_in

from racewright.cards.pack import build_pack
from racewright.cards.pack_model import Pack
from racewright.job.plan_job import plan_job
from racewright.operations import bends_recorded
from racewright.operations.answer import answer, ask_json
from racewright.operations.common import Refused
from racewright.operations.remark import RemarkAnswer
from racewright.records.anew import followed, marked_anew
from racewright.records.bends_left import so_far
from racewright.records.entry import Anew, BendMade, Entry, Made, MadeEntry, MarkAnew, Pins, StepMade
from racewright.records.ids import new_id
from racewright.records.other_marks import other_marks
from racewright.store.job_file import job_to_data
from racewright.store.job_store import JobStore


@pytest.fixture
def here(empty_folder: Path) -> Path:
    assert type_in("new", "orchard", "--by", "Kim") == 0
    assert type_in("add", SADDLE, "--key", "PH-01") == 0
    return empty_folder


def test_marks_that_come_out_otherwise_now_are_told_in_the_same_words_by_show_and_where_they_are_asked_for(
    here: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As where another version of the program works them out."""
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    type_in("record", "PH-01", "--made", "2=44")
    data = job_to_data(kept())
    made = [{"id": one["id"], "what": one["what"]} for one in data["entries"] if one["what"]["kind"] == "made"]
    survey = data["runs"][0]["survey"]

    def shown() -> list[str]:
        told = json.loads(ask_json("job_run", json.dumps({"job": data, "run": "PH-01"})))
        return [one["message"] for one in told["findings"] if one["rule"] == "job.kept_otherwise"]

    again = answer("remark", {"survey": survey, "record": made})
    assert isinstance(again, RemarkAnswer)
    assert [mark.number for mark in again.marks] == [2, 3], "as they were kept, whatever was made since"
    assert shown() == []
    mark = made[0]["what"]["anew"]["marks"][0]
    right, mark["how"] = mark["how"], "bend to 90°"
    assert shown() == [
        f"PH-01: mark 2 is kept in the words 'bend to 90°', and by its figures it is: {right}. Go by the figures, not"
        " by these words."
    ]
    assert isinstance(answer("remark", {"survey": survey, "record": made}), RemarkAnswer), "Bend shows what it is"
    mark["how"] = ""
    assert shown() == [], "kept before words were"
    mark["how"] = right
    made[0]["what"]["anew"]["marks"][1]["angle_rad"] += radians(2)
    words = "the new marks that are kept cannot be worked out again as they were kept."
    (said,) = shown()
    assert said.startswith(f"PH-01: {words} Bend nothing more by them: measure the bends that are made")
    (kept_here, since) = (one for one in data["entries"] if one["what"]["kind"] == "made")
    for of in ({"pins": {"marks": "K7M3QX"}}, {"piece": 7}):
        before = {name: kept_here.get(name) for name in of}
        kept_here.update(of)
        assert shown() == [], "of another plan, or of a piece that there is not"
        kept_here.update(before)
    kept_here["piece"] = since["piece"] = None
    assert shown() == [said], "a record that names none is of the first piece"
    kept_here["piece"] = since["piece"] = 1
    data["runs"][0]["times"] = 3
    kept_here["copy"] = since["copy"] = 1
    right = json.loads(json.dumps([{**kept_here, "id": "a" * 32, "copy": 2}, {**kept_here, "id": "b" * 32, "copy": 3}]))
    right[0]["what"]["anew"]["marks"][1]["angle_rad"] -= radians(2)
    data["entries"] += right
    assert [one.partition(":")[0] for one in shown()] == ["PH-01#1", "PH-01#3"], "each copy by itself"
    with monkeypatch.context() as few:
        few.setattr(bends_recorded, "_MOST_AGAIN", 1)  # those of copies 1 and 3 are the same
        assert shown()[2:] == [
            "the new marks of 1 more were not worked out again here: Bend does, of the piece at hand."
        ]
    data["runs"][0]["times"], data["entries"] = 1, data["entries"][:-2]
    for asked in ({}, {"made": [{"number": 1}]}):
        refused = answer("remark", {"survey": survey, "record": made, **asked})
        assert isinstance(refused, Refused)
        assert refused.error.message == words
    assert isinstance(answer("remark", {"survey": survey, "record": made[:1], "made": [{"number": 1}]}), RemarkAnswer)


OTHER = (
    'PH-01: mark 2 was bent by the plan\'s mark, 27 7/16" to 45°, and the new marks kept last have it at 26 13/16" to'
    " 44°. The marks do not hold for the rest of this piece: bend nothing more of it, measure the bends that are made,"
    " and ask for new marks."
)


def test_a_bend_made_by_the_card_while_new_marks_hold_is_told_wherever_they_are(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    kept_by = kept().entries[-1].id
    capsys.readouterr()
    type_in("record", "PH-01", "--made", "2=45", "--by-card")
    words = "".join(capsys.readouterr())
    assert OTHER.removesuffix(".") in " ".join(words.split())
    assert [bend.by_marks for bend in last().bends] == ["plan"]
    for asked in (["show", "PH-01"], ["status"], ["batch"]):
        type_in(*asked)
        out = " ".join(capsys.readouterr().out.split())
        assert OTHER.removesuffix(".") in out, asked
        assert "the rest is bent by new marks, not by those" not in out, asked
    data = job_to_data(kept())
    survey = data["runs"][0]["survey"]
    for what in ("card", "strip"):
        page = json.loads(ask_json("card", json.dumps({"survey": survey, "job": data, "what": what})))["pages"][0]
        assert "STOP" in page, what
    front = build_pack(Pack(job=kept(), runs=tuple(plan_job(kept())))).scene.pages
    assert "STOP, " in " ".join(map(words_of, front))
    record = [{"id": one["id"], "what": one["what"]} for one in data["entries"] if one["what"]["kind"] == "made"]
    refused = answer("remark", {"survey": survey, "record": record})
    assert isinstance(refused, Refused)
    assert refused.error.message.startswith("mark 2 was bent by the plan's mark")
    # asked for from the bends as they are, they hold again: mark 2 at the plan's own mark
    told = answer("remark", {"survey": survey, "record": record, "made": [{"number": 2, "angle_deg": 44.5}]})
    assert isinstance(told, RemarkAnswer)
    assert told.keep is not None
    read = {bend.number: bend for bend in told.keep.bends}
    assert (read[1].by_marks, read[2].by_marks) == ("plan", "plan")
    assert read[2].mark_mm == pytest.approx(27.4375 * 25.4, abs=0.8)
    type_in("record", "PH-01", "--made", "2=44.5", "--new-marks")
    type_in("record", "PH-01", "--made", "3=22.5")
    assert [bend.by_marks for bend in last().bends] == [kept().entries[-2].id] != [kept_by]
    capsys.readouterr()
    type_in("show", "PH-01")
    assert "job.other_marks" not in capsys.readouterr().out


def test_a_bend_that_is_ticked_off_by_both_marks_is_where_it_is_measured(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    type_in("record", "PH-01", "--made", "2=44")
    type_in("record", "PH-01", "--made", "2=45", "--by-card")
    twice = (
        "mark 2 is ticked off twice, by different marks, once by the plan's mark, 27 7/16\" to 45°, and the new marks"
    )

    def told() -> str:
        capsys.readouterr()
        type_in("show", "PH-01")
        return " ".join(capsys.readouterr().out.split())

    assert twice in told()
    assert "What is bent once is recorded again as it is (`racewright job record RUN --made 2=DEG@PLACE`)" in told()
    for found, differs in (("2=44@27 7/16", True), ("2=44@26 13/16", False)):
        type_in("record", "PH-01", "--made", found)
        assert (twice in told()) == differs, found
    type_in("record", "PH-01", "--made", "2=44", "--new-marks")
    read = {bend.number: bend.mark_mm for bend in last().bends}
    assert read[2] == pytest.approx(26.8125 * 25.4, abs=0.1)


def test_a_bend_that_two_tick_off_as_bent_on_stops_the_rest_until_it_is_measured(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """By the same marks, each on a phone of its own; which of the two did it, or both, nobody knows."""
    said = "mark 1 is bent on or opened by new marks, and that is ticked off twice: if it was done twice, the new marks"

    def told() -> list[bool]:
        capsys.readouterr()
        words = []
        for asked in ("show PH-01", "status"):
            type_in(*asked.split())
            words.append(" ".join(capsys.readouterr().out.split()))
        assert [said in one for one in words] == ["RUN --made 1=DEG`)" in one for one in words]
        return [said in one for one in words]

    type_in("record", "PH-01", "--made", "1=20", "--new-marks")
    (first,) = (one for one in kept().entries if isinstance(one.what, Made))
    for at, stops in (("2026-01-02T10:00:00Z", False), ("2026-01-02T10:01:00Z", True)):
        tick = msgspec.structs.replace(
            first, id=new_id(), at=at, what=Made(bends=(BendMade(number=1, by_marks=first.id),))
        )
        with JobStore.open("jobs.rwshop") as store:
            store.add_entries("orchard", [tick])
        assert told() == [stops, stops]
    made = [one for one in kept().entries if isinstance(one.what, Made)]
    record = [{"id": one.id, "what": msgspec.to_builtins(one.what)} for one in made]
    for read in ([], [{"number": 2, "angle_deg": 45.0}]):
        answered = remarked_or_refused(record, *read)
        assert isinstance(answered, Refused)
        assert said in answered.error.message
    assert isinstance(remarked_or_refused(record, {"number": 1, "angle_deg": 25.0}), RemarkAnswer)
    type_in("record", "PH-01", "--made", "1=22.5")
    assert told() == [False, False]


@pytest.mark.parametrize("by", ["plan", "kept"])
def test_a_bend_that_the_piece_has_not_counts_for_nothing(here: Path, by: str) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    data = job_to_data(kept())
    survey, (keep,) = data["runs"][0]["survey"], [one for one in data["entries"] if one["what"]["kind"] == "made"]
    record = [{"id": keep["id"], "what": keep["what"]}]
    what = {"kind": "made", "bends": [{"number": 9, "by_marks": keep["id"] if by == "kept" else by}]}
    made = [{"number": 2, "angle_deg": 44.0}]
    records = (record, [*record, {"id": "9" * 32, "what": what}])
    asked = [answer("remark", {"survey": survey, "record": of, "made": made}) for of in records]
    assert isinstance(asked[0], RemarkAnswer)
    assert asked[1] == asked[0]


def test_what_was_kept_beside_place_and_angle_is_held_to_what_comes_out_now_too(here: Path) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    data = job_to_data(kept())
    survey, (keep,) = data["runs"][0]["survey"], [one for one in data["entries"] if one["what"]["kind"] == "made"]
    anew = keep["what"]["anew"]
    mark = anew["marks"][0]
    other = [{**mark, key: value} for key, value in (("hook", "B"), ("reference", "star"), ("roll_rad", 3.0))]
    lies: list[dict[str, Any]] = [{"marks": [one, *anew["marks"][1:]]} for one in other if one != mark]
    lies += [{"trim_mm": 25.4}, {"turned_rad": 0.3}, {"twisted": [{"number": 1, "by_rad": 0.2, "how": "twist it"}]}]
    assert len(lies) >= 5
    for lie in ({}, *lies):
        record = [{"id": keep["id"], "what": {**keep["what"], "anew": {**anew, **lie}}}]
        told = answer("remark", {"survey": survey, "record": record})
        refused = isinstance(told, Refused) and "cannot be worked out again" in told.error.message
        assert refused == bool(lie), lie


def test_the_same_mark_is_no_other_whoever_followed_which(here: Path) -> None:
    """Within half of what the tape shows, and less than a hand bends."""
    plan = remark({"number": 1}).anew
    assert plan is not None
    second, third = plan.bends[1:]
    for off_mm, off_deg, told in ((0.0, 0.0, False), (0.7, 0.2, False), (0.9, 0.0, True), (0.0, 0.3, True)):
        marks = [
            {
                "number": bend.number,
                "mark_mm": bend.mark_mm + off_mm,
                "angle_rad": radians(bend.angle_deg + off_deg),
                "hook": bend.hook,
                "reference": bend.reference,
            }
            for bend in (second, third)
        ]
        what = {"kind": "made", "bends": [{"number": 1}], "anew": {"marks": marks}}
        record = [{"id": new_id(), "what": what}, marked(2, by_marks="plan")]
        message = getattr(remarked_or_refused(record), "error", None)
        assert ("was bent by the plan's mark" in getattr(message, "message", "")) == told, (off_mm, off_deg)


def test_a_bend_made_by_new_marks_that_were_taken_back_is_to_be_measured(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    type_in("record", "PH-01", "--made", "2=44")
    with JobStore.open("jobs.rwshop") as store:
        job = store.load("orchard")
    made = [one for one in job.entries if isinstance(one.what, Made)]
    gone = msgspec.structs.replace(job, entries=tuple(one for one in job.entries if one is not made[0]))
    data = job_to_data(gone)
    told = json.loads(ask_json("job_run", json.dumps({"job": data, "run": "PH-01"})))["findings"]
    (said,) = [one["message"] for one in told if one["rule"] == "job.other_marks"]
    assert said.startswith("PH-01: mark 2 was bent by new marks that are not kept any more, so where it is now is not")
    assert "measure the bends that are made" in said
    record = [{"id": made[1].id, "what": msgspec.to_builtins(made[1].what)}]
    refused = remarked_or_refused(record)
    assert refused.error.message.startswith("mark 2 was bent by new marks that are not kept any more")
    assert refused.error.hint.startswith("bend nothing more by them")
    refused = remarked_or_refused(record, {"number": 1, "angle_deg": 25.0})
    assert "where it is now is not known" in refused.error.message
    # whether these cut end A or twisted it nobody knows: place and plane of each bend are asked for
    assert (
        "end A may be cut by the marks that mark 2 was bent by; marks 1 and 2 may be twisted" in refused.error.message
    )
    assert refused.error.hint.startswith("measure and give where the mark of marks 1 and 2 stands from end A")
    assert "how far the plane of marks 1 and 2 is off the plan now" in refused.error.hint
    readings = [
        {"number": 1, "angle_deg": 25.0, "mark": "19 3/4"},
        {"number": 2, "angle_deg": 44.0, "mark": "26 13/16"},
    ]
    refused = remarked_or_refused(record, *readings)
    assert refused.error.hint.startswith("measure and give how far the plane of marks 1 and 2 is off")
    answered = remarked_or_refused(record, *({**one, "roll_off_deg": 4.0} for one in readings))
    assert [degrees(bend.roll_off_rad) for bend in answered.keep.bends] == pytest.approx([4.0, 4.0])
    assert {bend.number: bend.by_marks for bend in answered.keep.bends} == {1: "", 2: ""}
    assert isinstance(remarked_or_refused([*record, {"id": new_id(), "what": answered.keep}]), RemarkAnswer)


@pytest.mark.parametrize("at_once", [True, False])
@pytest.mark.parametrize("place", ["@20-1/4", ", start 18-1/4"])
def test_a_bend_that_marks_bent_on_which_are_taken_back_is_where_it_is_measured_after_that(
    place: str, at_once: bool, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What was measured before they bent it on is not where it is now."""
    type_in("record", "PH-01", "--made", "1=18@20-1/4")
    type_in("record", "PH-01", "--new-marks")
    type_in("record", "PH-01", "--made", "1=22.5")
    type_in("undo", "PH-01", "--new-marks")
    for words in (["status"], ["show", "PH-01"], ["plan"]):
        capsys.readouterr()
        type_in(*words)
        told = " ".join(capsys.readouterr().out.split())
        assert "PH-01: mark 1 was bent by new marks that are not kept any more" in told, words
    capsys.readouterr()
    type_in("batch")
    assert "Finish it by its own card" not in capsys.readouterr().out
    readings = ("--made", f"1=22.5{place}, roll 0")
    if at_once:
        assert type_in("record", "PH-01", *readings, "--new-marks") == 0
    else:
        assert type_in("record", "PH-01", *readings) == 0
        assert type_in("record", "PH-01", "--new-marks") == 0
    (bend,) = last().bends
    assert (bend.number, degrees(bend.angle_rad or 0.0)) == (1, pytest.approx(22.5))
    if place == "@20-1/4":
        assert bend.mark_mm == pytest.approx(20.25 * 25.4)
    capsys.readouterr()
    type_in("status")
    assert "job.other_marks" not in capsys.readouterr().out


@pytest.mark.parametrize(
    ("more", "read", "said", "asks"),
    [
        ({}, False, "", ""),
        ({"roll_deg": 5.0}, False, "in another plane", "how far the plane of mark 2 is off the plan now"),
        ({"roll_deg": 5.0}, True, "in another plane", "how far the plane of mark 2 is off the plan now"),
        ({"trim_mm": 8.0}, False, "cut or twisted otherwise", "where the mark of marks 1 and 2 stands from end A"),
        (
            {"twisted": [{"number": 1, "by_rad": 0.05, "how": "twist it"}]},
            False,
            "cut or twisted otherwise",
            "how far the plane of mark 1 is off the plan now",
        ),
    ],
)
def test_what_other_marks_turn_cut_or_twist_is_told_and_asked_for(
    more: dict[str, Any], read: bool, said: str, asks: str, here: Path
) -> None:
    """Mark 2 is bent by new marks that were kept on another phone; those kept last were kept with it, or without."""
    mine, angle = {"number": 1, "angle_rad": radians(22.5)}, radians(45.0)
    first = kept_with(mine, **more)
    last_kept = kept_with(mine, *([{"number": 2, "angle_rad": angle, "by_marks": "plan"}] if read else []))
    record = [first, marked(2, by_marks=first["id"]), last_kept]
    held = remarked_or_refused(record)
    if not said:
        assert isinstance(held, RemarkAnswer)
        return
    assert said in held.error.message
    refused = remarked_or_refused(record, {"number": 2, "angle_deg": 44.0})
    assert asks in refused.error.hint
    assert "finish" not in refused.error.hint
    measured = [{"number": n, "angle_deg": deg, "mark": mark, "roll_off_deg": 1.0} for n, deg, mark in FOUND]
    answered = remarked_or_refused(record, *measured)
    assert {bend.number: bend.by_marks for bend in answered.keep.bends} == {1: "", 2: ""}
    again = [*record, {"id": new_id(), "what": answered.keep}]
    assert isinstance(remarked_or_refused(again, {"number": 2, "angle_deg": 44.0}), RemarkAnswer)


FOUND = ((1, 22.5, "19 3/4"), (2, 44.0, "27 7/16"))


@pytest.mark.parametrize("known", [{}, {"roll_off_rad": 0.0}])
def test_a_twist_of_marks_in_whose_place_others_were_kept_is_asked_for(known: dict[str, Any], here: Path) -> None:
    """Nobody knows whether the piece was twisted before others came in from another phone."""
    mine = {"number": 1, "angle_rad": radians(22.5)}
    first = kept_with(mine, twisted=[{"number": 1, "by_rad": 0.05, "how": "twist it"}])
    record = [first, kept_with({**mine, **known})]
    held, told = remarked_or_refused(record), remarked_or_refused(record, {"number": 1, "angle_deg": 22.5})
    if known:
        assert isinstance(told, RemarkAnswer), "the plane was read for those that hold"
        assert isinstance(held, RemarkAnswer)
        return
    assert held.error.message == (
        "mark 1 may be twisted by new marks that were kept before, and the new marks kept last do not reckon with it:"
        " the marks do not hold for the rest."
    )
    assert held.error.kind == "marks"
    by_plan = marked(1, angle_rad=radians(30), by_marks="plan")
    said = remarked_or_refused([*record, by_plan]).error.message
    assert ("mark 1 was bent by the plan's mark" in said, "may be twisted" in said) == (True, False), "told once"
    data = job_to_data(kept())
    type_in("record", "PH-01", "--made", "1=22.5")
    pins = job_to_data(kept())["entries"][-1]
    data["entries"] += [{**pins, **one} for one in record]
    for asked in ("job_run", "job_status"):
        of = {"job": data, **({"run": "PH-01"} if asked == "job_run" else {})}
        found = json.loads(ask_json(asked, json.dumps(of)))["findings"]
        assert [one["message"].partition(",")[0] for one in found if one["rule"] == "job.other_marks"] == [
            "PH-01: mark 1 may be twisted by new marks that were kept before"
        ], asked
    assert told.error.message == "mark 1 may be twisted by new marks that were kept before."
    assert told.error.hint.startswith("measure and give how far the plane of mark 1 is off the plan now")
    assert isinstance(remarked_or_refused(record, {"number": 1, "angle_deg": 22.5, "roll_off_deg": 2.5}), RemarkAnswer)
    record.append(marked(1, roll_off_rad=0.04, by_marks=record[1]["id"]))
    assert isinstance(remarked_or_refused(record), RemarkAnswer)
    assert isinstance(remarked_or_refused(record, {"number": 1, "angle_deg": 22.5}), RemarkAnswer)


def test_measured_when_it_was_finished_it_is_not_told_any_more(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    for made in ("2=45", "3=22.5"):
        type_in("record", "PH-01", "--made", made, "--by-card")
    capsys.readouterr()
    type_in("status")
    out = " ".join(capsys.readouterr().out.split())
    assert "mark 3 was bent by the plan's mark" in out
    assert "Measure the piece before it goes in" in out
    type_in("record", "PH-01", "--angle", "2=45", "--plan", "K7M3QX")
    capsys.readouterr()
    type_in("status")
    assert "mark 3 was bent by the plan's mark" in capsys.readouterr().out, "that is of another plan"
    type_in("record", "PH-01", "--angle", "2=45")
    capsys.readouterr()
    type_in("status")
    assert "was bent by the plan's mark" not in capsys.readouterr().out


def test_what_names_new_marks_names_them_in_a_copy_of_the_job_too(here: Path) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    type_in("record", "PH-01", "--made", "2=44")
    made = [one for one in kept().with_new_ids().entries if isinstance(one.what, Made)]
    assert isinstance(made[1].what, Made)
    assert [bend.by_marks for bend in made[1].what.bends] == [made[0].id]


def chained(count: int) -> list[Entry]:
    """New marks that each were kept with bend 1 as those before have it, and between them ticks by the first of all."""
    pins, first = Pins(marks="P"), "0" * 32
    entries = []
    for number in range(count):
        by = f"{number - 1:032x}" if number else "plan"
        read, again = BendMade(number=1, angle_rad=0.42, by_marks=by), MarkAnew(number=1, mark_mm=300.0, angle_rad=0.5)
        what = Made(bends=(read,), anew=Anew(marks=(again,)))
        entries.append(Entry(id=f"{number:032x}", run=first, what=what, pins=pins))
        tick = Made(bends=(BendMade(number=1, angle_rad=0.5, by_marks=first),))
        entries.append(Entry(id=f"{0xFFF000 + number:032x}", run=first, what=tick, pins=pins))
    return entries


def test_the_work_of_new_marks_that_were_kept_one_after_the_other_grows_with_their_square_at_most(here: Path) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    (run,) = kept().runs
    calls: list[int] = []

    def count(frame: object, event: str, of: object) -> None:
        calls[-1] += event == "call"

    for many in (20, 40):
        entries = chained(many)
        calls.append(0)
        sys.setprofile(count)
        try:
            assert len(followed(run, entries)) == many
            assert len(marked_anew(run, entries, "P")) == 1
        finally:
            sys.setprofile(None)
    assert calls[1] < 5 * calls[0]


def test_of_many_cuts_and_twists_by_other_marks_the_first_are_told_and_how_many_more_there_are(here: Path) -> None:
    def cuts(count: int) -> tuple[str, ...]:
        steps = tuple(StepMade(kind="cut", trim_mm=8.0 * (n + 1), by_marks="e" * 32) for n in range(count))
        record = [MadeEntry(id=f"{n:032x}", what=Made(bends=(), steps=steps)) for n in range(2)]
        assert len(so_far(record).other_steps) == 2 * count
        plan = next(plan_job(kept())).plan
        assert plan is not None
        return other_marks(plan.pieces[0].bends, plan.shoe, plan.tape, record)

    assert len(cuts(12)) == 12, "each once"
    told = cuts(100)
    assert len(told) == 13
    assert told[-1] == "and 88 more steps are ticked off so"
