"""Prices and people as records of the shop: who is told them, who offers them, how they go out and come in."""

import json
import re
from pathlib import Path
from typing import Any

import msgspec
import pytest
from typed import JobCommand

from racewright.operations.answer import answer
from racewright.operations.common import Refused
from racewright.operations.job_status import JobPlanAnswer, JobStatusAnswer
from racewright.operations.materials import JobBillAnswer
from racewright.records.ids import digest
from racewright.records.person import Person
from racewright.records.prices import Price, PriceList, Prices
from racewright.records.tool import Tool
from racewright.store.device_file import DeviceFile
from racewright.store.job_file import job_to_data
from racewright.store.job_protocol import Offered, offer, since
from racewright.store.job_rows import Write
from racewright.store.job_store import JobStore
from racewright.tools.written import BenderRecord

EXAMPLES = Path(__file__).parents[2] / "examples"


def test_people_are_of_the_whole_shop(job: JobCommand, capsys: pytest.CaptureFixture[str]) -> None:
    assert job("people", "Sam", "--mark", "1/8", "--angle", "1.5") == 0
    assert job("people", "SAM", "--cut", "3", "--unit", "mm") == 0
    capsys.readouterr()
    assert job("people") == 0
    said = capsys.readouterr().out.splitlines()
    assert said[1].split() == ["Sam", "1/8", "mm", "1.5°", "1.5°", "3", "mm"]
    for line, words in (
        (["Kim"], "nobody is called 'Kim'"),
        (["--mark", "1"], "the person is missing"),
        (["Sam", "--mark", "far"], "Mark: cannot take"),
        (["Kim", "--remove"], "people: Sam"),
    ):
        assert job("people", *line) == 2
        assert words in capsys.readouterr().err
    assert job("people", "sam", "--remove") == 0
    with JobStore.open("jobs.rwshop") as store:
        assert store.people() == ()


def test_they_go_out_and_come_in_with_a_job_file(job: JobCommand, capsys: pytest.CaptureFixture[str]) -> None:
    assert job("prices", "EMT 1/2", "--hours", "0.02", "--per", "ft", "--job", "shed") == 0
    assert job("people", "Sam", "--mark", "1/8") == 0
    assert job("export", "shed.json", "--job", "shed") == 0
    data = json.loads(Path("shed.json").read_text())
    assert data["prices"]["items"] == [{"item": "EMT 1/2", "per": "ft", "labour_h": "0.02"}]
    assert [one["name"] for one in data["people"]] == ["Sam"]
    assert "prices" not in data["head"]
    assert job("import", "shed.json", "--key", "again") == 0
    with JobStore.open("jobs.rwshop") as store:
        assert store.price_list(store.load("again").id) is None, "they are the shop's"
        assert len(store.people()) == 1
    assert job("import", "shed.json", "--key", "there", "--shop", "other.rwshop") == 0
    with JobStore.open("other.rwshop") as store:
        assert store.price_list(store.load("there").id) is not None, "the job's own in another shop"
        assert store.handed_on("there").people == store.load("there").people != ()
    capsys.readouterr()


def test_a_card_forecasts_for_the_hands_that_are_named(job: JobCommand, capsys: pytest.CaptureFixture[str]) -> None:
    assert job("people", "Sam", "--mark", "1/2", "--angle", "6", "--plane", "8") == 0
    capsys.readouterr()
    said = {}
    for hands in ("", "sam"):
        assert job("show", "PH-01", "--job", "orchard", "--hands", hands) == 0
        said[hands] = capsys.readouterr().out.splitlines()
    said["sam"].remove("  hands: Sam; the forecast is for these, the marks are for any")
    assert not [line for line in said[""] if "hands:" in line]
    plain = [[re.sub(r"±.*", "", line) for line in lines] for lines in said.values()]
    other = [(one, two) for one, two in zip(*plain, strict=True) if one != two]
    assert ["- 37 % chance" in one and "- 1 % chance" in two for one, two in other[:1]] == [True]
    assert not [pair for pair in other if "mark" in pair[0] and "Watch" not in pair[0]], "with the same marks"
    assert plain[0] != said[""], "each bend with what it may be off"
    assert job("show", "PH-01", "--job", "orchard", "--hands", "Kim") == 2
    assert "nobody is called 'Kim' here." in capsys.readouterr().err


def price_list(of: str, rate: str, **more: Any) -> dict[str, Any]:
    return {"id": digest("prices", of), "of": of, "labour_rate": rate, **more}


def test_devices_offer_them_under_the_shop(job: JobCommand) -> None:
    with JobStore.open("jobs.rwshop") as store:
        shop, orchard = since(store, 0).shop, store.load("orchard").id
        mine = price_list(orchard, "52")
        good = Offered(kind="prices", id=mine["id"], data=mine)
        sam = Offered(kind="person", id="d" * 32, data={"id": "d" * 32, "name": "Sam", "mark": "1/8"})
        wrong = [
            Offered(kind="prices", id="c" * 32, data=price_list(shop, "48", id="c" * 32)),
            Offered(kind="prices", id=digest("prices", shop), data=price_list(shop, "=1")),
            Offered(kind="person", id="b" * 32, data={"id": "b" * 32, "name": "Kim", "mark": "far"}),
        ]
        answers = offer(store, shop, [good, sam, *wrong], by="desk")
        assert [one.outcome for one in answers] == ["saved", "saved", "refused", "refused", "refused"]
        assert offer(store, orchard, [sam], by="desk")[0].message == "a record of kind 'person' is of the whole shop."
        assert offer(store, shop, [good], by="desk")[0].outcome == "saved"
        newer = Offered(kind="prices", id=mine["id"], data={**mine, "tax": "8"}, base=1)
        assert offer(store, shop, [newer], by="desk")[0].outcome == "newer", "and the device keeps it"
        assert store.load("orchard").prices == Prices(labour_rate="52")
        assert [kept.value.name for kept in store.people()] == ["Sam"]
        assert PriceList.holding(Prices(items=(Price(item="box"),)), orchard).prices.items[0].item == "box"
        assert Person(name="Kim").id != Person(name="Kim").id


def test_a_device_is_told_them_only_where_somebody_says_so_and_then_also_the_older_ones(job: JobCommand) -> None:
    pytest.importorskip("starlette")
    from web_client import client

    from racewright.store.served_shop import ServedShop
    from racewright.web.pairing import Pairing

    path = Path("jobs.rwshop")
    assert job("prices", "EMT 1/2", "--price", "7", "--job", "shed") == 0
    assert job("people", "Sam", "--mark", "1/8") == 0
    devices = DeviceFile(path)
    pairing = Pairing(devices)
    with client(Path(), shop=ServedShop(path), pairing=pairing) as page:
        assert page.post("/pair", json={"code": pairing.code, "name": "office"}).status_code == 200
        told = page.get("/records").json()
        assert {one["kind"] for one in told["records"]} == {"job", "run"}
        mine = price_list(told["shop"], "1")
        offered = {"job": told["shop"], "records": [{"kind": "prices", "id": mine["id"], "data": mine}]}
        (answer,) = page.post("/records", json=offered).json()["answers"]
        assert (answer["outcome"], answer["stands"]) == ("refused", None)
        devices.let_read("office", ("job", "run", "entry", "tool", "prices"))
        again = page.get("/records", params={"after": told["last"], "mark": told["mark"]}).json()
        assert not again["anew"]
        assert [one["data"]["items"] for one in again["records"] if one["kind"] == "prices"] == [
            [{"item": "EMT 1/2", "price": "7"}]
        ]
        last = page.get("/records", params={"after": again["last"], "mark": again["mark"]}).json()
        assert last["records"] == []


def test_what_a_stick_costs_and_what_a_tool_is_called_are_told_as_prices_and_tools_are_and_nothing_is_lost(
    job: JobCommand,
) -> None:
    """A head that was told without prices, and is written on, keeps those that stand; in the log too."""
    pytest.importorskip("starlette")
    from web_client import client

    from racewright.store.served_shop import ServedShop
    from racewright.web.pairing import Pairing

    path, at = Path("jobs.rwshop"), ("--job", "shed", "--by", "Kim")
    for more in (("10 ft", "--price", "7.10"), ("20 ft", "--on-hand", "4"), ("10 ft", "--price", "9.99")):
        assert job("stock", "EMT 1/2", *more, *at) == 0
    assert job("stock", "--keep", "30", *at) == 0
    with JobStore.open(path) as store:
        key, wrote = store.rows.job("shed").id, store.rows.job("shed")
        run = next(row for row in store.rows.all_standing(wrote, "run"))
        tool = Tool(
            id="e" * 32,
            name="SecretShoe",
            profile=BenderRecord(raceway="EMT", size="1/2", take_up="5 in", gain="2 5/8 in"),
        )
        shop = since(store, 0).shop
        data = msgspec.to_builtins(tool)
        assert offer(store, shop, [Offered(kind="tool", id=tool.id, data=data)], by="desk")[0].outcome == "saved"
        on = {**msgspec.json.decode(run.body or ""), "tool": {"id": tool.id, "revision": 1}}
        put = Offered(kind="run", id=run.record, data=on, base=run.number, base_digest=run.digest)
        assert offer(store, key, [put], by="desk")[0].outcome == "saved"
    devices = DeviceFile(path)
    pairing = Pairing(devices)
    with client(Path(), shop=ServedShop(path), pairing=pairing) as page:
        assert page.post("/pair", json={"code": pairing.code, "name": "Cy"}).status_code == 200
        devices.let_read("Cy", ("job", "run", "entry"))
        told = page.get("/records").json()
        log = page.get("/records/log", params={"job": key}).json()["changes"]
        for secret in ("7.10", "9.99", "SecretShoe"):
            assert secret not in json.dumps([told, log]), secret
        assert [(one["what"], one["differs"], len(one["before"])) for one in log[1:3]] == [
            ("stock: keep", ["cutting, keep: '30', was '24 in'"], 1),
            ("the head of shed, and what this device is not told", [], 0),
        ]

        def saved(data: dict[str, Any], head: dict[str, Any]) -> dict[str, Any]:
            one = {"kind": "job", "id": key, "data": data, "base": head["revision"], "base_digest": head["digest"]}
            (answer,) = page.post("/records", json={"job": key, "records": [one]}).json()["answers"]
            assert answer["outcome"] == "saved"
            assert page.post("/records", json={"job": key, "records": [one]}).json()["answers"][0] == answer
            return {**one, "revision": answer["revision"], "digest": answer["digest"]}

        (head,) = [one for one in told["records"] if one["id"] == key]
        (was,) = log[1]["before"]
        assert was["digest"] == head["digest"]
        now = saved({**was["data"], "note": "locked at night"}, head)
        sticks = [{**line, "note": "in the rack"} for line in head["data"]["stock"]]
        new = {"raceway": "EMT 3/4", "length": "10 ft", "price": "11"}
        now = saved({**now["data"], "stock": [new, *reversed(sticks)]}, now)
        assert stock_of("shed") == [("10 ft", "11"), ("20 ft", None), ("10 ft", "9.99")]
        out = saved({**now["data"], "stock": [new]}, now)
        now = saved(now["data"], out)
        assert stock_of("shed") == [("10 ft", "11"), ("20 ft", None), ("10 ft", "9.99")], "taken out, and taken back"
        devices.let_read("Cy", ("job", "run", "entry", "prices"))
        again = page.get("/records", params={"after": told["last"], "mark": told["mark"]}).json()
        (head,) = [one for one in again["records"] if one["id"] == key]
        assert (head["revision"], head["data"]["stock"][2]["price"]) == (now["revision"], "9.99")
        assert head["digest"] != now["digest"], "it is told anew, and more of it"
        saved({**head["data"], "stock": [{**line, "price": None} for line in head["data"]["stock"]]}, head)
        assert [price for _, price in stock_of("shed")] == [None] * 3, "who is told them takes them out"


def stock_of(key: str) -> list[tuple[Any, Any]]:
    with JobStore.open("jobs.rwshop") as store:
        return [(one.length, one.price) for one in store.head(key).value.stock]


def test_a_device_is_told_what_was_changed_and_takes_it_back(
    job: JobCommand, capsys: pytest.CaptureFixture[str]
) -> None:
    pytest.importorskip("starlette")
    from web_client import client

    from racewright.store.served_shop import ServedShop
    from racewright.web.pairing import Pairing

    path = Path("jobs.rwshop")
    assert job("wire", "--slack", "18", "--job", "shed", "--by", "Kim") == 0
    assert job("wire", "--slack", "24", "--job", "shed", "--by", "Kim") == 0
    assert job("people", "Sam", "--mark", "1/8", "--by", "Kim") == 0
    assert job("remove", "PS-01", "--job", "shed", "--by", "Kim") == 0
    with JobStore.open(path) as store:
        key = store.rows.job("shed").id
        run = next(row.record for row in store.rows.all_standing(store.rows.job("shed"), "run"))
    devices = DeviceFile(path)
    pairing = Pairing(devices)
    with client(Path(), shop=ServedShop(path), pairing=pairing) as page:
        assert page.get("/records/log", params={"job": key}).status_code == 401
        assert page.post("/pair", json={"code": pairing.code, "name": "office"}).status_code == 200

        def log() -> list[dict[str, Any]]:
            told: list[dict[str, Any]] = page.get("/records/log", params={"job": key}).json()["changes"]
            return told

        first, second, third, *_, begun = log()
        whats = [one["what"] for one in (first, second, third)]
        assert whats == ["run PS-01 removed", "wire: slack 24", "wire: slack 18"]
        assert "Sam" not in json.dumps(log()), "this device is not told of people"
        assert (first["by"], first["mine"], first["undone"]) == ("Kim", False, False)
        assert [(one["id"], one["gone"], one["data"]["key"]) for one in first["before"]] == [(run, True, "PS-01")]
        (head,) = second["before"]
        assert (head["id"], head["gone"], head["data"]["wire_slack"]) == (key, False, "18")
        assert third["before"] == begun["before"] == [], "changed since; the job's beginning"
        back = [
            {name: one[name] for name in ("kind", "id", "data")}
            | {"base": one["revision"], "base_digest": one["digest"]}
            for one in (*first["before"], head)
        ]
        answers = page.post("/records", json={"job": key, "records": back}).json()["answers"]
        assert [one["outcome"] for one in answers] == ["saved", "saved"]
        assert [(one["what"], one["differs"], one["mine"], one["undone"], len(one["before"])) for one in log()[:5]] == [
            ("undo: wire: slack 24", ["wire slack: '18', was '24'"], True, False, 1),
            ("undo: run PS-01 removed", [], True, False, 1),
            ("run PS-01 removed", [], False, True, 0),
            ("wire: slack 24", ["wire slack: '24', was '18'"], False, True, 0),
            ("wire: slack 18", ["wire slack: '18', was '12 in'"], False, False, 0),
        ]
        devices.let_read("office", ("job", "run", "entry", "tool", "person"))
        assert any("Sam" in one["what"] and one["before"][0]["data"] is None for one in log())
        with JobStore.open(path) as store:
            shop = since(store, 0).shop
            mine = price_list(key, "52")
            ida = {"id": "d" * 32, "name": "Ida", "mark": "1/8"}
            both = [Offered(kind="person", id=ida["id"], data=ida), Offered(kind="prices", id=mine["id"], data=mine)]
            assert [one.outcome for one in offer(store, shop, both, by="desk")] == ["saved", "saved"]
        assert "Ida" in log()[0]["what"]
        devices.let_read("office", ("job", "run", "entry", "prices"))
        assert log()[0]["what"] == "the prices, and what this device is not told", "the change's own words name Ida"
        assert page.get("/records/log", params={"job": shop}).json() == {"changes": [], "older": False}, "no job's"
        assert page.get("/records/log", params={"job": "0" * 32}).json() == {"changes": [], "older": False}
        assert page.get("/records/log").status_code == 422
    with JobStore.open(path) as store:
        assert store.head("shed").value.wire_slack == "18"
        assert [kept.value.key for kept in store.runs("shed")] == ["PS-01"]
    # the undo of a device is one: the next takes back what was changed before, and a redo brings back what it took
    assert job("undo", "--job", "shed", "--by", "Kim") == 0
    assert "undone: wire: slack 18" in capsys.readouterr().out
    for _ in range(2):
        assert job("redo", "--job", "shed", "--by", "Kim", "--anyone") == 0
    capsys.readouterr()
    assert job("log", "--job", "shed") == 0
    assert [re.sub(r"^ *\d+  \S+  ", "", line) for line in capsys.readouterr().out.splitlines()[:6]] == [
        "Kim           redo: undo: wire: slack 24",
        "        wire slack: '24', was '18'",
        "Kim           redo: undo: wire: slack 18",
        "        wire slack: '18', was '12 in'",
        "Kim           undo: wire: slack 18  (undone)",
        "        wire slack: '12 in', was '18'",
    ]


def test_what_no_hand_or_list_can_be_is_refused_in_words(job: JobCommand, capsys: pytest.CaptureFixture[str]) -> None:
    long = "x" * 201
    arabic = "\N{ARABIC-INDIC DIGIT THREE}"
    capsys.readouterr()
    for line, words in (
        (["people", "Sam", "--angle", "1e308"], "cannot take 1e+308 degrees as how far a hand is off"),
        (["people", "Sam", "--angle", "400"], "must be from 0.05 to 20 degrees"),
        (["people", "Sam", "--angle=-1"], "cannot take -1 degrees"),
        (["people", "Sam", "--angle", "nan"], "cannot take nan degrees"),
        (["people", "Sam", "--plane", "21"], "Plane: cannot take 21 degrees"),
        (["people", "Sam", "--mark", "13 in"], "must be from 0.1 mm to 12 in"),
        (["people", "Sam", "--cut", "1" * 61], "a length of 61 signs"),
        (["people", long, "--angle", "1"], "Name is"),
        (["prices", long, "--price", "3"], "Item is"),
        (["prices", "box", "--price", "1_0"], "cannot take '1_0' as an amount"),
        (["prices", "box", "--price", arabic], f"cannot take '{arabic}' as an amount"),
        (["prices", "box\nlid", "--price", "3"], "'box?lid' has a line break"),
        (["prices", "box", "--price", "3", "--currency", "U\nD"], "has a line break"),
        (["prices", "box", "--price", "3", "--currency", long], "Currency is"),
    ):
        where = ("--job", "shed") if line[0] == "prices" else ()
        assert job(*line, *where) == 2, line
        said = capsys.readouterr().err
        assert words in said, (line, said)
        assert "Traceback" not in said
    with JobStore.open("jobs.rwshop") as store:
        assert (store.people(), store.shop_prices()) == ((), None)
    assert job("people", "Sam", "--angle", "20", "--mark", "12 in") == 0
    assert job("show", "PH-01", "--job", "orchard", "--hands", "sam") == 0


def test_a_list_that_no_device_could_send_back_is_not_taken_in(
    job: JobCommand, capsys: pytest.CaptureFixture[str]
) -> None:
    items = [{"item": f"item {k} {'x' * 150}", "price": "1"} for k in range(1200)]
    assert job("export", "shed.json", "--job", "shed") == 0
    data = json.loads(Path("shed.json").read_text())
    Path("large.json").write_text(json.dumps({**data, "prices": {"items": items}}))
    capsys.readouterr()
    assert job("import", "large.json", "--key", "large", "--shop", "other.rwshop") == 3
    assert "bytes; the most is 190,000" in capsys.readouterr().err
    Path("large.json").write_text(json.dumps({**data, "prices": {"items": items[:900]}}))
    assert job("import", "large.json", "--key", "large", "--shop", "other.rwshop") == 0
    with JobStore.open("other.rwshop") as store:
        kept = store.price_list(store.load("large").id)
        assert kept is not None
        again = msgspec.to_builtins(kept.value) | {"currency": "USD"}
        told = next(one for one in since(store, 0).records if one.id == kept.value.id)
        (answer,) = offer(
            store,
            since(store, 0).shop,
            [Offered(kind="prices", id=kept.value.id, data=again, base=told.revision, base_digest=told.digest)],
            by="desk",
        )
        assert answer.outcome == "saved"


def test_what_was_kept_before_it_had_a_limit_opens_is_asked_about_and_taken_out(
    job: JobCommand, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    sticks = [{"raceway": "EMT 1/2", "length": f"{30 + i}", "count": 200, "offcut": True} for i in range(26)]
    head: Any = {"wire_waste": 400, "items": [{"item": "box", "count": 900_000}], "stock": sticks}
    items = [{"item": "a\nb", "price": "1"}, {"item": "box, 4 in", "price": "1", "labour_h": "5000"}]
    prices: Any = {"currency": "U" * 900, "labour_rate": "99999999", "items": items}
    with JobStore.open(Path("jobs.rwshop")) as store:
        orchard, rows = store.rows.job("orchard"), store.rows
        with rows.writing():
            wide = {"name": "orchard", **head}
            rows.write_change(orchard, [Write("job", orchard.id, 2, 1, json.dumps(wide))], by="Kim", what="sticks")
            listed = [
                Write("prices", digest("prices", orchard.id), 1, 0, json.dumps(price_list(orchard.id, "1") | prices)),
                Write("person", "e" * 32, 1, 0, json.dumps({"id": "e" * 32, "name": "Sam", "angle_deg": 90.0})),
            ]
            rows.write_change(rows.begin_shop(), listed, by="Kim", what="prices, Sam")
        kept = store.load("orchard")
    for line in (["list"], ["show", "PH-01"], ["plan"], ["bill"], ["prices"], ["people"], ["export", "out.json"]):
        expected = 3 if line == ["bill"] else 0
        assert job(*line, *([] if line[0] in ("list", "people") else ["--job", "orchard"])) == expected, line
    told = capsys.readouterr()
    assert "5,200 sticks are on hand" in told.err, "a cut list has a limit of its own"
    data = job_to_data(kept)
    assert isinstance(answer("job_status", {"job": data}), JobStatusAnswer)
    assert isinstance(answer("job_plan", {"job": data}), JobPlanAnswer)
    no = answer("read_job", {"job": data})  # what comes in is held to the limits
    assert isinstance(no, Refused)
    assert "400 % of the wire is no waste" in no.error.message
    without = msgspec.structs.replace(kept, head=msgspec.structs.replace(kept.head, wire_waste=5.0, items=(), stock=()))
    assert isinstance(answer("job_bill", {"job": job_to_data(without)}), JobBillAnswer)
    no = answer("read_job", {"job": job_to_data(without)})
    assert isinstance(no, Refused)
    assert "the currency has 900 letters; the most is 200" in no.error.message
    for item in ("box, 4 in", "a b"):
        assert job("prices", item, "--remove", "--job", "orchard") == 0, "what stands of the others is not in the way"


def test_two_people_of_one_name_go_out_and_come_in_and_are_told(
    job: JobCommand, capsys: pytest.CaptureFixture[str]
) -> None:
    with JobStore.open("jobs.rwshop") as store:
        two = [
            Offered(kind="person", id=sign * 32, data={"id": sign * 32, "name": name})
            for sign, name in (("a", "Ana"), ("b", "ANA"))
        ]
        assert [one.outcome for one in offer(store, since(store, 0).shop, two, by="desk")] == ["saved", "saved"]
    assert job("export", "shed.json", "--job", "shed") == 0
    assert job("import", "shed.json", "--shop", "other.rwshop") == 0
    with JobStore.open("other.rwshop") as store:
        assert sorted(kept.value.name for kept in store.people()) == ["ANA", "Ana"]
    capsys.readouterr()
    job("status", "--job", "shed")
    assert capsys.readouterr().out.count("two people are called Ana, letter case aside") == 1


def test_the_words_of_a_tool_have_a_length(job: JobCommand) -> None:
    """Each pull tells a tool with all its revisions: 240 of 190 kB made 46 MB of each."""
    profile = {"raceway": "EMT", "size": "1/2", "take_up": "5 in", "gain": "2 1/2 in"}
    with JobStore.open("jobs.rwshop") as store:
        for field, size, called in (
            ("standing", 1001, "standing"),
            ("take_up", 61, "take-up"),
            ("raceway", 61, "raceway"),
        ):
            data = {"id": "c" * 32, "name": "blue half", "profile": {**profile, field: "x" * size}}
            (answer,) = offer(store, since(store, 0).shop, [Offered(kind="tool", id="c" * 32, data=data)], by="desk")
            assert (answer.outcome, f"the {called} has {size:,} letters" in answer.message) == ("refused", True)
        data = {"id": "c" * 32, "name": "blue half", "profile": {**profile, "standing": "x" * 1000}}
        assert (
            offer(store, since(store, 0).shop, [Offered(kind="tool", id="c" * 32, data=data)], by="desk")[0].outcome
            == "saved"
        )


def test_a_file_that_says_otherwise_how_somebody_works_is_told_and_kept(
    job: JobCommand, capsys: pytest.CaptureFixture[str]
) -> None:
    assert job("people", "Kim", "--angle", "1.5") == 0
    assert job("prices", "--rate", "48", "--of", "job", "--job", "shed") == 0
    assert job("export", "shed.json", "--job", "shed") == 0
    data = json.loads(Path("shed.json").read_text())
    capsys.readouterr()
    assert job("import", "shed.json") == 0
    assert "differently" not in capsys.readouterr().err
    data["people"][0]["angle_deg"], data["prices"]["labour_rate"] = 1.25, "55"
    Path("other.json").write_text(json.dumps(data))
    assert job("import", "other.json") == 1
    said = capsys.readouterr().err
    assert "said differently in the file and here, and left as here: the job's prices, how well Kim works" in said
    with JobStore.open("jobs.rwshop") as store:
        assert [one.value.angle_deg for one in store.people()] == [1.5]
        kept = [store._refused(row).value for row in store.rows.refused(store.rows.begin_shop())]
        assert sorted(type(one).__name__ for one in kept) == ["Person", "PriceList"]
        assert [one.angle_deg for one in kept if isinstance(one, Person)] == [1.25]
    assert job("import", "other.json", "--key", "second") == 0
    assert "left as here: how well Kim works; " in capsys.readouterr().err
    assert job("import", "other.json", "--replace") == 0
    with JobStore.open("jobs.rwshop") as store:
        assert [one.value.angle_deg for one in store.people()] == [1.25]
        assert store.load("shed").prices.labour_rate == "55"
        store.check()
    assert job("import", "shed.json") == 0, "changed here since"
