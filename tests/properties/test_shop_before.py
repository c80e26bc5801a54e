"""Random histories of a shop file of version 2, brought up to date: nothing that was said is lost, at any time."""

import json
import shutil
import sqlite3
import tempfile
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import msgspec
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from old_shop import Body, OldShop

from racewright.errors import InputError
from racewright.job.plan_job import plan_job
from racewright.records.entry import Corrected, Entry, Noted, Readings, StatusSet
from racewright.records.model import Job, JobRun
from racewright.store.job_errors import StoreTrouble
from racewright.store.job_file import load_job
from racewright.store.job_store import JobStore
from racewright.tools.benders import default_bender

DEMO = load_job(Path(__file__).parents[2] / "examples" / "orchard-job.json")
SURVEY = msgspec.to_builtins(DEMO.runs[0].survey)
KEYS = st.sampled_from(["A-1", "A-2", "A-3"])
PEOPLE = st.sampled_from(["Kim", "Sam"])
STATUSES = st.sampled_from(["measured", "planned", "bent", "in", "wired"])
STEPS = st.one_of(
    st.tuples(st.just("note"), PEOPLE, KEYS, st.integers(0, 3)),
    st.tuples(st.just("status"), PEOPLE, st.lists(KEYS, min_size=1, max_size=3, unique=True), STATUSES),
    st.tuples(st.just("measured"), PEOPLE, KEYS, st.integers(0, 2)),
    st.tuples(st.just("corrected"), PEOPLE, KEYS, st.integers(0, 2)),
    st.tuples(st.just("remove"), PEOPLE, KEYS, st.none()),
    st.tuples(st.just("back"), PEOPLE, KEYS, st.integers(0, 8)),
    st.tuples(st.just("refuse"), PEOPLE, KEYS, st.tuples(st.integers(0, 4), STATUSES, st.integers(0, 5))),
    st.tuples(st.just("undo"), PEOPLE, st.none(), st.none()),
    st.tuples(st.just("redo"), PEOPLE, st.none(), st.none()),
)
#: A run that was measured, taken out, added anew, and all of that undone.
ADDED_ANEW_AND_UNDONE: list[tuple[Any, ...]] = [
    ("measured", "Kim", "A-2", 0),
    ("remove", "Kim", "A-2", None),
    ("note", "Kim", "A-2", 0),
    ("undo", "Kim", None, None),
]
Seen = tuple[str, str, Counter[str]]


def fresh(key: str) -> Body:
    return {"key": key, "survey": SURVEY}


def measured(n: int, by: str) -> Body:
    """The same again now and then: two like measurements are two."""
    if n == 2:
        return {"measured": [], "note": "stands proud", "by": by}
    return {"measured": [{"type": "angle", "number": 2, "angle_rad": 0.7 + n / 16}], "at": "Monday", "by": by}


def take(shop: OldShop, step: tuple[Any, ...]) -> None:
    """One step of the history, as version 2 would have taken it."""
    kind, by, key, more = step
    if kind in ("undo", "redo"):
        shop.turn(kind, by)
    elif kind == "status":
        bodies = {k: {**(shop.stands(k) or fresh(k)), "status": more} for k in key}
        shop.save(bodies, by, f"{more}: {', '.join(key)}")
    elif kind == "remove":
        if shop.stands(key) is not None:
            shop.save({key: None}, by, f"run {key} removed")
    elif kind == "back":
        past = [body for body in shop.said.get(key, []) if body is not None]
        if past:
            shop.save({key: past[more % len(past)]}, by, f"run {key}: back")
    elif kind == "refuse":
        based_on, status, note = more
        said = {**(shop.stands(key) or fresh(key)), "note": f"late {note}", "status": status}
        said["as_bent"] = [*said.get("as_bent", []), {"measured": [], "note": f"late {note}", "by": by}]
        shop.refuse(key, based_on, by, said)
    else:
        body = dict(shop.stands(key) or fresh(key))
        if kind == "note":
            body["note"] = f"note {more}"
        elif kind == "measured":
            body["as_bent"] = [*body.get("as_bent", []), measured(more, by)]
            body["status"] = "bent"
        else:
            move = {"number": 2, "by_rad": -0.01 * (more + 1)}
            body["tweaks"] = [*body.get("tweaks", []), {"moves": [move], "note": "opened", "by": by}]
        shop.save({key: body}, by, f"{kind} {key}")


def told_by_old(after: dict[str, Body | None]) -> dict[str, Seen]:
    """What version 2 says of each run: its note, status, and everything measured and corrected."""
    out = {}
    for key, body in after.items():
        if key and body is not None:
            seen = [json.dumps([b["measured"], b.get("note", "")]) for b in body.get("as_bent", [])]
            seen += [json.dumps([t["moves"], t["note"]]) for t in body.get("tweaks", [])]
            out[key] = (body.get("note", ""), body.get("status", "measured"), Counter(seen))
    return out


def said_in(entry: Entry) -> str | None:
    data = msgspec.to_builtins(entry.what)
    if isinstance(entry.what, StatusSet):
        return None
    if isinstance(entry.what, Noted):
        return json.dumps([[], data["note"]])
    return json.dumps([data["measured" if isinstance(entry.what, Readings) else "moves"], data.get("note", "")])


def told_by_new(runs: list[JobRun], entries: list[Entry]) -> dict[str, Seen]:
    job = Job(head=DEMO.head, runs=tuple(runs), entries=tuple(entries))
    return {
        run.key: (
            run.note,
            job.status(run),
            Counter(text for e in job.entries_of(run) if (text := said_in(e)) is not None),
        )
        for run in runs
    }


def at_each_change(path: Path) -> Iterator[tuple[int, dict[str, Seen]]]:
    """What the new file says after each of its changes, read with plain SQL."""
    with closing(sqlite3.connect(path)) as db:
        rows = db.execute("SELECT record, kind, change, body FROM revision ORDER BY id").fetchall()
        changes = [number for (number,) in db.execute("SELECT id FROM change ORDER BY id")]
    stands: dict[str, tuple[str, str | None]] = {}  # in the order in which the records came
    for number in changes:
        stands.update((record, (kind, body)) for record, kind, change, body in rows if change == number)
        runs = [msgspec.json.decode(b, type=JobRun) for k, b in stands.values() if k == "run" and b is not None]
        entries = [msgspec.json.decode(b, type=Entry) for k, b in stands.values() if k == "entry" and b is not None]
        yield number, told_by_new(runs, entries)


def rows_of(path: Path) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(path)) as db:
        tables = ("job", "change", "revision", "refused")
        return [row for table in tables for row in db.execute(f"SELECT * FROM {table} ORDER BY id")]


@settings(max_examples=120, deadline=None)
@given(steps=st.lists(STEPS, max_size=30), turns=st.lists(st.sampled_from(["undo", "redo"]), max_size=8))
@example(steps=ADDED_ANEW_AND_UNDONE, turns=["undo", "undo"])
def test_a_history_of_version_2_says_the_same_at_every_change(steps: list[tuple[Any, ...]], turns: list[str]) -> None:
    shop = OldShop({"name": "Orchard"})
    for step in steps:
        take(shop, step)
    folder = Path(tempfile.mkdtemp())
    try:
        paths = [folder / "one.rwshop", folder / "two.rwshop"]
        for path in paths:
            shop.write(path)
            JobStore.open(path).close()
        assert rows_of(paths[0]) == rows_of(paths[1])  # apart, and yet the same ids
        for number, told in at_each_change(paths[0]):
            assert told == told_by_old(shop.changes[number - 1].after), f"change {number}"
        with JobStore.open(paths[0]) as store:
            assert [(c.kind, c.target, c.at, c.by, c.what) for c in store.changes("orchard")[::-1]] == [
                c[:5] for c in shop.changes
            ]
            for key, said in shop.said.items():
                if key:
                    history = store.history(store.run_ever("orchard", key).id)
                    notes = [r.value.note if isinstance(r.value, JobRun) else None for r in history[::-1]]
                    assert notes == [None if body is None else body.get("note", "") for body in said]
            check_refused(store, shop)
            # and it goes on: what was done in version 2 is taken back as it would have been there
            for kind in turns:
                if not shop.turn(kind, "Kim"):
                    with pytest.raises(InputError):
                        getattr(store, kind)("orchard", by="Kim")
                    continue
                getattr(store, kind)("orchard", by="Kim")
                job = store.load("orchard")
                assert told_by_new(list(job.runs), list(job.entries)) == told_by_old(shop.changes[-1].after)
            store.check()
    finally:
        shutil.rmtree(folder)


def check_refused(store: JobStore, shop: OldShop) -> None:
    refused = store.refused("orchard")[::-1]
    runs = [(r.base, r.found, r.at, r.by, r.value.note) for r in refused if isinstance(r.value, JobRun)]
    assert runs == [(base, found, at, by, body["note"]) for _, base, found, at, by, body in shop.refused if body]
    late = [r.value.what.note for r in refused if isinstance(r.value, Entry) and isinstance(r.value.what, Noted)]
    for *_, body in shop.refused:
        assert body is None or body["note"] in late  # what was measured there and stands nowhere else


def shoe(name: str, radius_mm: float) -> Body:
    made = msgspec.structs.replace(default_bender("EMT", "1/2"), name=name, radius_mm=radius_mm)
    return dict(msgspec.to_builtins(made))


def on(tool: str) -> Body:
    return {**fresh("A"), "survey": {**SURVEY, "run": {**SURVEY["run"], "bender": tool}}}


@settings(max_examples=40, deadline=None)
@given(
    steps=st.lists(
        st.one_of(
            st.tuples(st.just("head"), st.lists(st.sampled_from([("blue", 120.0), ("blue", 130.0), ("red", 110.0)]))),
            st.tuples(st.sampled_from(["A", "B"]), st.sampled_from(["blue", "BLUE", "red", "", "emt-1/2"])),
            st.tuples(st.sampled_from(["undo", "redo", "refuse"]), st.just("blue")),
        ),
        max_size=14,
    )
)
def test_profiles_that_heads_held_are_tools_and_each_run_is_planned_as_it_was(steps: list[tuple[str, Any]]) -> None:
    shop = OldShop({"name": "Orchard"})
    for kind, more in steps:
        if kind == "head":
            held = {name: shoe(name, radius) for name, radius in more}
            shop.save({"": {"name": "Orchard", "benders": list(held.values())}}, "Kim", "head")
        elif kind == "refuse":
            shop.refuse("A", 1, "Sam", on(more))
        elif kind in ("undo", "redo"):
            shop.turn(kind, "Kim")
        else:
            shop.save({kind: on(more)}, "Kim", f"run {kind}")
    head = shop.stands("")
    assert head is not None
    held_now = {one["name"]: one["radius_mm"] for one in head.get("benders", ())}
    with tempfile.TemporaryDirectory() as folder:
        shop.write(path := Path(folder) / "s.rwshop")
        with JobStore.open(path) as store:
            store.check()
            job, tools = store.load("orchard"), store.tools()
            for run in job.runs:
                store.history(run.id)
            store.history(job.id)
            store.refused("orchard")
    assert len({kept.value.name for kept in tools}) == len(tools)
    for planned in plan_job(job):
        name = planned.run.survey.run.bender.casefold()
        if name in held_now:
            assert planned.plan is not None
            assert planned.plan.bender is not None
            assert planned.plan.bender.radius_mm == held_now[name]
        elif name in ("", "emt-1/2"):
            assert planned.run.tool is None
            assert planned.plan is not None


def test_two_copies_that_went_apart_share_the_ids_of_what_they_share_alone(tmp_path: Path) -> None:
    """One status set before they were parted, then one each, by others."""
    ids = []
    for by in ("Kim", "Ana"):
        shop = OldShop({"name": "Orchard"})
        shop.save({"A": fresh("A")}, "Kim", "added")
        for status, who in (("bent", "Kim"), ("in", by)):
            body = shop.stands("A")
            assert body is not None
            shop.save({"A": {**body, "status": status}}, who, status)
        shop.write(path := tmp_path / f"{by}.rwshop")
        with JobStore.open(path) as store:
            job = store.load("orchard")
        assert [entry.by for entry in job.entries] == ["Kim", by]
        ids.append([job.id, job.runs[0].id, *(entry.id for entry in job.entries)])
    assert [one == other for one, other in zip(*ids, strict=True)] == [True, True, True, False]


def test_a_file_of_version_1_has_no_refused_saves_and_comes_along(tmp_path: Path) -> None:
    shop = OldShop({"name": "Orchard"})
    take(shop, ("measured", "Kim", "A-1", 0))
    shop.write(tmp_path / "s.rwshop", version=1)
    with JobStore.open(tmp_path / "s.rwshop") as store:
        job = store.load("orchard")
        assert told_by_new(list(job.runs), list(job.entries)) == told_by_old(shop.changes[-1].after)
        assert store.refused("orchard") == ()
    assert (tmp_path / "s.rwshop.before-version-9").exists()


def test_what_this_racewright_cannot_read_is_left_as_it_is(tmp_path: Path) -> None:
    shop = OldShop({"name": "Orchard"})
    shop.save({"A-1": {**fresh("A-1"), "colour": "red"}}, "Kim", "added")
    path = tmp_path / "s.rwshop"
    shop.write(path)
    before = path.read_bytes()
    with pytest.raises(StoreTrouble, match="colour"):
        JobStore.open(path)
    assert path.read_bytes() == before


def test_every_kind_of_entry_is_met_in_these_histories() -> None:
    shop = OldShop({"name": "Orchard"})
    for step in (("measured", "Kim", "A-1", 0), ("measured", "Sam", "A-1", 2), ("corrected", "Kim", "A-1", 1)):
        take(shop, step)
    with tempfile.TemporaryDirectory() as folder:
        shop.write(Path(folder, "s.rwshop"))
        with JobStore.open(Path(folder, "s.rwshop")) as store:
            entries = [kept.value for kept in store.entries("orchard")]
    assert [type(entry.what) for entry in entries] == [Readings, StatusSet, Noted, Corrected]
    assert [entry.pins.run for entry in entries] == [1, 1, 2, 3]
    assert [(entry.by, entry.at) for entry in entries[:2]] == [("Kim", "Monday"), ("Kim", shop.changes[1].at)]
