"""What is named of a run's record is taken back, whatever came after it: `racewright job undo RUN --made 2`."""

from pathlib import Path

import pytest
from kept_new_marks import SADDLE
from typed import kept, type_in

from racewright.errors import InputError
from racewright.fit.measured import BendAngle, OffAt
from racewright.records.entry import Corrected, Made, Noted, Readings, StatusSet, StepMade, status_words
from racewright.records.parts_said import Part, part_words, parted, parts_of
from racewright.store.job_store import JobStore


@pytest.fixture
def here(empty_folder: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    type_in("new", "orchard", "--by", "Kim")
    type_in("add", SADDLE, "--key", "PH-01", "--by", "Kim")
    capsys.readouterr()
    return empty_folder


def record(*words: str, by: str = "Kim") -> None:
    type_in("record", "PH-01", *words, "--by", by)


def undo(capsys: pytest.CaptureFixture[str], *words: str, by: str = "Kim") -> str:
    capsys.readouterr()
    type_in("undo", "PH-01", *words, "--by", by)
    return capsys.readouterr().out


def refused(*words: str, by: str = "Kim") -> InputError:
    with pytest.raises(InputError) as err:
        type_in("undo", "PH-01", *words, "--by", by)
    return err.value


def stands() -> list[str]:
    """What is on record, part by part."""
    return [part_words(part) for entry in kept().entries for part in parts_of(entry.what) if part.kind != "status"]


def status() -> str:
    return status_words(kept().statuses(kept().runs[0]))


def test_one_tick_goes_and_what_came_after_it_stays_with_the_status_of_what_is_left(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for number, angle in ((1, 22.5), (2, 45), (3, 22.5)):
        record("--made", f"{number}={angle}")
    assert status() == "bent"
    assert undo(capsys, "--made", "2") == (
        "PH-01: taken back: PH-01 made: mark 2 bent to 45°; taken back: bent; status planned\n"
    )
    assert (stands(), status()) == (["--made 1", "--made 3"], "planned")
    undo(capsys, "--made", "1")
    undo(capsys, "--made", "3")
    assert (stands(), status()) == ([], "measured"), "it was planned by its first tick alone"
    type_in("undo", "--by", "Kim")
    assert stands() == ["--made 3"], "and that is a change like any other"


def test_of_what_was_recorded_at_once_that_part_alone_goes(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    record("--made", "1=22", "--made", "2=45", "--made", "3=22.5", "--note", "windy")
    assert undo(capsys, "--made", "1", "--made", "3") == (
        "PH-01: taken back: PH-01 made: mark 1 bent to 22°; mark 3 bent to 22.5°; taken back: bent; status planned\n"
    )
    entry, _ = kept().entries
    assert isinstance(entry.what, Made)
    assert ([bend.number for bend in entry.what.bends], entry.what.note) == ([2], "windy")
    undo(capsys, "--note")
    assert stands() == ["--made 2"], "a note that was recorded with it goes by itself"
    record("--angle", "2=44", "--off", "down=1/8", "--off", "long=1/4", "--lean", "up=1")
    record("--corrected", "2=1")
    record("--note", "rides high")
    assert status() == "bent"
    assert "off down by 1/8" in undo(capsys, "--off", "down")
    undo(capsys, "--lean", "down")
    undo(capsys, "--note")
    assert stands() == ["--made 2", "--angle 2", "--off long", "--corrected 2"]
    undo(capsys, "--corrected", "2")
    undo(capsys, "--off", "forward")
    assert status() == "bent", "one reading of the finished piece is left"
    undo(capsys, "--angle", "2")
    assert (stands(), status()) == (["--made 2"], "planned")


def test_a_reading_at_a_place_is_named_with_it(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    record("--off", "up=1", "--off", "up=1/2@30 1/2", "--off", "down=1/4@20")
    assert stands() == ["--off up", '--off "up@30 1/2"', "--off up@20"]
    assert "nothing that stands says --off up@21" in refused("--off", "up@21").message
    undo(capsys, "--off", "down@20")
    undo(capsys, "--off", "up")
    assert stands() == ['--off "up@30 1/2"']
    assert "nothing that stands says --off up." in refused("--off", "up").message
    undo(capsys, "--off", "up@30-1/2")
    assert stands() == []


def test_where_several_say_so_they_are_listed_and_one_is_named(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    record("--made", "2=45")
    record("--made", "2=44", by="Ana")
    mine, theirs = (entry.id for entry in kept().entries if isinstance(entry.what, Made))
    told = refused("--made", "2")
    assert told.message == "run PH-01: 2 entries say --made 2, and one of them is meant."
    assert told.hint.startswith(f"name it by the beginning of its id, with --entry: {theirs[:6]} (PH-01 made: mark 2")
    assert "by Ana 20" in told.hint
    assert f"; {mine[:6]} (PH-01 made: mark 2 bent to 45°; by Kim 20" in told.hint
    assert "not yours: by Ana" in refused("--made", "2", "--entry", theirs[:6]).message
    assert "nothing that stands says that" in refused("--entry", theirs[:3]).message, "so few digits are none"
    undo(capsys, "--entry", theirs[:6].upper(), "--anyone")
    assert "bent to 45" in undo(capsys, "--made", "2")


def test_of_runs_alike_the_copy_says_which(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_in("times", "3", "PH-01", "--by", "Kim")
    for copy in ("1", "2", "3"):
        record("--copy", copy, *(word for one in ("1=22.5", "2=45", "3=22.5") for word in ("--made", one)))
    assert "3 entries say --made 2" in refused("--made", "2").message
    assert "2 entries say --made 2" in refused("--made", "2", "--copy", "2-3").message
    gone = "PH-01: taken back: PH-01#3 made: mark 2 bent to 45°; taken back: PH-01#3: bent"
    assert undo(capsys, "--made", "2", "--copy", "3") == f"{gone}; status 2 of 3 bent, 1 planned\n"
    told = refused("--copy", "3")
    assert told.message == "run PH-01: it is not said what."
    assert "PH-01#3 made" in told.hint
    assert "#2" not in told.hint
    assert "nothing that stands says --angle 1" in refused("--angle", "1").message


@pytest.mark.parametrize(
    ("before", "then", "goes", "stood"),
    [
        ((("--angle", "2=45.5"), ("--made", "3=24", "--new-marks"), ("--made", "1=22.5")), ("--made", "2=45"), (), ""),
        ((("--made", "1=22.5"), ("--made", "2=45"), ("--made", "3=20"), ("--off", "up=1"), ("--new-marks",)),
         ("--made", "3=22.5"), ("--piece", "1"), ""),
        ((("--done", "length"),), ("--made", "1=22.5"), (), ""),
        ((("--done", "length"), ("--made", "2=45")), ("--done", "lay-out"), (), ""),
        ((), ("--done", "length"), (), "measured"),
    ],
)  # fmt: skip
def test_the_status_is_as_it_was_before_what_is_taken_back(
    before: tuple[tuple[str, ...], ...],
    then: tuple[str, ...],
    goes: tuple[str, ...],
    stood: str,
    here: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    for words in before:
        record(*words)
    assert status() == (stood or "planned")
    for plain in (False, True):
        record(*then)
        newest = next(entry for entry in reversed(kept().entries) if not isinstance(entry.what, StatusSet))
        told = undo(capsys, *([] if plain else ["--entry", newest.id, *goes]))
        assert told.endswith(f"status {status()}\n")
        assert status() == (stood or "planned")


def test_a_run_is_planned_while_any_work_by_its_plan_is_on_record(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record("--done", "length")
    record("--done", "lay-out", by="Ana")
    undo(capsys, "--done", "length")
    assert (stands(), status()) == (["--done lay-out"], "planned")
    undo(capsys, "--done", "lay-out", by="Ana")
    assert status() == "measured"
    type_in("set", "planned", "PH-01", "--by", "Kim")
    record("--made", "1=22.5")
    undo(capsys, "--made", "1")
    assert status() == "planned", "that was set, and came of no work"


def test_new_marks_go_with_the_bends_that_were_recorded_with_them(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record("--made", "1=25", "--new-marks")
    record("--made", "2=45")
    told = refused("--made", "1")
    assert told.message == "run PH-01: --made 1 stands with new marks, and goes with these alone."
    assert told.hint.startswith("take them back with --new-marks, or --entry: ")
    assert "new marks for the rest" in told.hint
    assert "mark 1 bent to 25°; new marks for the rest" in undo(capsys, "--new-marks")
    assert stands() == ["--made 2"]
    undo(capsys, "--made", "2")
    record("--made", "1=25")
    record("--new-marks")
    first, then = undo(capsys, "--made", "1").splitlines()
    assert first.startswith("PH-01: taken back: PH-01 made: mark 1 bent to 25°; status ")
    assert then.startswith("PH-01: --made 1 stands on with new marks, and goes with these alone (--new-marks, or")
    assert "new marks for the rest" in then
    assert "stands with new marks" in refused("--made", "1").message


def test_what_is_in_place_stays_so_and_so_does_what_somebody_set(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for one in ("1=22.5", "2=45", "3=22.5"):
        record("--made", one)
    type_in("set", "in", "PH-01", "--by", "Kim")
    undo(capsys, "--made", "2")
    assert status() == "in place"


def test_of_a_piece_by_another_plan_what_came_with_it_goes(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    record("--plan", "K7M3QX", "--angle", "2=44", "--off", "up=1/8")
    assert status() == "bent"
    undo(capsys, "--angle", "2")
    assert status() == "bent"
    undo(capsys, "--off", "up")
    assert status() == "measured"


@pytest.mark.parametrize(
    ("words", "told", "hint"),
    [
        (("--made", "2=45"), "says more than what is taken back", "--made 2"),
        (("--made", "two"), "'two' is no mark's number", "marks count from end A"),
        (("--done", "saw"), "--done saw is no step", "the steps are cut, twist, "),
        (("--off", "north"), "'north' is no way", "one of"),
        (("--made", "1", "--to", "1"), "no part of its record", "keep one"),
        (("--made", "1"), "nothing that stands says --made 1", "there is nothing on its record"),
    ],
)
def test_what_names_nothing_is_refused_in_words(words: tuple[str, ...], told: str, hint: str, here: Path) -> None:
    err = refused(*words)
    assert told in err.message
    assert hint in err.hint


def test_what_is_named_goes_with_a_run(here: Path) -> None:
    with pytest.raises(InputError, match="goes with a run"):
        type_in("undo", "--made", "2", "--by", "Kim")
    with JobStore.open("jobs.rwshop") as store:
        assert store.changes("orchard")[-1].what != "undo"


def test_a_step_is_a_part_of_its_own() -> None:
    cut, twist = StepMade(kind="cut", trim_mm=3.0), StepMade(kind="twist", number=2, by_rad=0.1)
    what = Made(bends=(), steps=(cut, twist))
    assert [part_words(part) for part in parts_of(what)] == ["--done cut", '--done "twist 2"']
    assert parted(what, {Part("twist", 2)}) == (Made(bends=(), steps=(twist,)), Made(bends=(), steps=(cut,)))
    read = Readings(measured=(BendAngle(number=1, angle_rad=0.5), OffAt(way="forward", off_mm=-2.0)), note="windy")
    assert parts_of(read) == (Part("angle", 1), Part("off", way="long"), Part("note"))
    assert parted(read, {Part("angle", 1)})[1] == Readings(measured=read.measured[1:], note="windy")
    assert parted(read, {Part("angle", 2)}) == (None, read)
    assert parted(read, {Part("angle", 1), Part("off", way="long")})[1] == Noted(note="windy")
    assert parted(Noted(note="windy"), {Part("note")}) == (Noted(note="windy"), None)
    assert parts_of(Corrected(moves=())) == ()
