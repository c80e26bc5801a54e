"""A run names its tool as it stood: what is measured anew is offered, never applied to what is marked or begun."""

import json
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import msgspec
import pytest
from replica import Replica
from typed import typed

from racewright.cli import cmd_bender, cmd_job
from racewright.errors import InputError, UnknownName
from racewright.job.plan_job import plan_job
from racewright.operations.answer import ask_json
from racewright.records.kinds import KINDS
from racewright.records.model import Job
from racewright.records.tool import ToolPin
from racewright.store.job_file import job_to_data, load_job
from racewright.store.job_protocol import Answered, Offered, offer, since
from racewright.store.job_store import JobStore

EXAMPLES = Path(__file__).parents[2] / "examples"


job, bender = partial(typed, cmd_job), partial(typed, cmd_bender)


def half(take_up: str, name: str = "blue half", *more: str) -> int:
    size = ("--raceway", "EMT", "--size", "1/2")
    return bender("add", name, *size, "--take-up", take_up, "--gain", "2 5/8", *more)


def surveyed(name: str, tool: str = "blue half") -> str:
    text = (EXAMPLES / "pump-house-saddle.yaml").read_text(encoding="utf-8")
    Path(name).write_text(text.replace("run:\n", f"run:\n  bender: {tool}\n", 1), encoding="utf-8")
    return name


@pytest.fixture
def here(empty_folder: Path) -> Path:
    """A shop with one tool, and two runs on it."""
    assert job("new", "orchard", "--by", "Kim") == 0
    assert half("5 1/8") == 0
    for key in ("A", "B"):
        assert job("add", surveyed(f"{key}.yaml"), "--key", key, "--by", "Kim") == 0
    return empty_folder


def kept() -> Job:
    with JobStore.open("jobs.rwshop") as store:
        store.check()
        return store.load("orchard")


def plans() -> dict[str, str]:
    return {one.key: one.plan.digest for one in plan_job(kept()) if one.plan}


def on() -> str:
    tool = kept().tool_of(kept().runs[0])
    return tool.name if tool else ""


def revisions() -> list[int]:
    return [run.tool.revision if run.tool else 0 for run in kept().runs]


def test_a_run_on_figures_that_are_not_here_is_planned_on_no_others_and_says_which_are_missing(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with JobStore.open("jobs.rwshop") as store:
        kept_run = store.run("orchard", "A")
        assert kept_run.value.tool is not None
        later = ToolPin(id=kept_run.value.tool.id, revision=3)
        store.save_run("orchard", msgspec.structs.replace(kept_run.value, tool=later), kept_run.revision)
    assert set(plans()) == {"B"}
    capsys.readouterr()
    job("plan")
    out = capsys.readouterr().out
    assert "it is on 'blue half', revision 3, and revision 1 is the last here." in out
    assert "share the device that has it" in " ".join(out.split())
    assert job("tool", "A") == 0
    assert set(plans()) == {"A", "B"}


def test_a_device_adds_revisions_to_a_tool_up_to_a_bound_and_is_told(
    here: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(KINDS, "tool", msgspec.structs.replace(KINDS["tool"], most_revisions=2))
    with JobStore.open("jobs.rwshop") as store:
        (tool,) = (one.value for one in store.tools() if one.value.name == "blue half")
        shop = store.rows.shop_id() or ""
        outcomes: list[Answered] = []
        for take_up in ("5 1/4 in", "5 3/8 in"):
            standing = store.rows.standing(tool.id)
            assert standing is not None
            profile = msgspec.structs.replace(tool.profile, take_up=take_up)
            data = msgspec.to_builtins(msgspec.structs.replace(tool, profile=profile))
            sent = Offered(kind="tool", id=tool.id, base=standing.number, base_digest=standing.digest, data=data)
            outcomes += offer(store, shop, [sent], by="phone")
        assert [one.outcome for one in outcomes] == ["saved", "refused"]
        assert "has 2 revisions already, of 280 bytes together; the most is 2 revisions." in outcomes[1].message


def test_a_plan_does_not_move_when_its_tool_is_measured_anew_and_the_new_one_is_offered(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = plans()
    job("set", "bent", "B", "--by", "Kim")
    assert half("5 1/4", "blue half", "--replace") == 0
    assert plans() == before
    assert [(tool.revision, tool.profile.take_up) for tool in kept().tools] == [(1, "5 1/8 in"), (2, "5 1/4 in")]
    for command in ("status", "plan", "bill", "cut"):
        capsys.readouterr()
        job(command, "--json")
        (told,) = (f for f in json.loads(capsys.readouterr().out)["findings"] if f["rule"] == "run.newer_tool")
        assert "the tool blue half was measured anew (revision 2)" in told["message"]
        assert "(revision 1): A." in told["message"]  # B is begun, and stays on what it is marked for
    job("show", "A")
    shown = capsys.readouterr().out
    assert "\n  tool: blue half, revision 1\n" in shown
    assert "run.newer_tool" in shown
    job("show", "B")
    assert "run.newer_tool" not in capsys.readouterr().out
    job("add", "A.yaml", "--key", "A", "--replace")  # another survey on the same tool stays on it as it stood
    assert revisions() == [1, 1]


def told_of(key: str, capsys: pytest.CaptureFixture[str]) -> str:
    capsys.readouterr()
    job("status", "--json")
    found = json.loads(capsys.readouterr().out)["findings"]
    return " ".join(f["message"] for f in found if f["rule"] == "run.newer_tool" and f["where"] == key)


def test_a_tool_that_is_measured_anew_in_mid_run_is_told_and_what_is_told_works(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job("times", "20", "A")
    job("set", "bent", "A", "--copy", "1-9")
    half("5 1/4", "blue half", "--replace")
    message = told_of("A", capsys)
    assert "measured anew (revision 2) while copies 1 to 9 were begun as it stood before (revision 1)" in message
    assert "11 more (copies 10 to 20) are planned with the old figures" in message
    assert "`racewright job times 9 A`" in message
    assert "`--times 11`" in message
    capsys.readouterr()
    job("batch", "--json")
    kinds = json.loads(capsys.readouterr().out)["bench"]["kinds"]
    assert [kind["tool"] for kind in kinds] == ["blue half, revision 1"]
    assert job("times", "9", "A") == 0
    capsys.readouterr()
    assert job("show", "A", "--survey") == 0
    Path("rest.yaml").write_text(capsys.readouterr().out, encoding="utf-8")
    assert job("add", "rest.yaml", "--key", "A2", "--times", "11") == 0
    assert revisions() == [1, 1, 2]
    assert told_of("A", capsys) == ""


def test_copies_between_begun_ones_are_named_for_no_number_parts_them_off(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job("times", "4", "A")
    job("set", "bent", "A", "--copy", "1,3")
    half("5 1/4", "blue half", "--replace")
    message = told_of("A", capsys)
    assert "`racewright job times 3 A`" in message
    assert "No number of copies parts off copy 2" in message


def test_the_batch_list_keeps_two_revisions_of_a_tool_apart(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    half("5 1/4", "blue half", "--replace")
    job("tool", "B")
    capsys.readouterr()
    job("batch")
    out = capsys.readouterr().out
    assert "\nEMT 1/2, blue half, revision 1\n" in out
    assert "\nEMT 1/2, blue half, revision 2\n" in out


def test_a_run_is_put_on_its_tool_as_it_stands_now_unless_it_is_begun(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    half("5 1/4", "blue half", "--replace")
    job("plan")
    before = plans()
    assert kept().status(kept().runs[0]) == "planned"
    job("record", "B", "--made", "1=22")
    with pytest.raises(InputError, match="run B is marked or bent already"):
        job("tool", "A", "B")
    assert revisions() == [1, 1]
    capsys.readouterr()
    assert job("tool", "A", "--by", "Ana") == 0
    assert capsys.readouterr().out == "A: on blue half, revision 2\n"
    assert revisions() == [2, 1]
    assert plans()["A"] != before["A"]
    assert plans()["B"] == before["B"]
    assert kept().status(kept().runs[0]) == "measured"  # that plan was of the tool before
    half("5", "other")
    assert job("tool", "A", "--on", "OTHER") == 0
    assert on() == "other"
    with pytest.raises(UnknownName, match="there is no tool 'lost'"):
        job("tool", "A", "--on", "lost")
    job("add", str(EXAMPLES / "pump-house-saddle.yaml"), "--key", "C")
    with pytest.raises(InputError, match="run C names no tool"):
        job("tool", "C")
    capsys.readouterr()
    job("show", "C")
    assert "\n  tool: emt-1/2, taught figures: calibrate yours\n" in capsys.readouterr().out
    assert job("undo", "A", "--anyone") == 0
    assert on() == "blue half"


def test_a_new_survey_that_names_no_tool_leaves_its_run_on_its_own(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    saddle = (EXAMPLES / "pump-house-saddle.yaml").read_text(encoding="utf-8")
    job("add", str(EXAMPLES / "pump-house-saddle.yaml"), "--key", "C")
    job("tool", "C", "--on", "blue half")
    Path("C.yaml").write_text(saddle.replace("leg: 56 1/4", "leg: 57 1/4"), encoding="utf-8")
    capsys.readouterr()
    assert job("add", "C.yaml", "--key", "C", "--replace") == 0
    assert capsys.readouterr().out.endswith("replaced, on blue half\n")
    assert revisions() == [1, 1, 1]
    Path("C.yaml").write_text(saddle.replace("EMT 1/2", "EMT 3/4"), encoding="utf-8")
    assert job("add", "C.yaml", "--key", "C", "--replace") == 0  # it bends no such raceway
    assert capsys.readouterr().out.endswith("replaced\n")
    assert revisions() == [1, 1, 0]


def test_a_run_goes_on_no_tool_of_another_raceway_and_back_to_the_trades_shoe(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job("add", str(EXAMPLES / "pump-house-saddle.yaml"), "--key", "C")
    bender("add", "bigger", "--raceway", "EMT", "--size", "3/4", "--take-up", "6", "--gain", "3 1/4")
    for other in ("bigger", "emt-3/4"):
        with pytest.raises(InputError, match=rf"run C is EMT 1/2, and '{other}' bends EMT 3/4\."):
            job("tool", "C", "--on", other)
    job("tool", "C", "--on", "blue half")
    capsys.readouterr()
    assert job("tool", "C", "--on", "emt-1/2") == 0
    assert capsys.readouterr().out == "C: on the trade's hand shoe\n"
    assert revisions() == [1, 1, 0]
    with pytest.raises(InputError, match="the survey of run A names the bender 'blue half'"):
        job("tool", "A", "--on", "emt-1/2")


def phone_plan(phone: Replica, key: str) -> Any:
    """A run's plan as a phone asks for it, with the figures that it has of the run's tool."""
    (run,) = (one for one in map(phone.now, phone.records("run")) if one is not None and one["key"] == key)
    tool = phone.at(run["tool"]["id"], run["tool"]["revision"])
    assert tool is not None
    request = {"survey": run["survey"], "bender": tool["profile"], "bender_name": tool["name"]}
    return json.loads(ask_json("plan", json.dumps(request)))["plan"]


def test_a_phone_that_joins_late_and_the_command_print_the_same_marks(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Also where the tool was measured anew twice since, and then taken out."""
    early, late = Replica("phone 1"), Replica("phone 2")

    def hear(*phones: Replica) -> None:
        with JobStore.open("jobs.rwshop") as store:
            for phone in phones:
                phone.hear(since(store, phone.number, mark=phone.mark))

    hear(early)
    half("5 1/4", "blue half", "--replace")
    half("5 3/8", "blue half", "--replace")
    job("tool", "B")
    bender("remove", "blue half", "--anyway")
    hear(early, late)
    of_job = {one.key: one.plan for one in plan_job(kept())}
    assert revisions() == [1, 3]
    for key in ("A", "B"):
        capsys.readouterr()
        job("show", key)
        printed, plan = capsys.readouterr().out, of_job[key]
        assert plan is not None
        steps = json.loads(msgspec.json.encode(plan.steps))
        for phone in (early, late):
            planned = phone_plan(phone, key)
            assert f"plan {planned['digest']}" in printed
            assert planned["steps"] == steps
    assert plans()["A"] != plans()["B"]


def test_a_tool_of_ones_own_comes_along_when_a_run_is_put_on_it(here: Path) -> None:
    bender("add", "mine", "--shop", "home/own.rwshop", "--raceway", "EMT", "--size", "1/2", "--radius", "5 in")
    assert job("tool", "A", "--on", "mine") == 0
    with JobStore.open("jobs.rwshop") as store:
        assert [one.value.name for one in store.tools()] == ["blue half", "mine"]
    assert plans()["A"] != plans()["B"]


def test_a_tool_that_was_taken_out_still_serves_the_runs_that_name_it(here: Path) -> None:
    before = plans()
    with pytest.raises(InputError, match=r"Runs are on 'blue half': A \(orchard\), B \(orchard\)\."):
        bender("remove", "blue half")
    assert bender("remove", "blue half", "--anyway") == 0
    assert plans() == before
    with pytest.raises(InputError, match="names no tool"):
        job("tool", "A")


def test_a_tool_that_is_added_again_under_its_name_goes_on_as_its_next_revision(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bender("add", "blue half", "--shop", "home/own.rwshop", "--raceway", "EMT", "--size", "1/2", "--radius", "5 in")
    before = plans()
    capsys.readouterr()
    bender("remove", "blue half", "--anyway")
    assert "Another profile of that name, in another file, now goes by it" in capsys.readouterr().out
    assert half("5 1/4", "Blue half") == 0
    assert [(t.revision, t.profile.take_up) for t in kept().tools] == [(1, "5 1/8 in"), (3, "5 1/4 in")]
    assert plans() == before
    capsys.readouterr()
    job("status")
    assert "Blue half was measured anew (revision 3)" in " ".join(capsys.readouterr().out.split())
    assert job("tool", "A") == 0
    assert revisions() == [3, 1]


def test_a_tools_revisions_are_shown_and_one_is_brought_back(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = plans()
    half("5 1/4", "blue half", "--replace", "--by", "Sam")
    half("5 3/8", "blue half", "--replace", "--by", "Kim")
    capsys.readouterr()
    bender("log", "BLUE half")
    lines = capsys.readouterr().out.splitlines()
    assert [line.split("  ")[0] for line in lines[::2]] == ["revision 3", "revision 2", "revision 1"]
    assert [line.split("  ")[2] for line in lines[:4:2]] == ["Kim", "Sam"]
    assert lines[1::2] == [
        "    take-up 5 3/8 in, was 5 1/4 in",
        "    take-up 5 1/4 in, was 5 1/8 in",
        "    name blue half, raceway EMT, size 1/2, take-up 5 1/8 in, gain per 90 2 5/8 in",
    ]
    with pytest.raises(InputError, match="the last change of the tool 'blue half' is not yours: by Kim"):
        bender("undo", "blue half", "--by", "Sam")
    for wrong, words in (("9", "has no revision 9 to bring back"), ("3", "is as it was at revision 3 already")):
        with pytest.raises(InputError, match=words):
            bender("undo", "blue half", "--by", "Kim", "--to", wrong)
    capsys.readouterr()
    assert bender("undo", "blue half", "--by", "Sam", "--to", "1", "--anyone") == 0
    words = "blue half: as at revision 1 again, now revision 4. Runs stay on what they have.\n"
    assert capsys.readouterr().out == words
    assert kept().tools[-1].profile.take_up == "5 1/8 in"
    assert bender("undo", "blue half", "--by", "Sam") == 0  # and as it was before that
    assert kept().tools[-1].profile.take_up == "5 3/8 in"
    bender("remove", "blue half", "--by", "Sam", "--anyway")
    assert bender("undo", "blue half", "--by", "Sam") == 0
    assert [(tool.revision, tool.profile.take_up) for tool in kept().tools] == [(1, "5 1/8 in"), (7, "5 3/8 in")]
    capsys.readouterr()
    bender("log", "blue half", "--json")
    told = json.loads(capsys.readouterr().out)["revisions"]
    assert [(one["revision"], one["tool"] and one["tool"]["profile"]["take_up"]) for one in told[:3]] == [
        (7, "5 3/8 in"),
        (6, None),
        (5, "5 3/8 in"),
    ]
    assert plans() == before
    assert revisions() == [1, 1]
    half("5", "other", "--by", "Kim")
    with pytest.raises(InputError, match="The tool 'other' was never anything else"):
        bender("undo", "other", "--by", "Kim")
    for action in ("log", "undo", "remove"):
        with pytest.raises(UnknownName, match="There is no own profile 'lost'"):
            bender(action, "lost")
    with pytest.raises(UnknownName, match="There is no own profile 'x'"):
        bender("log", "x", "--shop", "none.rwshop")
    assert not Path("none.rwshop").exists()


def test_a_run_whose_tool_has_not_come_yet_waits_for_it(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run = msgspec.structs.replace(kept().runs[0], tool=ToolPin(id="a" * 32, revision=1))
    with JobStore.open("jobs.rwshop") as store:
        kept_run = store.run("orchard", "A")
        standing = store.rows.standing(run.id)
        assert standing is not None
        digest = standing.digest
        one = Offered(kind="run", id=run.id, base=kept_run.revision, base_digest=digest, data=msgspec.to_builtins(run))
        assert offer(store, store.load("orchard").id, [one], by="phone")[0].outcome == "saved"
    assert job("plan") == 1
    assert "its tool (aaaaaa, revision 1) is not among the tools here" in capsys.readouterr().out
    assert job("bill") == 1


def test_a_job_file_carries_the_tools_that_its_runs_name(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    half("5 1/4", "blue half", "--replace")
    half("5", "not named")
    job("tool", "B")
    assert job("export", "o.json") == 0
    data = json.loads(Path("o.json").read_text())
    assert (data["racewright_job"], [(t["name"], t["revision"]) for t in data["tools"]]) == (
        4,
        [("blue half", 1), ("blue half", 2)],
    )
    assert load_job("o.json") == kept()
    assert "error" not in json.loads(ask_json("job_plan", json.dumps({"job": data})))
    assert job("import", "o.json", "--key", "again") == 0  # the shop has these tools
    with JobStore.open("jobs.rwshop") as store:
        assert len(store.tools()) == 2
        assert [run.tool for run in store.load("again").runs] == [run.tool for run in store.load("orchard").runs]
    assert job("import", "o.json", "--key", "first", "--shop", "new.rwshop") == 0  # another shop gets them
    with JobStore.open("new.rwshop") as store:
        store.check()
        new = store.load("first")
        assert [kept.revision for kept in store.tools()] == [2]
    assert {one.key: one.plan.digest for one in plan_job(new) if one.plan} == plans()
    changes: list[tuple[Callable[[Any], Any], str]] = [
        (lambda d: d["tools"].append(d["tools"][0]), r"tools\[2\]: is there twice"),
        (lambda d: d["tools"][0]["profile"].update(gain="much"), "much"),
    ]
    for change, words in changes:
        spoilt = json.loads(Path("o.json").read_text())
        change(spoilt)
        Path("bad.json").write_text(json.dumps(spoilt))
        with pytest.raises(InputError, match=words):
            load_job("bad.json")
    assert job_to_data(kept())["tools"]


def test_a_job_file_without_its_tools_comes_in_and_says_what_is_missing(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A phone knows tools as they stand now, not each revision that a run was put on."""
    data = job_to_data(kept())
    Path("o.json").write_text(json.dumps({**data, "tools": []}))
    assert job("import", "o.json", "--key", "here") == 0  # the shop has them
    assert job("plan", "--job", "here") == 0
    assert job("import", "o.json", "--key", "there", "--shop", "new.rwshop") == 0
    assert "2 of them are on a tool that is not here: `racewright job status` says what" in capsys.readouterr().err
    job("status", "--json", "--shop", "new.rwshop")
    told = json.loads(capsys.readouterr().out)["findings"]
    assert [(f["rule"], f["where"]) for f in told] == [("job.plan", "A"), ("job.plan", "B")]
    assert all("is not among the tools here" in f["message"] for f in told)
    assert job("plan", "--shop", "new.rwshop") == 1
    assert "is not among the tools here" in capsys.readouterr().out
    half("5", "blue half", "--shop", "new.rwshop")
    assert job("tool", "A", "B", "--on", "blue half", "--shop", "new.rwshop") == 0
    assert job("plan", "--shop", "new.rwshop") == 0


def test_a_revision_of_a_tool_is_never_another_one_in_another_shop(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A file that carries a tool as it is now only, then one that names it as it was and does not carry it."""
    old = job_to_data(kept())
    half("5 1/4", "blue half", "--replace")
    job("tool", "A", "B")
    assert job("export", "now.json") == 0
    (tool,) = json.loads(Path("now.json").read_text())["tools"]
    assert tool["revision"] == 2
    Path("old.json").write_text(json.dumps({**old, "tools": []}))
    assert job("import", "now.json", "--key", "now", "--shop", "new.rwshop") == 0
    assert job("import", "now.json", "--key", "again", "--shop", "new.rwshop") == 0
    capsys.readouterr()
    assert job("import", "old.json", "--key", "old", "--shop", "new.rwshop") == 0
    assert "2 of them are on a tool that is not here" in capsys.readouterr().err
    with JobStore.open("new.rwshop") as store:
        assert [one.value.profile.take_up for one in store.tools()] == ["5 1/4 in"], "once, however often it comes"
        assert {run.tool for run in store.load("again").runs} == {run.tool for run in store.load("now").runs}
        assert not any(run.plan for run in plan_job(store.load("old")))
        assert all(run.plan for run in plan_job(store.load("again")))


def test_the_logs_say_names_and_what_a_tape_shows(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Figures that test bends gave are kept in mm to a millionth; runs name their tools by id."""
    bends = [
        "angle=90 stub=12 leg=30 cut=39-3/8 mark=7 pointer=93",
        "angle=90 stub=13 leg=30 cut=40-3/8 mark=8 pointer=92",
    ]
    saved = ("--raceway", "EMT", "--size", "1/2", "--bend", bends[0], "--bend", bends[1], "--save")
    assert bender("calibrate", "green", *saved) == 0
    assert job("tool", "A", "--on", "green") == 0
    capsys.readouterr()
    bender("log", "green")
    said = capsys.readouterr().out
    assert "bend radius 4.471 in, arrow lead 0.176 in" in said
    assert "springback 30° bend to 30.8°, 45° bend to 46.2°, 90° bend to 92.5°" in said
    bender("show", "green")
    assert "30° bend to 30.8°, 45° bend to 46.2°, 90° bend to 92.5°" in capsys.readouterr().out
    assert "mm" not in said
    bender("log", "green", "--unit", "mm")
    assert "bend radius 113.6 mm, arrow lead 4.5 mm" in capsys.readouterr().out
    job("log", "A")
    said = capsys.readouterr().out
    assert "    tool: 'green, revision 1', was 'blue half, revision 1'" in said
    assert kept().tools[0].id not in said
    with JobStore.open("jobs.rwshop") as store:
        run = store.run("orchard", "A")
        stale = msgspec.structs.replace(run.value, note="by the door")
        with pytest.raises(InputError, match="revision 1, and revision 2 stands"):
            store.save_run("orchard", stale, 1, by="Sam")
    job("log", "A", "--refused")
    assert kept().tools[0].id not in capsys.readouterr().out
