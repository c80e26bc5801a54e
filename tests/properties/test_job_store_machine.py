"""Two people save, remove, set statuses, undo and redo in one shop file at once; a plain model says what must stand."""

import shutil
import tempfile
from pathlib import Path

import msgspec
import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from racewright.errors import InputError
from racewright.records.entry import STATUSES, Entry, Status, StatusSet
from racewright.records.ids import digest
from racewright.records.model import JobHead, JobRun
from racewright.store.job_errors import StaleSave
from racewright.store.job_file import load_job
from racewright.store.job_store import JobStore, RunSave

DEMO = load_job(Path(__file__).parents[2] / "examples" / "orchard-job.json")
HEAD = JobHead(name="Orchard")
PLAIN = msgspec.structs.replace(DEMO.runs[0], area="")
KEYS = st.sampled_from(["A-1", "A-2", "A-3"])
PEOPLE = st.sampled_from(["Kim", "Sam"])
NOTES = st.text(max_size=5)


def a_run(key: str, note: str) -> JobRun:
    return msgspec.structs.replace(PLAIN, id=digest(key), key=key, note=note)


def said_by(value: object) -> str | None:
    """What a record says, as the model writes it."""
    if isinstance(value, Entry):
        assert isinstance(value.what, StatusSet)
        return value.what.status
    return value.note if isinstance(value, JobRun) else None


class TwoWriters(RuleBasedStateMachine):
    """Each person has the file open and a desk: the run and revision that they last looked at."""

    @initialize()
    def begin(self) -> None:
        self.folder = Path(tempfile.mkdtemp())
        path = self.folder / "shop.rwshop"
        self.stores = {"Kim": JobStore.open(path, create=True)}
        self.stores["Kim"].create_job("orchard", HEAD)
        self.stores["Sam"] = JobStore.open(path)
        self.desk: dict[tuple[str, str], int] = {}
        self.said: dict[str, list[str | None]] = {}  # every revision of every run and every entry
        self.of: dict[str, str] = {}  # the run of each entry, oldest first
        self.order: list[str] = []  # keys in the order in which they came
        self.undoable: list[list[str]] = []  # runs that each standing change touched
        self.redoable: list[list[str]] = []
        self.values: dict[str, list[list[str | None]]] = {"undo": [], "redo": []}  # what to go back to
        self.refused: set[tuple[str, int, str]] = set()

    def stands(self, key: str) -> str | None:
        return self.said[key][-1] if self.said.get(key) else None

    def write(self, changes: dict[str, str | None]) -> None:
        self.undoable.append(list(changes))
        self.values["undo"].append([self.stands(k) for k in changes])
        self.redoable.clear()
        self.values["redo"].clear()
        self.put(changes)

    def put(self, changes: dict[str, str | None]) -> None:
        for key, note in changes.items():
            if key not in self.said and key not in self.of:
                self.order.append(key)
            self.said.setdefault(key, []).append(note)

    @rule(person=PEOPLE, key=KEYS)
    def look(self, person: str, key: str) -> None:
        if self.stands(key) is None:
            with pytest.raises(InputError):
                self.stores[person].run("orchard", key)
            return
        kept = self.stores[person].run("orchard", key)
        assert (kept.value.note, kept.revision) == (self.stands(key), len(self.said[key]))
        self.desk[person, key] = kept.revision

    @rule(person=PEOPLE, key=KEYS, note=NOTES)
    def save(self, person: str, key: str, note: str) -> None:
        based_on = self.desk.get((person, key), 0)
        found = len(self.said.get(key, []))
        if based_on == found:
            revision = self.stores[person].save_run("orchard", a_run(key, note), based_on, by=person)
            self.write({key: note})
            assert revision == found + 1
            self.desk[person, key] = revision
            return
        with pytest.raises(StaleSave) as caught:
            self.stores[person].save_run("orchard", a_run(key, note), based_on, by=person)
        self.refused.add((key, based_on, note))
        mine, theirs = caught.value.mine, caught.value.theirs
        assert isinstance(mine, JobRun)
        assert mine.note == note
        assert said_by(theirs) == self.stands(key)
        assert {said_by(r.value) for r in self.stores[person].refused("orchard")} >= {note}

    @rule(person=PEOPLE, notes=st.dictionaries(KEYS, NOTES, min_size=1))
    def save_many(self, person: str, notes: dict[str, str]) -> None:
        saves = [RunSave(a_run(k, n), len(self.said.get(k, []))) for k, n in notes.items()]
        self.stores[person].save_runs("orchard", saves, by=person)
        self.write(dict(notes))

    @rule(person=PEOPLE, statuses=st.dictionaries(KEYS, st.sampled_from(STATUSES), min_size=1))
    def set_statuses(self, person: str, statuses: dict[str, Status]) -> None:
        """Also of runs that were taken out, but never of those that never were."""
        entries = {
            Entry(run=digest(key), what=StatusSet(status=status)): key
            for key, status in statuses.items()
            if key in self.said
        }
        assert self.stores[person].add_entries("orchard", entries, by=person) == len(entries)
        if entries:
            self.of.update((entry.id, key) for entry, key in entries.items())
            self.write({entry.id: said_by(entry) for entry in entries})

    @rule(person=PEOPLE, key=KEYS)
    def remove(self, person: str, key: str) -> None:
        if self.stands(key) is not None:
            self.stores[person].remove_run("orchard", digest(key), len(self.said[key]), by=person)
            self.write({key: None})

    @rule(person=PEOPLE, kind=st.sampled_from(["undo", "redo"]))
    def turn(self, person: str, kind: str) -> None:
        here, there = (self.undoable, self.redoable) if kind == "undo" else (self.redoable, self.undoable)
        turn = getattr(self.stores[person], kind)
        if not here:
            with pytest.raises(InputError):
                turn("orchard", by=person)
            return
        turn("orchard", by=person)
        keys, back = here.pop(), self.values[kind].pop()
        there.append(keys)
        self.values["redo" if kind == "undo" else "undo"].append([self.stands(k) for k in keys])
        self.put(dict(zip(keys, back, strict=True)))

    @rule(person=PEOPLE)
    def reopen(self, person: str) -> None:
        path = self.stores[person].path
        self.stores[person].close()
        self.stores[person] = JobStore.open(path)  # checks every row

    @invariant()
    def both_see_what_stands_and_nothing_is_lost(self) -> None:
        if not hasattr(self, "stores"):
            return
        want = [(k, self.stands(k)) for k in self.order if self.stands(k) is not None]
        for store in self.stores.values():
            assert [(k.value.key, k.value.note) for k in store.runs("orchard")] == want
        store = self.stores["Sam"]
        for key, notes in self.said.items():
            history = [said_by(r.value) for r in store.history(key if key in self.of else digest(key))]
            assert history[::-1] == notes
        job = store.load("orchard")
        for run in job.runs:
            told = [self.stands(one) for one, key in self.of.items() if key == run.key]
            assert job.status(run) == next((s for s in reversed(told) if s is not None), "measured")
        assert len(store.refused("orchard")) == len(self.refused)

    def teardown(self) -> None:
        if hasattr(self, "stores"):
            self.stores["Kim"].check()
            for store in self.stores.values():
                store.close()
            shutil.rmtree(self.folder)


TestTwoWriters = TwoWriters.TestCase
TestTwoWriters.settings = settings(
    max_examples=40, stateful_step_count=25, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
