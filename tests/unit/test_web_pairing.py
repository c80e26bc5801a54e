"""The pairing code: nothing but the empty page without it, guessing is slow, a device that gave it is known."""

from __future__ import annotations

from pathlib import Path

from web_client import client

from racewright.web.pairing import ALPHABET, MOST_MISSES, WAIT_S, Pace, Pairing
from racewright.web.runner import allowed_hosts, lan_addresses


class Clock:
    """A clock that a test moves."""

    now = 0.0

    def __call__(self) -> float:
        return self.now


def test_without_the_code_there_is_only_the_empty_page(tmp_path: Path) -> None:
    asker = client(tmp_path, pairing=Pairing())
    assert asker.post("/ask/parse_length", json={"text": "1"}).status_code == 401
    assert asker.post("/records", json={"job": "0" * 32, "records": []}).status_code == 401
    assert asker.get("/records").status_code == 401
    assert asker.get("/openapi.json").status_code == 401
    assert asker.get("/").status_code == 200
    assert asker.get("/server.json").json()["code_wanted"] is True


def test_the_code_lets_in_with_a_cookie_that_scripts_cannot_read(tmp_path: Path) -> None:
    pairing = Pairing()
    asker = client(tmp_path, pairing=pairing)
    got = asker.post("/pair", json={"code": pairing.shown.lower()})
    assert got.status_code == 200
    cookie = got.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert pairing.code not in got.headers["set-cookie"]
    assert asker.post("/ask/parse_length", json={"text": "1"}).status_code == 200
    assert asker.get("/server.json").json()["code_wanted"] is False


def test_wrong_codes_cost_time(tmp_path: Path) -> None:
    clock = Clock()
    pairing = Pairing(clock)
    asker = client(tmp_path, pairing=pairing)
    for _ in range(MOST_MISSES):
        assert asker.post("/pair", json={"code": "AAAA-AAAA"}).status_code == 403
    late = asker.post("/pair", json={"code": pairing.code})
    assert late.status_code == 429, "even the right code has to wait now"
    assert int(late.headers["retry-after"]) > 0
    clock.now += WAIT_S + 1.0
    assert asker.post("/pair", json={"code": pairing.code}).status_code == 200


def test_many_addresses_cannot_guess_together() -> None:
    clock = Clock()
    pairing = Pairing(clock)
    for k in range(60):
        pairing.try_code("AAAAAAAA", f"10.0.0.{k}")
    assert pairing.wait_s("10.9.9.9") > 0.0


def test_forged_cookies(tmp_path: Path) -> None:
    asker = client(tmp_path, pairing=Pairing())
    for value in ("", "x", "é", "a=b;", "0" * 43):
        got = asker.get("/records", headers={"cookie": f"racewright_pair={value}".encode("latin-1")})
        assert got.status_code == 401


def test_bodies_that_are_no_code(tmp_path: Path) -> None:
    asker = client(tmp_path, pairing=Pairing())
    for body in (b"", b"[]", b'{"code": 5}', b"\xff"):
        assert asker.post("/pair", content=body, headers={"content-type": "application/json"}).status_code == 400
    assert asker.post("/pair", json={"code": "é" * 50000}).status_code == 403


def test_codes_are_new_and_of_plain_letters() -> None:
    codes = {Pairing().code for _ in range(50)}
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
