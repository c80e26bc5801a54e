"""A kind of record more is one row: with it the shop file takes it, bounds it, checks it, tells it, says what it is."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, cast

import msgspec
import pytest

from racewright.errors import InputError
from racewright.records.fields import Input, Name
from racewright.records.ids import Id, new_id
from racewright.records.kinds import KINDS, Kind, Value, called
from racewright.records.model import Job, JobHead
from racewright.records.person import Person
from racewright.records.prices import NO_PRICES, PriceList
from racewright.records.tool import Tool
from racewright.store.job_protocol import Offered, offer, since
from racewright.store.job_store import JobStore
from racewright.tools.written import BenderRecord


class Spot(Input, frozen=True, kw_only=True):
    """A made-up kind."""

    id: Id
    name: Name


def _checked(spot: Spot) -> None:
    if spot.name == "nowhere":
        raise InputError("a spot is somewhere.", hint="say where")


@pytest.fixture
def spots(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    row = Kind(
        name="spot",
        holds=cast("type[Value]", Spot),
        member="spots",
        most=2,
        called=lambda spot: f"spot {spot.name}",
        check=lambda spot, _: _checked(spot),
        told=False,
    )
    monkeypatch.setitem(KINDS, "spot", row)
    return iter((None,))


def spot(name: str) -> Offered:
    one = new_id()
    return Offered(kind="spot", id=one, data={"id": one, "name": name})


@pytest.mark.usefixtures("spots")
def test_a_row_is_all_that_a_shop_file_needs_to_keep_another_kind(tmp_path: Path) -> None:
    job = new_id()
    head = Offered(kind="job", id=job, data={"name": "Orchard"})
    with JobStore.open(tmp_path / "jobs.rwshop", create=True) as store:
        # before its job's head, as a phone may send them
        answers = offer(store, job, [spot("pump house"), spot("nowhere"), head], by="phone")
        assert [one.outcome for one in answers] == ["saved", "refused", "saved"]
        assert answers[1].message == "a spot is somewhere."
        told = since(store, 0, tuple(KINDS)).records
        assert [(one.kind, json.loads(bytes(one.data))["name"]) for one in told] == [
            ("job", "Orchard"),
            ("spot", "pump house"),
        ]
        assert [one.kind for one in since(store, 0, ("job", "run")).records] == ["job"]
        answers = offer(store, job, [spot("packing shed"), spot("workshop")], by="phone")
        assert [one.outcome for one in answers] == ["saved", "refused"]
        assert answers[1].message == "the job holds 2 records of kind 'spot' already."
        assert {change.what for change in store.changes("orchard")} >= {"brought in: the head, spot pump house"}
        store.check()


@pytest.mark.usefixtures("spots")
def test_what_is_of_a_job_is_not_offered_to_the_shop(tmp_path: Path) -> None:
    with JobStore.open(tmp_path / "jobs.rwshop", create=True) as store:
        offer(store, new_id(), [Offered(kind="job", id=(job := new_id()), data={"name": "x"})], by="phone")
        offer(store, job, [Offered(kind="job", id=job, data={"name": "x"})], by="phone")
        (answer,) = offer(store, store.rows.shop_id() or "", [spot("pump house")], by="phone")
    assert answer.message == "a record of kind 'spot' is of a job."


def test_every_kind_has_words_of_its_own() -> None:
    one = new_id()
    values: list[Any] = [
        JobHead(name="Orchard"),
        Tool(id=one, name="blue half", profile=BenderRecord(raceway="EMT", size="1/2")),
        Person(id=one, name="Sam"),
        PriceList.holding(NO_PRICES, one),
    ]
    assert [called(value) for value in values] == ["the head", "tool blue half", "person Sam", "the prices"]


def test_a_full_shop_is_not_told_to_begin_another_job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(KINDS, "person", msgspec.structs.replace(KINDS["person"], most=1))
    with JobStore.open(tmp_path / "jobs.rwshop", create=True) as store:
        job = new_id()
        offer(store, job, [Offered(kind="job", id=job, data={"name": "Orchard"})], by="desk")
        people = [Person(name=name) for name in ("Sam", "Kim")]
        sent = [Offered(kind="person", id=one.id, data=msgspec.to_builtins(one)) for one in people]
        answers = offer(store, store.rows.shop_id() or "", sent, by="desk")
    assert [one.outcome for one in answers] == ["saved", "refused"]
    assert (answers[1].message, answers[1].hint) == (
        "the shop holds 1 records of kind 'person' already.",
        "take out what is not used any more",
    )


def test_each_kind_stands_in_a_job_file_as_what_it_holds() -> None:
    fields = {field.name: str(field.type) for field in msgspec.structs.fields(Job)}
    for kind in KINDS.values():
        held = {"tools": "ToolAt", "prices": "Prices"}.get(kind.member, kind.holds.__name__)  # as runs name them
        assert re.search(rf"\b{held}\b", fields[kind.member]), kind.name
