"""A run taken back after any history: its status is one that was set on the survey which stands, or it is bent; and
going back comes to the run's beginning, one thing each time."""

import tempfile
from pathlib import Path

from hypothesis import example, given, settings
from hypothesis import strategies as st

from racewright.errors import InputError
from racewright.records.entry import Entry, Pins, Status, StatusSet
from racewright.records.model import JobHead
from racewright.store.job_back import go_back
from racewright.store.job_changes import add_surveys, set_times
from racewright.store.job_file import load_job
from racewright.store.job_store import JobStore
from racewright.survey.written import WrittenSurvey

SURVEYS = tuple(run.survey for run in load_job(Path(__file__).parents[2] / "examples/orchard-job.json").runs[:3])
STEPS = st.one_of(
    st.tuples(st.just("survey"), st.integers(0, 2)),
    st.tuples(st.just("planned"), st.integers(0, 3)),
    st.tuples(st.just("bent"), st.integers(0, 3)),
    st.tuples(st.just("times"), st.integers(1, 4)),
    st.tuples(st.just("back"), st.just(0)),
    st.tuples(st.just("to"), st.integers(1, 6)),
    st.tuples(st.just("undo"), st.just(0)),
    st.tuples(st.just("redo"), st.just(0)),
)


def take(store: JobStore, step: str, number: int) -> None:
    """One step on the run; those for which there is nothing raise InputError. What sets a status is of the copy of
    this number, 0: of all."""
    kept = store.run("orchard", "PH-01")
    if step == "survey":
        add_surveys(store, "orchard", [("PH-01", SURVEYS[number])], replace=True)
    elif step in ("planned", "bent"):
        status: Status = "planned" if step == "planned" else "bent"
        what, pins = StatusSet(status=status), Pins(run=kept.revision)
        store.add_entries("orchard", [Entry(run=kept.value.id, copy=number or None, what=what, pins=pins)])
    elif step == "times":
        before = store.load("orchard").statuses(kept.value)
        set_times(store, "orchard", ["PH-01"], number)
        job = store.load("orchard")
        after = job.statuses(job.runs[0])
        assert after[: len(before)] == before[:number]
        for copy, status in enumerate(after[len(before) :], len(before) + 1):
            # a copy that counts again is as it was left
            left = any(
                entry.copy in (copy, None) and entry.what == StatusSet(status="bent")
                for entry in job.entries
                if entry.run == kept.value.id
            )
            assert status in ("measured", "planned") or (status == "bent" and left)
    elif step in ("back", "to"):
        go_back(store, "orchard", "PH-01", number if step == "to" else None)
    elif step == "undo":
        store.undo("orchard", expect=None if len(store.changes("orchard")) > 2 else 0)
    else:
        store.redo("orchard")


@settings(max_examples=60, deadline=None)
@given(st.lists(STEPS, max_size=14))
@example([("survey", 1), ("planned", 0), ("bent", 0), ("survey", 0)])
@example([("survey", 1), ("planned", 0), ("planned", 2), ("bent", 0), ("survey", 0)])
@example([("times", 3), ("bent", 0), ("survey", 1), ("times", 4)])
@example([("times", 3), ("planned", 2), ("survey", 1), ("bent", 1), ("back", 0), ("back", 0)])
def test_planned_is_only_what_was_planned_with_this_survey(steps: list[tuple[str, int]]) -> None:
    with tempfile.TemporaryDirectory() as folder, JobStore.open(Path(folder) / "a.rwshop", create=True) as store:
        store.create_job("orchard", JobHead(name="Orchard"))
        add_surveys(store, "orchard", [("PH-01", SURVEYS[0])])
        planned: list[WrittenSurvey] = []
        for step, number in steps:
            try:
                take(store, step, number)
            except InputError:
                continue
            if not store.runs("orchard"):
                store.redo("orchard")
            run = store.load("orchard").runs[0]
            planned += [run.survey] if step == "planned" else []
            assert "planned" not in store.load("orchard").statuses(run) or run.survey in planned
        for _ in range(2 * len(steps) + 1):
            try:
                before = store.load("orchard")
                go_back(store, "orchard", "PH-01", None)
            except InputError:
                break
            after = store.load("orchard")
            assert (after.runs, after.entries) != (before.runs, before.entries)
            assert "planned" not in after.statuses(after.runs[0]) or after.runs[0].survey in planned
        else:
            raise AssertionError("it never came to the beginning")
        end = store.load("orchard")
        assert (end.runs[0].survey, end.statuses(end.runs[0])) == (SURVEYS[0], ("measured",))
        store.check()
