"""Two phones on one run: nothing is lost, both versions are shown."""

from __future__ import annotations

import json
import threading
from pathlib import Path
from typing import Any

import pytest
from web_client import client

from racewright.errors import InputError
from racewright.store.run_store import KEPT_REVISIONS, MOST_DATA, NoSuchRun, RunStore, StaleSave


def data(note: str) -> dict[str, Any]:
    return {"survey": {"run": {"name": "Packing shed, east wall"}}, "note": note}


def test_save_and_get(tmp_path: Path) -> None:
    store = RunStore(tmp_path)
    assert store.rows() == ()
    first = store.save("east-wall", base=0, data=data("one"), by="phone 1")
    assert (first.revision, first.data["note"], first.by) == (1, "one", "phone 1")
    assert store.save("east-wall", base=1, data=data("two")).revision == 2
    (row,) = store.rows()
    assert (row.name, row.revision, row.rivals) == ("Packing shed, east wall", 2, 0)


def test_a_stale_save_is_told_and_kept(tmp_path: Path) -> None:
    store = RunStore(tmp_path)
    store.save("a", base=0, data=data("start"))
    store.save("a", base=1, data=data("phone 1"))
    with pytest.raises(StaleSave) as told:
        store.save("a", base=1, data=data("phone 2"), by="phone 2")
    assert told.value.newest.data["note"] == "phone 1"
    assert told.value.yours.data["note"] == "phone 2"
    (rival,) = store.get("a").rivals
    assert (rival.data["note"], rival.base, rival.by) == ("phone 2", 1, "phone 2")
    settled = store.save("a", base=2, data=data("both"), settles=(rival.rival,))
    assert settled.rivals == ()
    assert any("settled" in p.name for p in (tmp_path / "a").iterdir()), "even then its file stays"


def test_a_version_whose_answer_was_lost_is_no_rival_of_itself(tmp_path: Path) -> None:
    store = RunStore(tmp_path)
    store.save("a", base=0, data=data("one"), by="phone 1")
    again = store.save("a", base=0, data=data("one"), by="phone 1")
    assert (again.revision, again.rivals) == (1, ())
    with pytest.raises(StaleSave):
        store.save("a", base=0, data=data("another"), by="phone 2")


def test_many_savers_at_once(tmp_path: Path) -> None:
    """Twelve threads save on the same base: one gets the revision, eleven are kept as rivals, none is lost."""
    store = RunStore(tmp_path)
    store.save("a", base=0, data=data("start"))
    won: list[int] = []
    lost: list[str] = []

    def save(k: int) -> None:
        try:
            won.append(RunStore(tmp_path).save("a", base=1, data=data(str(k))).revision)
        except StaleSave as told:
            lost.append(told.yours.data["note"])

    threads = [threading.Thread(target=save, args=(k,)) for k in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    got = store.get("a")
    assert won == [2]
    assert len(lost) == 11
    assert {got.data["note"], *(r.data["note"] for r in got.rivals)} == {str(k) for k in range(12)}


def test_what_cannot_be_kept(tmp_path: Path) -> None:
    store = RunStore(tmp_path)
    for bad in ("", "..", "a/b", "x" * 65, "a b", ".hidden", "a\n"):
        with pytest.raises(InputError):
            store.save(bad, base=0, data={})
    with pytest.raises(InputError):
        store.save("a", base=0, data={"x": "y" * MOST_DATA})
    with pytest.raises(NoSuchRun):
        store.save("a", base=7, data={})
    with pytest.raises(NoSuchRun):
        store.get("a")


def test_a_torn_draft_harms_nothing(tmp_path: Path) -> None:
    store = RunStore(tmp_path)
    store.save("a", base=0, data=data("one"))
    (tmp_path / "a" / ".draft-dead").write_text('{"base": 0, "da')
    assert store.get("a").revision == 1
    assert store.save("a", base=1, data=data("two")).revision == 2


def test_a_file_system_without_links(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import os

    def no_links(*_: object) -> None:
        raise PermissionError(1, "no links here")

    monkeypatch.setattr(os, "link", no_links)
    store = RunStore(tmp_path)
    store.save("a", base=0, data=data("one"))
    assert store.save("a", base=1, data=data("two")).data["note"] == "two"
    with pytest.raises(StaleSave):
        store.save("a", base=1, data=data("late"))
    assert [r.data["note"] for r in store.get("a").rivals] == ["late"]


def test_old_revisions_go_rivals_stay(tmp_path: Path) -> None:
    store = RunStore(tmp_path)
    store.save("a", base=0, data=data("0"))
    with pytest.raises(StaleSave):
        store.save("a", base=0, data=data("rival"))
    for k in range(1, KEPT_REVISIONS + 5):
        store.save("a", base=k, data=data(str(k)))
    files = [p.name for p in (tmp_path / "a").iterdir() if p.name.startswith("r0")]
    assert len(files) == KEPT_REVISIONS
    assert len(store.get("a").rivals) == 1


def test_over_http(tmp_path: Path) -> None:
    asker = client(tmp_path)
    assert asker.get("/runs").json() == {"runs": []}
    assert asker.get("/runs/a").status_code == 404
    assert asker.put("/runs/a", json={"base": 0, "data": data("one"), "by": "phone 1"}).json()["revision"] == 1
    assert asker.put("/runs/a", json={"base": 1, "data": data("two")}).status_code == 200
    stale = asker.put("/runs/a", json={"base": 1, "data": data("late"), "by": "phone 2"})
    assert stale.status_code == 409
    told = stale.json()
    assert told["error"]["hint"]
    assert told["conflict"]["newest"]["data"]["note"] == "two"
    assert told["conflict"]["yours"]["data"]["note"] == "late"
    got = asker.get("/runs/a").json()
    assert got["revision"] == 2
    assert [r["data"]["note"] for r in got["rivals"]] == ["late"]
    assert asker.get("/runs").json()["runs"][0]["rivals"] == 1


@pytest.mark.parametrize(
    ("run_id", "body", "status"),
    [
        ("a", b"{", 400),
        ("a", b"[]", 422),
        ("a", json.dumps({"base": -1, "data": {}}).encode(), 422),
        ("a", json.dumps({"base": 0}).encode(), 422),
        ("a", json.dumps({"base": 0, "data": []}).encode(), 422),
        ("a", json.dumps({"base": 0, "data": {"x": "y" * 220_000}}).encode(), 422),
        ("a", json.dumps({"base": 4, "data": {}}).encode(), 404),
        ("..", json.dumps({"base": 0, "data": {}}).encode(), 405),
        ("%2e%2e", json.dumps({"base": 0, "data": {}}).encode(), 422),
        ("a%20b", json.dumps({"base": 0, "data": {}}).encode(), 422),
        ("<script>", json.dumps({"base": 0, "data": {}}).encode(), 422),
    ],
)
def test_bad_saves_over_http(tmp_path: Path, run_id: str, body: bytes, status: int) -> None:
    got = client(tmp_path).put(f"/runs/{run_id}", content=body, headers={"content-type": "application/json"})
    assert got.status_code in (status, 404), got.text
    assert "Traceback" not in got.text
    assert not (tmp_path / "runs").exists() or not list((tmp_path / "runs").iterdir())
