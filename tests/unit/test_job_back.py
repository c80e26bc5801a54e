"""One run taken back: whose it was, what goes, and the status that belongs to the survey which stands again."""

from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest

from racewright.errors import InputError
from racewright.records.entry import Entry, Noted, Pins, Status, StatusSet
from racewright.records.ids import Id, new_id
from racewright.records.model import JobHead, JobRun
from racewright.store.job_back import go_back
from racewright.store.job_changes import add_surveys, rename_run, turn_last
from racewright.store.job_errors import StaleSave
from racewright.store.job_file import load_job
from racewright.store.job_protocol import Offered, offer
from racewright.store.job_store import JobStore
from racewright.survey.written import WrittenSurvey

FIRST, SECOND, THIRD = (
    run.survey for run in load_job(Path(__file__).parents[2] / "examples/orchard-job.json").runs[:3]
)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[JobStore]:
    with JobStore.open(tmp_path / "jobs.rwshop", create=True) as opened:
        opened.create_job("orchard", JobHead(name="Orchard"), by="Kim")
        add_surveys(opened, "orchard", [("PH-01", FIRST)], by="Kim")
        yield opened


def run_of(store: JobStore) -> JobRun:
    return store.run("orchard", "PH-01").value


def came(store: JobStore, status: Status, marks: str = "", by: str = "Kim") -> None:
    """The run came so far, at the revision that stands."""
    kept = store.run("orchard", "PH-01")
    entry = Entry(run=kept.value.id, what=StatusSet(status=status), pins=Pins(run=kept.revision, marks=marks), by=by)
    store.add_entries("orchard", [entry], by=by)


def replace(store: JobStore, survey: WrittenSurvey, by: str = "Kim") -> bool:
    return bool(add_surveys(store, "orchard", [("PH-01", survey)], replace=True, by=by).past)


def now(store: JobStore) -> tuple[WrittenSurvey, Status]:
    job = store.load("orchard")
    return job.runs[0].survey, job.status(job.runs[0])


def test_a_status_does_not_outlive_the_survey_that_it_was_set_on(store: JobStore) -> None:
    replace(store, SECOND)
    came(store, "planned")
    went = go_back(store, "orchard", "PH-01", 1, by="Kim")
    assert (went.revision, went.statuses, went.past) == (1, ("measured",), "")
    assert now(store) == (FIRST, "measured")
    assert go_back(store, "orchard", "PH-01", 2, by="Kim").statuses == ("planned",)
    assert now(store) == (SECOND, "planned")


def test_what_another_person_of_the_same_login_said_is_not_taken_back_unasked(store: JobStore) -> None:
    """As a page of this machine writes it: its person stands in the entry."""
    entry = Entry(run=run_of(store).id, what=StatusSet(status="planned"), by="Ana", at="2026-05-04T10:42:00Z")
    store.add_entries("orchard", [entry], by="Kim")
    with pytest.raises(InputError, match=r"not yours: .* by Ana, 2026-05-04"):
        turn_last(store, "orchard", "undo", by="Kim", anyone=False)
    turn_last(store, "orchard", "undo", by="Kim", anyone=True)
    assert now(store) == (FIRST, "measured")
    store.add_entries("orchard", [msgspec.structs.replace(entry, id=new_id(), by="")], by="Kim")
    turn_last(store, "orchard", "undo", by="Kim", anyone=False)  # nobody else says so
    came(store, "planned")
    turn_last(store, "orchard", "undo", by="Kim", anyone=False)


def test_a_survey_that_comes_back_is_planned_where_it_was(store: JobStore) -> None:
    came(store, "planned", marks="4K7WQX")
    replace(store, SECOND)
    assert now(store) == (SECOND, "measured")
    went = go_back(store, "orchard", "PH-01", None, by="Kim")
    assert ([entry.what for entry in went.entries], went.statuses) == ([StatusSet(status="measured")], ("planned",))
    assert now(store) == (FIRST, "planned")
    replace(store, SECOND)
    assert not replace(store, FIRST)  # by a new survey that says the same
    assert now(store) == (FIRST, "planned")
    last = store.load("orchard").entries[-1]
    assert last.pins == Pins(run=store.run("orchard", "PH-01").revision, marks="4K7WQX")


def test_a_survey_that_differs_in_names_alone_leaves_it_planned(store: JobStore) -> None:
    """Unless a check finds a problem in it, which the marks say nothing of."""

    def but(**fields: object) -> WrittenSurvey:
        return msgspec.structs.replace(FIRST, run=msgspec.structs.replace(FIRST.run, **fields))

    came(store, "planned")
    named = but(name="Another name")
    replace(store, named)
    assert now(store) == (named, "planned")
    came(store, "bent")
    assert go_back(store, "orchard", "PH-01", None, by="Kim").statuses == ("planned",)
    assert go_back(store, "orchard", "PH-01", None, by="Kim").statuses == ("planned",)
    assert now(store) == (FIRST, "planned")
    crowded = but(wires=("40 x 4 THHN",))
    replace(store, crowded)
    assert now(store) == (crowded, "measured")


def test_an_entry_that_pins_no_revision_belongs_to_the_one_that_stood_when_it_came(store: JobStore) -> None:
    store.add_entries("orchard", [Entry(run=run_of(store).id, what=StatusSet(status="planned"))], by="Kim")
    replace(store, SECOND)
    go_back(store, "orchard", "PH-01", 1, by="Kim")
    assert now(store) == (FIRST, "planned")


@pytest.mark.parametrize("status", ["bent", "in", "wired"])
def test_what_is_bent_stays_bent_whatever_its_survey(store: JobStore, status: Status) -> None:
    replace(store, SECOND)
    came(store, status)
    assert replace(store, THIRD)
    went = go_back(store, "orchard", "PH-01", 1, by="Kim")
    assert (went.statuses, went.past) == ((status,), "bent")
    assert now(store) == (FIRST, status)


def test_a_tick_that_came_late_is_no_status_that_stood_with_a_survey(store: JobStore) -> None:
    came(store, "bent", "P")
    came(store, "planned", "P")
    named = msgspec.structs.replace(FIRST, run=msgspec.structs.replace(FIRST.run, name="Another name"))
    assert not replace(store, named), "it was bent for the same plan"
    assert now(store) == (named, "bent")
    came(store, "measured")
    came(store, "planned", "P")
    replace(store, SECOND)
    assert go_back(store, "orchard", "PH-01", 2, by="Kim").statuses == ("planned",), "it was set back before"


def test_another_key_changes_no_status_and_is_taken_back(store: JobStore) -> None:
    came(store, "planned")
    rename_run(store, "orchard", "PH-01", "PH-09", by="Kim")
    went = go_back(store, "orchard", "PH-09", None, by="Kim")
    assert (went.run.key, went.entries, went.past) == ("PH-01", (), "")
    assert now(store) == (FIRST, "planned")
    assert len(store.entries("orchard")) == 1


def test_each_time_it_goes_one_further_back(store: JobStore) -> None:
    came(store, "planned")
    replace(store, SECOND)
    came(store, "planned")
    replace(store, THIRD)
    seen = []
    for _ in range(4):
        go_back(store, "orchard", "PH-01", None, by="Kim")
        seen.append(now(store))
    assert seen == [(SECOND, "planned"), (SECOND, "measured"), (FIRST, "planned"), (FIRST, "measured")]
    with pytest.raises(InputError, match="nothing to take back but its beginning"):
        go_back(store, "orchard", "PH-01", None, by="Kim")
    store.check()


def test_the_jobs_undo_and_redo_between_leave_the_order_as_it_was(store: JobStore) -> None:
    replace(store, SECOND)
    came(store, "bent")
    for kind in ("undo", "undo", "redo", "redo"):
        turn_last(store, "orchard", kind, by="Kim", anyone=False)
    assert now(store) == (SECOND, "bent")
    go_back(store, "orchard", "PH-01", None, by="Kim")
    assert now(store) == (SECOND, "measured")
    go_back(store, "orchard", "PH-01", None, by="Kim")
    assert now(store) == (FIRST, "measured")


def test_a_run_that_was_taken_out_comes_back_first(store: JobStore) -> None:
    replace(store, SECOND)
    came(store, "planned")
    kept = store.run("orchard", "PH-01")
    store.remove_run("orchard", kept.value.id, kept.revision, by="Sam")
    with pytest.raises(InputError, match="not yours: by Sam"):
        go_back(store, "orchard", "PH-01", None, by="Kim")
    go_back(store, "orchard", "PH-01", None, by="Sam")
    assert now(store) == (SECOND, "planned")


def test_somebody_elses_is_taken_back_only_where_that_is_asked(store: JobStore) -> None:
    came(store, "bent", by="Ana")
    with pytest.raises(InputError, match="not yours: by Ana") as caught:
        go_back(store, "orchard", "PH-01", None, by="Kim")
    assert "--anyone" in caught.value.hint
    go_back(store, "orchard", "PH-01", None, by="Kim", anyone=True)
    replace(store, SECOND, by="Ana")
    for to in (None, 1):
        with pytest.raises(InputError, match="not yours: by Ana"):
            go_back(store, "orchard", "PH-01", to, by="Kim")
    go_back(store, "orchard", "PH-01", None, by="Ana")
    assert now(store) == (FIRST, "measured")
    ((first, by, at),) = (one for one in store.entries_taken_back("orchard") if one[0].by == "Ana")
    assert (first.value.what, by, bool(at)) == (StatusSet(status="bent"), "Kim", True)


def offered(run: Id, note: str, by: str, at: str) -> Entry:
    return Entry(run=run, piece=1, what=Noted(note=note), by=by, at=at)


def test_of_a_devices_whole_offer_goes_what_one_person_did_at_one_time(store: JobStore) -> None:
    add_surveys(store, "orchard", [("PH-02", SECOND)], by="Kim")
    one, other = (kept.value.id for kept in store.runs("orchard"))
    day = [
        offered(one, "cut", "Ana", "2026-05-02T07:10:00+00:00"),
        offered(one, "bent", "Ana", "2026-05-02T08:10:00+00:00"),
        offered(one, "rides high", "Ana", "2026-05-02T08:10:00+00:00"),
        offered(one, "hung", "Bo", "2026-05-02T09:10:00+00:00"),
        offered(other, "cut", "Ana", "2026-05-02T09:10:00+00:00"),
    ]
    records = [Offered(kind="entry", id=entry.id, data=msgspec.to_builtins(entry)) for entry in day]
    assert {answer.outcome for answer in offer(store, store.load("orchard").id, records, by="phone 1")} == {"saved"}
    went = go_back(store, "orchard", "PH-01", None, by="Bo")
    assert went.entries == (day[3],)
    with pytest.raises(InputError, match="not yours: by Ana"):
        go_back(store, "orchard", "PH-01", None, by="Bo")
    assert go_back(store, "orchard", "PH-01", None, by="Ana").entries == (day[1], day[2])
    assert [kept.value for kept in store.entries("orchard")] == [day[0], day[4]]


def test_after_ones_own_save_there_is_nothing_to_redo(store: JobStore) -> None:
    came(store, "bent", by="Ana")
    turn_last(store, "orchard", "undo", by="Ana", anyone=False)
    came(store, "planned", by="Bo")
    with pytest.raises(InputError, match="nothing to redo"):
        turn_last(store, "orchard", "redo", by="Bo", anyone=False)


def test_revision_0_is_not_the_one_that_stands(store: JobStore) -> None:
    with pytest.raises(StaleSave) as caught:
        add_surveys(store, "orchard", [("PH-01", SECOND)], replace=True, revision=0, by="Kim")
    assert (caught.value.based_on, caught.value.found) == (0, 1)
    assert now(store) == (FIRST, "measured")
