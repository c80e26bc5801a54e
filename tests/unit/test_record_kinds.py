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
from racewright.records.ids import Id, digest, new_id
from racewright.records.kinds import KINDS, Kind, Value, called
from racewright.records.model import Job, JobHead
from racewright.records.person import Person
from racewright.records.prices import NO_PRICES, PriceList
from racewright.records.tool import Tool
from racewright.store.job_protocol import RECORDS_FORMAT, Offered, offer, since
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
        called="spot {name}",
        check=lambda spot, _, __: _checked(spot),
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
        assert {change.what for change in store.changes("orchard")} >= {
            "brought in: the head of Orchard, spot pump house"
        }
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
    assert [called(value) for value in values] == ["the head of Orchard", "tool blue half", "person Sam", "the prices"]


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


OFFERED: dict[str, tuple[str, dict[str, Any], str]] = {
    "kerf": ("job", {"name": "x", "cutting": {"kerf": "two"}}, "head.cutting.kerf"),
    "keep": ("job", {"name": "x", "cutting": {"keep": "long"}}, "head.cutting.keep"),
    "slack of the job": ("job", {"name": "x", "wire_slack": "a hand"}, "head.wire_slack"),
    "stick": ("job", {"name": "x", "stock": [{"raceway": "EMT 1/2", "length": "0"}]}, "head.stock[0].length"),
    "10 for 10 ft": ("job", {"name": "x", "stock": [{"raceway": "EMT 1/2", "length": "10"}]}, "head.stock[0].length"),
    "waste": ("job", {"name": "x", "wire_waste": 100.5}, "head.wire_waste: 100.5 % of the wire"),
    "slack of all": ("job", {"name": "x", "units": "mm", "wire_slack": "15300"}, "is 15.3 m; the most is 15.24 m"),
    "long slack of a run": ("run", {"wire_slack": "51 ft"}, "run PH-07.wire_slack: '51 ft' is 51 ft; the most is 50"),
    "a hand that is never off": ("person", {"cut": "0"}, "person.cut: cannot take '0' as how far a hand is off"),
    "hours": ("prices", {"items": [{"item": "box", "labour_h": "1001"}]}, "'box' would take 1,001 hours for one"),
    "an hour of work": ("prices", {"labour_rate": "10000000.01"}, "an hour of work would cost 10,000,000.01; the most"),
    "items": ("job", {"name": "x", "items": [{"item": "strap", "count": 100001}]}, "head.items[0].count: 100,001 of"),
    "items of a run": ("run", {"items": [{"item": "box", "count": 100001}]}, "run PH-07.items[0].count: 100,001 of"),
    "money": ("job", {"name": "x", "stock": [{"raceway": "EMT 1/2", "length": "10 ft", "price": "cheap"}]}, "price"),
    "areas": ("job", {"name": "x", "areas": [{"name": "Shed"}, {"name": "shed"}]}, "'shed' is there twice"),
    "slack of a run": ("run", {"wire_slack": "a hand"}, "run PH-07.wire_slack"),
    "tool": ("tool", {"profile": {"raceway": "EMT", "size": "1/2", "take_up": "9", "gain": "0"}}, "A gain of 0 in"),
    "length of a person": ("person", {"mark": "far"}, "person.mark"),
    "angle of a person": ("person", {"angle_deg": 20.5}, "person.angle_deg: cannot take 20.5 degrees"),
    "prices": ("prices", {"labour_rate": "much"}, "labour_rate"),
}


@pytest.mark.parametrize("what", OFFERED)
def test_what_is_offered_is_held_to_what_its_kind_must_be(what: str, tmp_path: Path) -> None:
    """Each beside a sound one of its kind, which is taken."""
    kind, data, told = OFFERED[what]
    job, bad = new_id(), new_id()
    survey = {"run": {"name": "Pump house", "raceway": "EMT 1/2", "walk": [{"leg": "40"}]}}
    sound: dict[str, dict[str, Any]] = {
        "run": {"key": "PH-07", "survey": survey, "wire_slack": "6 in", "items": [{"item": "box", "count": 100000}]},
        "tool": {"name": "own", "profile": {"raceway": "EMT", "size": "1/2", "take_up": "5", "gain": "2 5/8"}},
        "person": {"name": "Sam", "angle_deg": 20.0},
        "prices": {"of": job, "labour_rate": "10000000"},
    }
    with JobStore.open(tmp_path / "jobs.rwshop", create=True) as store:
        head = {"name": "Orchard", "stock": [{"raceway": "EMT 1/2", "length": "10 ft", "price": "7.10"}]}
        (first,) = offer(store, job, [Offered(kind="job", id=job, data=head)], by="phone")
        assert first.outcome == "saved"
        if kind == "job":
            sent = [Offered(kind=kind, id=job, base=1, base_digest=first.digest, data=data)]
        else:
            good = PriceList.holding(NO_PRICES, job).id if kind == "prices" else new_id()
            shops = store.rows.shop_id() or ""
            bad = PriceList.holding(NO_PRICES, shops).id if kind == "prices" else bad
            more = {"of": shops} if kind == "prices" else {}
            sent = [
                Offered(kind=kind, id=good, data=sound[kind] | {"id": good}),
                Offered(kind=kind, id=bad, data=sound[kind] | data | more | {"id": bad}),
            ]
        answers = offer(store, job if kind in ("job", "run") else store.rows.shop_id() or "", sent, by="phone")
    assert [one.outcome for one in answers] == [*(["saved"] if kind != "job" else []), "refused"]
    assert told in answers[-1].message


def test_a_field_or_a_word_more_of_what_records_say_has_the_next_format() -> None:
    """A page of before leaves out what it does not know: new marks without the cut that comes first. Told of a newer
    format it talks to no shop, keeps what it has and says so."""
    _, forms = msgspec.json.schema_components([kind.holds for kind in KINDS.values()])
    said = {
        name: {field: told.get("enum", "") for field, told in form.get("properties", {}).items()}
        for name, form in forms.items()
    }
    now = (RECORDS_FORMAT, digest(json.dumps(said, sort_keys=True)))
    assert now == (5, "9849d4f6e8c70be4fb6fd6a9cb5dab10"), "what was released under this number stays: take the next"
