"""What a job's head says of buying and cutting, by the command: as a job file would say it."""

import json
from pathlib import Path
from shlex import split
from typing import Any

import msgspec
import pytest

from racewright.cli.main import main
from racewright.errors import InputError, RacewrightError
from racewright.operations.answer import ask_json
from racewright.records.job_settings import SetMoney, SetPrice, prices_with
from racewright.records.model import Cutting, Stock
from racewright.records.prices import Price, Prices, check_prices
from racewright.store.job_protocol import Offered, offer
from racewright.store.job_store import JobStore

SADDLE = "examples/pump-house-saddle.yaml"


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Path:
    monkeypatch.setenv("RACEWRIGHT_SHOP", str(tmp_path / "jobs.rwshop"))
    assert main(["job", "new", "orchard", "--by", "Kim"]) == 0
    assert main(["job", "add", SADDLE, "--key", "PH-01", "--times", "3"]) == 0
    capsys.readouterr()
    return tmp_path


def said(capsys: pytest.CaptureFixture[str], *words: str, code: int = 0) -> str:
    capsys.readouterr()
    assert main(["job", *words]) == code
    told = capsys.readouterr()
    return told.out if code == 0 else told.err


def head(capsys: pytest.CaptureFixture[str]) -> Any:
    return json.loads(said(capsys, "export", "-"))["head"]


def test_sticks_are_set_changed_and_taken_out(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "No sticks" in said(capsys, "stock")
    said(capsys, "stock", "EMT 1/2", "10 ft", "--price", "7.40")
    said(capsys, "stock", "emt 1/2", "120", "--on-hand", "4", "--note", "rack 2")
    told = said(capsys, "stock", "EMT 1/2", "65", "--offcuts", "2", "--by", "Kim")
    assert [line.split("  ")[0] for line in told.splitlines()[2:]] == ["EMT 1/2"] * 3
    assert "2 offcuts" in told
    assert "1 offcut\n" in said(capsys, "stock", "EMT 1/2", "65", "--offcuts", "1")
    said(capsys, "undo")
    assert head(capsys)["stock"] == [
        {"raceway": "EMT 1/2", "length": "10 ft", "price": "7.40"},
        {"raceway": "EMT 1/2", "length": "120", "count": 4, "note": "rack 2"},
        {"raceway": "EMT 1/2", "length": "65", "count": 2, "offcut": True},
    ]
    cut = said(capsys, "cut")
    assert "65" in cut
    said(capsys, "stock", "EMT 1/2", "10 ft", "--on-hand", "6", "--by", "Kim")
    assert [one.get("count") for one in head(capsys)["stock"]] == [None, 6, 2]
    said(capsys, "undo", "--by", "Kim")
    assert [one.get("count") for one in head(capsys)["stock"]] == [None, 4, 2]
    said(capsys, "stock", "EMT 1/2", "65", "--offcuts", "0")
    said(capsys, "stock", "EMT 1/2", "120", "--remove")
    assert "stock" not in head(capsys)
    assert "stock: EMT 1/2, 120" in said(capsys, "log")


def test_the_saw_and_what_cannot_be(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = said(capsys, "stock", "--kerf", "1/8", "--keep", "18")
    assert told.startswith("Stock of job orchard; the saw takes 1/8 in; an offcut from 18 in on is kept")
    assert head(capsys)["cutting"] == {"kerf": "1/8", "keep": "18"}
    assert json.loads(said(capsys, "stock", "--json")) == {"stock": [], "cutting": {"kerf": "1/8", "keep": "18"}}
    for line, words in (
        (["EMT 1/2"], "raceway or length of the sticks is missing"),
        (["--on-hand", "3"], "raceway or length of the sticks is missing"),
        (["EMT 7", "10 ft"], "EMT"),
        (["EMT 1/2", "long"], "long"),
        (["EMT 1/2", "10 ft", "--price", "much"], "much"),
        (["EMT 1/2", "9 ft", "--remove"], "the job has no such 'EMT 1/2' of 9 ft"),
        (["EMT 1/2", "9 ft", "--on-hand", "0"], "the job has no such 'EMT 1/2' of 9 ft"),
    ):
        assert words in said(capsys, "stock", *line, code=2)
    for line, words in (
        (
            ["EMT 1/2", "10"],
            "head.stock[0].length: '10' is 10\" (254.0 mm), and a stick is sold from 2 ft to 40 ft long",
        ),
        (["EMT 1/2", "10", "--on-hand", "3"], "write its unit too: 10 ft"),
        (["EMT 1/2", "41 ft"], "head.stock[0].length: '41 ft' is 41 ft, and a stick"),
        (["EMT 1/2", "41 ft", "--offcuts", "1"], "'41 ft' is 41 ft, and a stick"),
        (["--keep", "24 ft"], "Keep from: '24 ft' is 24 ft; the most is 10 ft"),
    ):
        assert words in said(capsys, "stock", *line, code=3)
    assert "stock" not in head(capsys)


def test_items_and_wire_are_set_taken_out_and_taken_back(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "No items of job orchard" in said(capsys, "items")
    said(capsys, "items", "4 in square box", "--count", "3")
    said(capsys, "items", "pull string", "--count", "1")
    told = said(capsys, "items", "4 IN square box", "--count", "5", "--by", "Kim")
    assert [line.rsplit(maxsplit=1) for line in told.splitlines()[2:]] == [
        ["4 IN square box", "5"],
        ["pull string", "1"],
    ]
    assert head(capsys)["items"] == [{"item": "4 IN square box", "count": 5}, {"item": "pull string"}]
    assert "5 each" in next(line for line in said(capsys, "bill").splitlines() if "4 IN square box" in line)
    said(capsys, "undo", "--by", "Kim")
    assert head(capsys)["items"][0] == {"item": "4 in square box", "count": 3}
    said(capsys, "items", "pull string", "--count", "0")
    said(capsys, "items", "4 in square box", "--remove")
    assert "items" not in head(capsys)
    assert "12 in more at each end of a run; 5 % waste" in said(capsys, "wire")
    said(capsys, "wire", "--slack", "18", "--waste", "8")
    assert json.loads(said(capsys, "wire", "--json")) == {"wire_slack": "18", "wire_waste": 8.0}
    log = said(capsys, "log")
    assert "wire: slack 18, waste 8" in log
    assert "items: 4 IN square box, 5  (undone)" in log
    for line, words in (
        (["items", "tape"], "how many is missing"),
        (["items", "--count", "2"], "the item is missing"),
        (["items", "tape", "--remove"], "the job has no item 'tape' of its own"),
        (["items", "tape", "--count", "0"], "the job has no item 'tape' of its own"),
        (["wire", "--waste", "-3"], "Waste is '-3': expected a number, at least 0."),
        (["wire", "--waste", "abc"], "--waste: 'abc' cannot be taken: a number belongs there."),
        (["people", "Sam", "--plane", "much"], "--plane: 'much' cannot be taken: a number belongs there."),
        (["wire", "--slack", "long"], "Slack: "),
    ):
        assert words in said(capsys, *line, code=2)
    for line, words in (
        (["wire", "--waste", "800"], "Waste: 800 % of the wire is no waste; the most is 100 %"),
        (["items", "strap", "--count", "100001"], "head.items[0].count: 100,001 of 'strap' are more than a job needs"),
        (["prices", "--rate", "65000000"], "an hour of work would cost 65,000,000; the most is 10,000,000"),
        (["wire", "--slack", "400 ft"], "Slack: '400 ft' is 400 ft; the most is 50 ft"),
    ):
        assert words in said(capsys, *line, code=3)
    assert json.loads(said(capsys, "wire", "--json")) == {"wire_slack": "18", "wire_waste": 8.0}


def test_an_item_is_one_by_its_name_in_the_list_and_on_the_bill(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said(capsys, "items", "4 in  square box", "--count", "3")
    said(capsys, "items", "4 in square box", "--count", "5")
    assert head(capsys)["items"] == [{"item": "4 in square box", "count": 5}]
    said(capsys, "items", "4 in square box ", "--remove")
    assert "items" not in head(capsys)
    said(capsys, "items", "4 IN square  box", "--count", "3")
    job = json.loads(said(capsys, "export", "-"))
    job["runs"][0]["items"] = [{"item": "4 in square box", "count": 2}]
    told = json.loads(ask_json("job_bill", json.dumps({"job": job})))["bill"]["job"]["lines"]
    boxes = [(row["item"], row["quantity"]) for row in told if "box" in row["item"]]
    assert boxes == [("4 in square box", "9")]  # 2 of each of the three runs alike, and the job's 3
    kits = json.loads(ask_json("job_kits", json.dumps({"job": job})))["kits"]
    assert {line["item"] for kit in kits for line in kit["lines"] if "box" in line["item"]} == {"4 in square box"}


CHANGES: tuple[tuple[str, dict[str, Any]], ...] = (
    (
        "stock 'EMT 1/2' '10 ft' --price 7.40",
        {"set": "stock", "raceway": "emt 1/2", "length": "10 ft", "price": "7.40"},
    ),
    (
        "stock 'EMT 1/2' 65 --offcuts 2 --note rack",
        {"set": "stock", "raceway": "EMT 1/2", "length": "65", "stands": "offcuts", "count": 2, "note": "rack"},
    ),
    (
        "stock 'EMT 1/2' 65 --offcuts 3 --note ''",
        {"set": "stock", "raceway": "EMT 1/2", "length": "65", "stands": "offcuts", "count": 3, "note": ""},
    ),
    ("stock 'EMT 1/2' '10 ft' --price ''", {"set": "stock", "raceway": "EMT 1/2", "length": "10 ft", "price": ""}),
    ("stock 'EMT 1/2' 65 --remove", {"set": "no stock", "raceway": "EMT 1/2", "length": "65", "stands": "offcuts"}),
    ("stock --kerf 1/8", {"set": "cutting", "kerf": "1/8"}),
    ("wire --slack 18 --waste 8", {"set": "wire", "wire_slack": "18", "wire_waste": 8}),
    ("items 'pull string' --count 2", {"set": "item", "item": "pull string", "count": 2}),
    ("items 'pull string' --remove", {"set": "no item", "item": "pull string"}),
    (
        "prices 'pull string' --price 3 --hours 0.1",
        {"set": "price", "item": "pull string", "price": "3", "labour_h": "0.1"},
    ),
    ("prices 'Pull string' --price ''", {"set": "price", "item": "Pull string", "price": ""}),
    ("prices --currency USD --rate 60", {"set": "money", "currency": "USD", "labour_rate": "60"}),
    ("prices --rate ''", {"set": "money", "labour_rate": ""}),
    ("prices 'pull string' --remove", {"set": "no price", "item": "pull string"}),
    ("people Ana --mark 1/32 --angle 0.5", {"set": "person", "name": "Ana", "mark": "1/32", "angle_deg": 0.5}),
    ("people ana --cut 1/8", {"set": "person", "name": "ana", "cut": "1/8"}),
    ("people Ana --remove", {"set": "no person", "name": "Ana"}),
)


def test_the_operation_makes_each_change_as_the_command_does(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def stands() -> dict[str, Any]:
        told = json.loads(said(capsys, "export", "-"))
        people = [{"units": "in", **one, "id": ""} for one in told.get("people", [])]
        return {"head": told["head"], "prices": told.get("prices", {}), "people": people}

    before = stands()
    for line, change in CHANGES:
        given = {**before, "people": [{**one, "id": "0" * 32} for one in before["people"]], "change": change}
        told = json.loads(ask_json("job_settings", json.dumps(given)))
        said(capsys, *split(line))
        after = stands()
        head, prices = {"units": "in", **told["head"]}, told["prices"]
        people = [{"units": "in", **one, "id": ""} for one in told["people"]]
        assert {"head": head, "prices": prices, "people": people} == after, line
        assert after != before, line
        before = after


def test_a_change_says_what_stood_and_what_stands_under_its_name() -> None:
    given: dict[str, Any] = {
        "head": {
            "name": "Orchard",
            "stock": [{"raceway": "EMT 1/2", "length": "120", "count": 4, "note": "rack"}],
            "items": [{"item": "4 in square box", "count": 12}],
        },
        "prices": {"currency": "USD", "items": [{"item": "tape", "price": "2", "per": "ft"}]},
    }
    sticks = {"set": "stock", "raceway": "emt 1/2", "length": "10 ft"}
    for change, was, now in (
        ({"set": "item", "item": "4 in Square box", "count": 5}, "12 x 4 in square box", "5 x 4 in Square box"),
        ({"set": "item", "item": "cover", "count": 5}, "", "5 x cover"),
        ({"set": "no item", "item": "4 in square box"}, "", ""),
        (
            {**sticks, "stands": "on hand", "price": "3"},  # how many stays as it is
            "EMT 1/2, 120 in: 4 on hand, rack",
            "EMT 1/2, 120 in: 4 on hand, 3 USD each, rack",
        ),
        ({**sticks, "stands": "offcuts", "count": 1}, "", "EMT 1/2, 10 ft: 1 offcut"),
        (sticks, "", "EMT 1/2, 10 ft: as needed"),
        ({"set": "price", "item": "Tape", "labour_h": "0,1"}, "tape: 2 USD per ft", "tape: 2 USD per ft, 0,1 h per ft"),
        ({"set": "money", "labour_rate": "65"}, "USD, no labor rate", "USD, an hour of labor: 65 USD"),
        ({"set": "person", "name": "Ana"}, "", "Ana: mark 1/16 in, angle 1°, plane 1.5°, cut 1/16 in"),
        (
            {"set": "wire", "wire_slack": "18"},
            "12 in more at each end of a run; 5 % waste on all wire",
            "18 in more at each end of a run; 5 % waste on all wire",
        ),
        (
            {"set": "cutting", "kerf": "1/8 in"},
            "the saw takes 1/16 in; an offcut from 24 in on is kept",
            "the saw takes 1/8 in; an offcut from 24 in on is kept",
        ),
    ):
        told = json.loads(ask_json("job_settings", json.dumps({**given, "change": change})))
        assert (told.get("was", ""), told.get("now", "")) == (was, now), change


def test_what_stands_tells_of_sticks_with_two_prices_without_a_bill() -> None:
    def told(length: str, price: str, change: dict[str, str] | None = None) -> list[str]:
        stock = [{"raceway": "EMT 1/2", "length": length, "price": "7.10"}]
        listed = {"items": [{"item": "emt 1/2,  10 ft", "price": price}]}
        head = {"name": "Orchard", "stock": stock}
        asked = {"head": head, "prices": listed, "change": change}
        return [one["message"] for one in json.loads(ask_json("job_settings", json.dumps(asked)))["findings"]]

    words = "EMT 1/2, 10 ft: 7.10 in the job's stock, 7.40 in its prices, which count: take one out."
    assert told("120", "7.40") == [words]
    assert told("120", "7.1") == told("long", "7.40") == []
    assert told("120", "7.10", {"set": "price", "item": "EMT 1/2, 10 ft", "price": "7.40"}) == [words]


def test_a_change_that_cannot_be_made_names_its_field(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sticks = {"set": "stock", "raceway": "EMT 1/2", "length": "10 ft"}
    for change, field in (
        ({"set": "price", "item": "tape", "price": "", "labour_h": ""}, "price"),
        ({"set": "item", "item": "tape", "count": 2.5}, "change.count"),
        ({"set": "price", "item": "tape", "price": "7,400"}, "price"),
        ({"set": "price", "item": "tape", "price": "much"}, "price"),
        ({"set": "no price", "item": "tape"}, "item"),
        ({**sticks, "stands": "on hand"}, "count"),
        ({**sticks, "count": 3}, "count"),
        ({**sticks, "set": "no stock"}, "length"),
        ({"set": "wire", "wire_slack": "long"}, "head.wire_slack"),
        ({"set": "person", "name": "Ana", "angle_deg": 70}, "person.angle_deg"),
        ({"set": "no person", "name": "Ana"}, "name"),
    ):
        told = json.loads(ask_json("job_settings", json.dumps({"head": {"name": "Orchard"}, "change": change})))
        assert told["error"]["field"] == field, told
        assert told["error"]["hint"], told
        assert "openapi" not in told["error"]["hint"], told
        assert not told["error"]["message"].startswith(("change.", "prices.", "head.wire", "person.")), told


def stocked(shop: Path, capsys: pytest.CaptureFixture[str], name: str, **more: object) -> Path:
    """The job as a file whose head says more."""
    data = json.loads(said(capsys, "export", "-"))
    data["head"].update(more)
    file = shop / name
    file.write_text(json.dumps(data), encoding="utf-8")
    return file


def test_sticks_of_no_raceway_are_refused_by_their_place(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for raceway in ("EMT 5/8", "nan"):
        stock = [{"raceway": "EMT 1/2", "length": "10 ft"}, {"raceway": raceway, "length": "10 ft"}]
        file = stocked(shop, capsys, "bad.json", stock=stock)
        assert f"head.stock[1].raceway: '{raceway}', 10 ft: " in said(capsys, "import", str(file), "--key", "b", code=2)
        job = json.loads(file.read_text(encoding="utf-8"))
        for operation in ("read_job", "job_bill", "job_cut"):
            told = json.loads(ask_json(operation, json.dumps({"job": job})))
            assert told["error"]["field"].endswith("head.stock[1].raceway"), operation


def test_sticks_of_no_raceway_that_are_there_already_are_named_and_taken_out_as_written(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with JobStore.open(shop / "jobs.rwshop") as store:
        kept = store.head("orchard")
        lines = tuple(Stock(raceway=name, length="10 ft") for name in ("EMT 5/8", "nan", "EMT 1/2"))
        store.save(
            "orchard",
            [],
            head=(msgspec.structs.replace(kept.value, stock=lines), kept.revision),
            by="Kim",
            what="as an older version did",
        )
    for list_of in ("bill", "cut"):
        assert "head.stock[0].raceway: 'EMT 5/8', 10 ft: " in said(capsys, list_of, code=2)
    said(capsys, "stock", "EMT 3/4", "10 ft")
    said(capsys, "stock", "EMT 3/4", "10 ft", "--remove")
    said(capsys, "stock", "EMT 5/8", "10 ft", "--remove")
    assert "head.stock[0].raceway: 'nan'" in said(capsys, "cut", code=2)
    said(capsys, "stock", "NAN", "120", "--remove")
    assert [one["raceway"] for one in head(capsys)["stock"]] == ["EMT 1/2"]
    assert "EMT 1/2" in said(capsys, "cut")


def test_what_an_older_version_kept_beyond_a_limit_refuses_no_change_of_anything_else(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with JobStore.open(shop / "jobs.rwshop") as store:
        kept = store.head("orchard")
        lines = (Stock(raceway="EMT 1/2", length="long"), Stock(raceway="EMT 1/2", length="99 ft"))
        cutting = Cutting(kerf="20 ft", keep="24 ft")
        beyond = msgspec.structs.replace(kept.value, stock=lines, cutting=cutting, wire_slack="99 ft", wire_waste=200.0)
        store.save("orchard", [], head=(beyond, kept.revision), by="Kim", what="as an older version did")
        row, job = store.head("orchard").revision, store.rows.job("orchard")
        stood = store.rows.revision(job.id, row)
        data = msgspec.to_builtins(msgspec.structs.replace(beyond, note="seen"))
        assert stood is not None
        for said_there, outcome in (({}, "saved"), ({"wire_slack": "98 ft"}, "refused")):
            one = Offered(kind="job", id=job.id, data={**data, **said_there}, base=row, base_digest=stood.digest)
            assert offer(store, job.id, [one], by="desk")[0].outcome == outcome
            stood = store.rows.standing(job.id)
            assert stood is not None
            row = stood.number
    assert "Slack: '99" in said(capsys, "wire", "--slack", "99.5 ft", code=3)
    for change in (
        ["wire", "--slack", "18"],
        ["wire", "--waste", "5"],
        ["stock", "--kerf", "1/8"],
        ["stock", "--keep", "24"],
        ["stock", "EMT 3/4", "10 ft"],
        ["stock", "EMT 1/2", "10 ft", "--on-hand", "3"],
        ["stock", "EMT 1/2", "99 ft", "--remove"],
        ["stock", "EMT 1/2", "long", "--remove"],
    ):
        said(capsys, *change)
    now = head(capsys)
    assert [one["raceway"] for one in now["stock"]] == ["EMT 3/4", "EMT 1/2"]
    assert (now["cutting"]["keep"], now["wire_slack"]) == ("24", "18")
    both = Prices(currency="x" * 201, labour_rate="99999999")
    assert prices_with(both, SetMoney(currency="USD")).currency == "USD"
    assert prices_with(both, SetMoney(labour_rate="48")).labour_rate == "48"
    for wrong in (SetMoney(currency="y" * 199 + "zz"), SetMoney(labour_rate="99999998")):
        with pytest.raises(RacewrightError):
            prices_with(both, wrong)


def test_two_prices_of_one_name_from_before_are_one_once_it_is_priced_again() -> None:
    """Names that differ in spaces and letter case alone are one item; bill and pack refuse two."""
    names = ("strap", "EMT 1/2, 10 ft", "box", "emt  1/2,  10 ft")
    stood = Prices(items=tuple(Price(item=name, price="8") for name in names))
    with pytest.raises(InputError, match=r"there twice") as err:
        check_prices(stood)
    assert "say its price once more" in err.value.hint
    now = prices_with(stood, SetPrice(item="EMT 1/2,  10 FT", price="9"))
    assert [(one.item, one.price) for one in now.items] == [("strap", "8"), ("EMT 1/2, 10 ft", "9"), ("box", "8")]
    check_prices(now)


def test_a_saw_cut_and_sticks_on_hand_have_their_limits(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = said(capsys, "stock", "--kerf", "20 ft", code=3)
    assert "Saw cut: no saw cuts 240" in told
    said(capsys, "stock", "--kerf", "1")
    many = [{"raceway": "EMT 1/2", "length": f"{30 + i}", "count": 100_000, "offcut": True} for i in range(25)]
    said(capsys, "import", str(stocked(shop, capsys, "most.json", stock=many)), "--key", "most")
    many.append({"raceway": "EMT 3/4", "length": "40", "count": 1})
    told = said(capsys, "import", str(stocked(shop, capsys, "more.json", stock=many)), "--key", "more", code=3)
    assert "head.stock: 5,001 sticks are on hand" in told
    assert "the most is 5,000" in told


def test_status_says_what_is_not_worked_out_after_the_stock_is_changed(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said(capsys, "plan")
    planned = said(capsys, "status")
    assert "not worked out" not in planned
    said(capsys, "stock", "EMT 1/2", "60", "--price", "4")
    told = said(capsys, "status")
    runs = planned.count("EMT 1/2 ")
    assert told.count("not worked out  ") == runs
    assert "not worked out as the job stands now: `racewright job plan` does it." in told
    said(capsys, "plan")
    assert "not worked out" not in said(capsys, "status")
