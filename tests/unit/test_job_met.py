"""A job file whose job is in the shop already: what is new of it comes in, nothing that stands is lost."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest
from typed import type_in

from racewright.errors import InputError
from racewright.records.entry import BendMade, Entry, Made, Noted
from racewright.records.ids import new_id
from racewright.records.model import Job, JobRun
from racewright.store.job_file import load_job, write_job
from racewright.store.job_store import JobStore

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture
def here(empty_folder: Path) -> Job:
    """A shop with one job of two runs, and the file that it was saved as, with a note on one."""
    type_in("new", "orchard", "--name", "Orchard")
    type_in("add", str(EXAMPLES / "pump-house-saddle.yaml"), "--key", "PH-01")
    type_in("add", str(EXAMPLES / "pump-house-kick.yaml"), "--key", "PH-02")
    type_in("set", "bent", "PH-01")
    type_in("export", "first.json")
    return load_job("first.json")


def jobs() -> dict[str, Job]:
    with JobStore.open("jobs.rwshop") as store:
        return {key: store.load(key) for key in store.jobs()}


def with_run(job: Job, index: int, **changed: object) -> Job:
    runs = list(job.runs)
    runs[index] = msgspec.structs.replace(runs[index], **changed)
    return msgspec.structs.replace(job, runs=tuple(runs))


def test_a_file_of_what_is_here_changes_nothing(here: Job, capsys: pytest.CaptureFixture[str]) -> None:
    before = jobs()
    assert type_in("import", "first.json") == 0
    assert "job orchard is here already: 0 runs and 0 entries of first.json brought in" in capsys.readouterr().out
    assert jobs() == before


def test_a_key_makes_a_second_job(here: Job) -> None:
    assert type_in("import", "first.json", "--key", "second") == 0
    found = jobs()
    assert list(found) == ["orchard", "second"]
    assert not {run.id for run in found["orchard"].runs} & {run.id for run in found["second"].runs}


def test_what_was_changed_or_removed_here_since_stays(here: Job, capsys: pytest.CaptureFixture[str]) -> None:
    type_in("add", str(EXAMPLES / "pump-house-kick.yaml"), "--key", "PH-01", "--replace")
    type_in("remove", "PH-02")
    before = jobs()
    capsys.readouterr()
    assert type_in("import", "first.json") == 0
    said = capsys.readouterr().out
    assert "1 run changed here since: left as here" in said
    assert "1 run removed here: not brought back" in said
    assert jobs() == before


def test_an_entry_that_says_something_else_here_is_told(here: Job, capsys: pytest.CaptureFixture[str]) -> None:
    """One that was taken back in part here stays so, and one that the shop never had so is left as here."""
    type_in("record", "PH-01", "--made", "1=20", "--made", "2=41")
    type_in("export", "whole.json")
    type_in("undo", "PH-01", "--made", "2")
    before = jobs()
    capsys.readouterr()
    assert type_in("import", "whole.json") == 0
    assert "1 entry changed or taken back in part here since: left as here" in capsys.readouterr().out
    (made,) = [one for one in before["orchard"].entries if isinstance(one.what, Made)]
    other = msgspec.structs.replace(made, what=Made(bends=(BendMade(number=1, angle_rad=0.5),)))
    file = msgspec.structs.replace(before["orchard"], entries=(other,))
    write_job("other.json", file)
    for more in ((), ("--replace",)):
        assert type_in("import", "other.json", *more) == 1
        told = capsys.readouterr()
        assert "1 entry said differently in the file and here, and left as here" in told.err
    assert jobs() == before
    type_in("undo", "PH-01", "--made", "1")
    assert type_in("import", "other.json") == 0  # what is taken back here is not brought back
    assert "entry" not in capsys.readouterr().err


def test_runs_and_entries_of_the_file_alone_come_in(here: Job) -> None:
    first = here.runs[0]
    more: JobRun = msgspec.structs.replace(first, id=new_id(), key="PH-09")
    note = Entry(run=first.id, what=Noted(note="left side"), by="Kim", at="2026-03-01T10:00:00Z")
    on_new = Entry(run=more.id, what=Noted(note="not begun"), by="Kim", at="2026-03-01T10:00:00Z")
    file = msgspec.structs.replace(here, id=new_id(), runs=(*here.runs, more), entries=(*here.entries, note, on_new))
    write_job("more.json", file)
    assert type_in("import", "more.json") == 0  # by its runs, whatever its own id
    after = jobs()["orchard"]
    assert [run.key for run in after.runs] == ["PH-01", "PH-02", "PH-09"]
    assert {note.id, on_new.id} <= {entry.id for entry in after.entries}
    assert type_in("import", "more.json") == 0
    assert jobs()["orchard"] == after


def test_what_both_say_differently_is_kept_and_told(here: Job, capsys: pytest.CaptureFixture[str]) -> None:
    file = with_run(here, 0, area="north")
    file = msgspec.structs.replace(file, head=msgspec.structs.replace(file.head, note="by the road"))
    write_job("other.json", file)
    before = jobs()
    assert type_in("import", "other.json") == 1
    said = capsys.readouterr().err
    assert "left as here: the job's head, run PH-01" in said
    assert "--replace takes the file's" in said
    assert jobs() == before
    type_in("log", "--refused")
    said = capsys.readouterr().out
    assert "run PH-01: not made from what stood here, revision 1 stood" in said
    assert "area: refused 'north'" in said


def test_the_files_word_is_taken_where_that_is_said(here: Job) -> None:
    write_job("other.json", with_run(here, 0, area="north"))
    assert type_in("import", "other.json", "--replace") == 0
    assert jobs()["orchard"].runs[0].area == "north"
    assert type_in("undo") == 0
    assert jobs()["orchard"].runs[0] == here.runs[0]


def test_a_record_of_another_job_is_refused_whole(here: Job) -> None:
    type_in("import", "first.json", "--key", "second")
    second = jobs()["second"]
    before = jobs()
    write_job("mixed.json", msgspec.structs.replace(here, runs=(*here.runs, second.runs[0])))
    with pytest.raises(InputError, match="of another job here"):
        type_in("import", "mixed.json")
    assert jobs() == before
