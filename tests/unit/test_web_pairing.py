"""The pairing code: nothing but the empty page without it, guessing is slow, a device that gave it is known."""

from __future__ import annotations

import asyncio
import hmac
import sqlite3
import threading
import time
from contextlib import closing, suppress
from pathlib import Path
from typing import Any

import httpx
import pytest
from web_client import HOST, client

from racewright.store.device_file import MOST_DEVICES, DeviceFile
from racewright.store.job_errors import LockedFile, StoreTrouble
from racewright.store.job_store import JobStore
from racewright.store.served_shop import ServedShop
from racewright.store.shop_tools import keep_tool
from racewright.tools.written import BenderRecord
from racewright.web import guard
from racewright.web.guard import Guard, ServerSettings
from racewright.web.pairing import ALPHABET, COOKIES, MOST_MISSES, WAIT_S, MustWait, Pace, Pairing, new_code
from racewright.web.runner import allowed_hosts, lan_addresses


class Clock:
    """A clock that a test moves."""

    now = 0.0

    def __call__(self) -> float:
        return self.now


def pairing_in(folder: Path, clock: Clock | None = None) -> Pairing:
    return Pairing(DeviceFile(folder / "jobs.rwshop"), clock or Clock())


def test_without_the_code_there_is_only_the_empty_page(tmp_path: Path) -> None:
    asker = client(tmp_path, pairing=pairing_in(tmp_path))
    assert asker.post("/ask/parse_length", json={"text": "1"}).status_code == 401
    assert asker.post("/records", json={"job": "0" * 32, "records": []}).status_code == 401
    assert asker.get("/records").status_code == 401
    assert asker.get("/openapi.json").status_code == 401
    assert asker.get("/").status_code == 200
    assert asker.get("/server.json").json()["code_wanted"] is True


def test_the_code_lets_in_with_a_cookie_that_scripts_cannot_read(tmp_path: Path) -> None:
    pairing = pairing_in(tmp_path)
    asker = client(tmp_path, pairing=pairing)
    shown = pairing.shown
    got = asker.post("/pair", json={"code": shown.lower(), "name": "Ana's phone"})
    assert (got.status_code, got.json()) == (200, {"paired": True, "name": "Ana's phone"})
    cookie = got.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert shown.replace("-", "") not in got.headers["set-cookie"]
    assert asker.post("/ask/parse_length", json={"text": "1"}).status_code == 200
    assert asker.get("/server.json").json()["code_wanted"] is False


def test_wrong_codes_cost_time(tmp_path: Path) -> None:
    clock = Clock()
    pairing = pairing_in(tmp_path, clock)
    asker = client(tmp_path, pairing=pairing)
    for _ in range(MOST_MISSES):
        assert asker.post("/pair", json={"code": "AAAA-AAAA"}).status_code == 403
    late = asker.post("/pair", json={"code": pairing.code})
    assert late.status_code == 429, "even the right code has to wait now"
    assert int(late.headers["retry-after"]) > 0
    clock.now += WAIT_S + 1.0
    assert asker.post("/pair", json={"code": pairing.code}).status_code == 200


def test_of_many_wrong_codes_at_once_no_more_are_judged_than_one_after_the_other(tmp_path: Path) -> None:
    pairing = pairing_in(tmp_path)
    app = client(tmp_path, pairing=pairing).app

    async def all_at_once() -> list[int]:
        async with httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url=f"http://{HOST}") as asker:
            asked = (asker.post("/pair", json={"code": f"AAAA-AA{number}"}) for number in range(10, 70))
            return sorted(got.status_code for got in await asyncio.gather(*asked))

    assert asyncio.run(all_at_once()) == [403] * MOST_MISSES + [429] * (60 - MOST_MISSES)


def test_a_right_code_that_cannot_be_taken_is_no_miss(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    pairing = pairing_in(tmp_path)

    def locked(_: str) -> None:
        raise StoreTrouble("the list of devices is busy.")

    with monkeypatch.context() as busy:
        busy.setattr(pairing.devices, "let_in", locked)
        for _ in range(MOST_MISSES + 1):
            with pytest.raises(StoreTrouble):
                pairing.try_code(pairing.code, "10.0.0.1", "desk")
    assert pairing.try_code(pairing.code, "10.0.0.1", "desk") is not None


def test_a_code_is_used_up_by_one_device_and_the_next_is_told(tmp_path: Path) -> None:
    told: list[tuple[str, str]] = []
    pairing = Pairing(DeviceFile(tmp_path / "jobs.rwshop"), paired=lambda one, it: told.append((one.name, it.code)))
    first = pairing.code
    assert client(tmp_path, pairing=pairing).post("/pair", json={"code": first, "name": "desk"}).status_code == 200
    assert client(tmp_path, pairing=pairing).post("/pair", json={"code": first, "name": "thief"}).status_code == 403
    assert told == [("desk", pairing.code)]
    assert pairing.code != first


def test_of_two_that_have_the_code_at_once_one_is_let_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    pairing, both = pairing_in(tmp_path), threading.Barrier(2)
    same = hmac.compare_digest

    def compared(given: bytes, right: bytes) -> bool:
        found = same(given, right)
        if not pairing._letting_in.locked() and not both.broken:
            with suppress(threading.BrokenBarrierError):
                both.wait(5)  # both have looked at the code before either is let in
        return found

    monkeypatch.setattr(hmac, "compare_digest", compared)
    code, got = pairing.code, []
    people = [threading.Thread(target=lambda: got.append(pairing.try_code(code, "10.0.0.1", "desk"))) for _ in "ab"]
    for one in people:
        one.start()
    for one in people:
        one.join()
    assert sorted(one is None for one in got) == [False, True]
    assert len(pairing.devices.listed()) == 1


def test_a_list_of_devices_that_somebody_has_locked_holds_up_nobody_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pairing, answered, waited = pairing_in(tmp_path), threading.Event(), []

    def known(_: str, *, patience_s: float) -> None:
        waited.append(answered.wait(10))
        raise StoreTrouble("the list of devices cannot be used (database is locked).")

    monkeypatch.setattr(pairing.devices, "known", known)

    async def app(_: Any, __: Any, send: Any) -> None:
        await send({"type": "http.response.start", "status": 200, "headers": []})
        await send({"type": "http.response.body", "body": b""})

    guard = Guard(
        app, ServerSettings(hosts=frozenset({HOST}), shop=ServedShop(tmp_path / "jobs.rwshop"), pairing=pairing)
    )

    async def status(path: str, cookie: bytes) -> int:
        sent: list[Any] = []

        async def send(message: Any) -> None:
            sent.append(message)

        async def receive() -> Any:
            return {"type": "http.request", "body": b"", "more_body": False}

        headers = [(b"host", HOST.encode()), (b"cookie", cookie)]
        scope = {"type": "http", "method": "GET", "path": path, "headers": headers, "client": ("10.0.0.1", 1)}
        await guard(scope, receive, send)
        return int(sent[0]["status"])

    async def all_at_once() -> list[int]:
        paired = [asyncio.create_task(status("/records", b"racewright_pair=abc")) for _ in range(6)]
        await asyncio.sleep(0.05)
        others = [await status("/", b"racewright_pair=abc"), await status("/server.json", b"")]
        answered.set()
        return [*others, *await asyncio.gather(*paired)]

    assert asyncio.run(all_at_once()) == [200, 200, *[503] * 6]
    assert waited == [True] * 6


def test_guesses_from_everywhere_never_hold_up_the_right_code_from_elsewhere(tmp_path: Path) -> None:
    pairing = pairing_in(tmp_path)
    for k in range(300):
        for _ in range(MOST_MISSES):
            assert pairing.try_code("AAAAAAAA", f"10.0.{k // 100}.{k % 100}", "guesser") is None
    with pytest.raises(MustWait):
        pairing.try_code(pairing.code, "10.0.2.99", "guesser")
    assert pairing.try_code(pairing.code, "10.9.9.9", "desk") is not None


def test_devices_outlive_the_server_and_a_revoked_one_is_out_at_once(tmp_path: Path) -> None:
    devices = DeviceFile(tmp_path / "jobs.rwshop")
    before = pairing_in(tmp_path)
    cookie = client(tmp_path, pairing=before).post("/pair", json={"code": before.code, "name": "Ana's phone"})
    now = pairing_in(tmp_path)
    again = client(tmp_path, pairing=now)
    again.cookies.update(cookie.cookies)
    assert again.get("/records").status_code == 200
    devices.revoke("ana's phone")
    told = again.get("/records")
    assert told.status_code == 401
    assert told.json()["error"]["message"] == "this device was revoked by the shop."
    assert "what it has stays on it" in told.json()["error"]["hint"]
    card = again.get("/server.json").json()
    assert (card["code_wanted"], card["revoked"]) == (True, True)
    stranger = client(tmp_path, pairing=before)
    assert stranger.get("/server.json").json()["revoked"] is False
    stranger.cookies.set("racewright_pair", "never given")
    assert "wants its pairing code" in stranger.get("/records").json()["error"]["message"]
    assert again.post("/pair", json={"code": now.code, "name": "Ana's phone"}).status_code == 200
    assert again.get("/server.json").json()["revoked"] is False
    assert again.get("/records").status_code == 200


def test_what_arrives_when_its_device_is_revoked_already_is_not_taken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The head came before, the body took its time."""
    monkeypatch.setattr(guard, "_LONG_S", 0.0)
    pairing = pairing_in(tmp_path)
    _, token = pairing.devices.let_in("Ana's phone")
    sent: list[Any] = []

    async def app(*_: Any) -> None:
        raise AssertionError("must not be reached")

    async def receive() -> Any:
        pairing.devices.revoke("Ana's phone")
        return {"type": "http.request", "body": b"{}", "more_body": False}

    async def send(message: Any) -> None:
        sent.append(message)

    fields = {"host": HOST, "content-type": "application/json", "cookie": f"{COOKIES[False]}={token}"}
    headers = [(name.encode(), value.encode()) for name, value in fields.items()]
    scope = {"type": "http", "method": "POST", "path": "/records", "headers": headers, "client": ("10.0.0.7", 1)}
    settings = ServerSettings(hosts=frozenset({HOST}), shop=ServedShop(tmp_path / "jobs.rwshop"), pairing=pairing)
    asyncio.run(Guard(app, settings)(scope, receive, send))
    assert sent[0]["status"] == 401
    assert b"revoked by the shop" in sent[1]["body"]


def test_what_waited_for_the_shop_file_while_its_device_was_revoked_is_not_saved(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pairing, shop = pairing_in(tmp_path), ServedShop(tmp_path / "jobs.rwshop")
    asker = client(tmp_path, pairing=pairing, shop=shop)
    assert asker.post("/pair", json={"code": pairing.code, "name": "Ana's phone"}).status_code == 200
    head = {"kind": "job", "id": "a" * 32, "data": {"name": "Orchard"}}
    waits = shop.ask

    def revoked_meanwhile(work: Any, **how: Any) -> Any:
        pairing.devices.revoke("Ana's phone")
        return waits(work, **how)

    monkeypatch.setattr(shop, "ask", revoked_meanwhile)
    got = asker.post("/records", json={"job": "a" * 32, "records": [head]})
    assert (got.status_code, got.json()["error"]["message"]) == (401, "this device was revoked by the shop.")
    with JobStore.open(tmp_path / "jobs.rwshop") as store:
        assert store.rows.job_by_id("a" * 32) is None


def test_the_device_that_is_one_too_many_is_told_so_and_the_code_stays_good(tmp_path: Path) -> None:
    pairing = pairing_in(tmp_path)
    for number in range(MOST_DEVICES):
        pairing.devices.let_in(f"phone {number}")
    got = client(tmp_path, pairing=pairing).post("/pair", json={"code": pairing.code, "name": "one more"})
    assert got.status_code == 409
    assert f"{MOST_DEVICES} devices are paired" in got.json()["error"]["message"]
    assert "racewright devices" in got.json()["error"]["hint"]
    assert len(pairing.devices.listed()) == MOST_DEVICES
    code = pairing.code
    pairing.devices.revoke("phone 7")
    assert pairing.code == code
    assert client(tmp_path, pairing=pairing).post("/pair", json={"code": code, "name": "one more"}).status_code == 200


def test_a_device_is_told_only_the_kinds_it_may_read(tmp_path: Path) -> None:
    pairing = pairing_in(tmp_path)
    asker = client(tmp_path, pairing=pairing)
    assert asker.post("/pair", json={"code": pairing.code, "name": "desk"}).status_code == 200
    job, run = "1" * 32, "2" * 32
    head = {"kind": "job", "id": job, "base": 0, "data": {"name": "Orchard cooperative"}}
    walk = {"name": "Pump house", "raceway": "EMT 1/2", "walk": [{"leg": "50"}]}
    piece = {"id": run, "key": "PH-1", "survey": {"racewright": 1, "run": walk}}
    offer = {"job": job, "records": [head, {"kind": "run", "id": run, "base": 0, "data": piece}]}
    assert [one["outcome"] for one in asker.post("/records", json=offer).json()["answers"]] == ["saved", "saved"]
    assert {one["kind"] for one in asker.get("/records").json()["records"]} == {"job", "run"}
    pairing.devices.let_read("desk", ("job",))
    told = asker.get("/records").json()
    assert {one["kind"] for one in told["records"]} == {"job"}
    assert told["withheld"] == ["run", "entry", "tool", "person", "prices"]
    with JobStore.open(tmp_path / "jobs.rwshop") as store:
        figures = BenderRecord(raceway="EMT", size="1/2", take_up="5 in", gain="2 5/8 in")
        keep_tool(store, "blue half", figures, replace=False, by="Kim")
    assert "blue half" not in asker.post("/ask/benders", json={}).text
    pairing.devices.let_read("desk", ("job", "tool"))
    assert "blue half" in asker.post("/ask/benders", json={}).text
    stale = asker.post("/records", json=offer | {"records": offer["records"][::-1]}).json()["answers"]
    assert [one["outcome"] for one in stale] == ["refused", "saved"]
    assert stale[0]["stands"] is None
    assert "not let to read" in stale[0]["message"]


def test_a_list_of_devices_that_cannot_be_read_lets_nobody_in_and_says_so(tmp_path: Path) -> None:
    pairing = pairing_in(tmp_path)
    asker = client(tmp_path, pairing=pairing)
    asker.post("/pair", json={"code": pairing.code, "name": "desk"})
    pairing.devices.path.write_bytes(b"no list at all" * 100)
    for got in (asker.get("/records"), asker.post("/pair", json={"code": pairing.code, "name": "x"})):
        assert got.status_code == 503
        assert "list of devices" in got.json()["error"]["message"]


def test_the_card_waits_for_no_locked_list_and_questions_say_why_they_cannot_be_answered(tmp_path: Path) -> None:
    pairing = pairing_in(tmp_path)
    asker = client(tmp_path, pairing=pairing)
    asker.post("/pair", json={"code": pairing.code, "name": "desk"})
    with closing(sqlite3.connect(pairing.devices.path, isolation_level=None)) as db:
        db.execute("BEGIN EXCLUSIVE")
        begun = time.monotonic()
        card = asker.get("/server.json")
        assert time.monotonic() - begun < 1.5
        assert (card.status_code, card.json()["code_wanted"], card.json()["revoked"]) == (200, False, False)
        assert "list of devices is busy" in card.json()["busy"]
        late = asker.get("/records")
        assert (late.status_code, late.json()["error"]["message"]) == (503, card.json()["busy"])
        with pytest.raises(LockedFile, match="the list of devices is busy"):
            pairing.devices.known("x" * 43, patience_s=0.01)
    assert asker.get("/server.json").json()["busy"] == ""
    assert asker.get("/records").status_code == 200


def test_forged_cookies(tmp_path: Path) -> None:
    asker = client(tmp_path, pairing=pairing_in(tmp_path))
    for value in ("", "x", "é", "a=b;", "0" * 43):
        got = asker.get("/records", headers={"cookie": f"racewright_pair={value}".encode("latin-1")})
        assert got.status_code == 401


def test_bodies_that_are_no_code(tmp_path: Path) -> None:
    asker = client(tmp_path, pairing=pairing_in(tmp_path))
    for body in (b"", b"[]", b'{"code": 5}', b"\xff"):
        assert asker.post("/pair", content=body, headers={"content-type": "application/json"}).status_code == 400
    assert asker.post("/pair", json={"code": "é" * 50000}).status_code == 403


def test_codes_are_new_and_of_plain_letters() -> None:
    codes = {new_code() for _ in range(50)}
    assert len(codes) == 50
    assert all(set(code) <= set(ALPHABET) for code in codes)
    assert not set("01IO") & set(ALPHABET)


def test_pace_refills() -> None:
    clock = Clock()
    pace = Pace(burst=3.0, a_second=1.0, clock=clock)
    assert [pace.take("a") for _ in range(4)] == [True, True, True, False]
    assert pace.take("b")
    clock.now += 2.0
    assert [pace.take("a") for _ in range(3)] == [True, True, False]


def test_hosts_stay_local_without_lan() -> None:
    assert allowed_hosts(8642, lan=False) == {"127.0.0.1:8642", "localhost:8642", "[::1]:8642"}
    wide = allowed_hosts(8642, lan=True)
    assert all(f"{address}:8642" in wide for address in lan_addresses())
