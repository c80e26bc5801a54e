"""Hostile requests: wrong host, foreign pages, no code, giant and slow bodies, paths out of the page. None gets in,
and no answer holds a trace."""

from __future__ import annotations

import asyncio
import json
import sys
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from door_requests import one_of_each
from web_client import HOST, client

from racewright.web.guard import MOST_BODY, Guard, ServerSettings
from racewright.web.questions import Asked, Questions, worked_out

LENGTH = {"text": "31 5/16"}


def test_a_question_is_answered(tmp_path: Path) -> None:
    got = client(tmp_path).post("/ask/parse_length", json=LENGTH)
    assert got.status_code == 200
    assert got.json()["mm"] == pytest.approx(795.3375, abs=1e-9)


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1:9", "127.0.0.1", "", f"{HOST}.evil.example", f"a@{HOST}"])
def test_wrong_host(tmp_path: Path, host: str) -> None:
    for path in ("/", "/server.json", "/records"):
        assert client(tmp_path).get(path, headers={"host": host}).status_code == 421
    assert client(tmp_path).post("/ask/parse_length", json=LENGTH, headers={"host": host}).status_code == 421


def test_two_hosts(tmp_path: Path) -> None:
    got = client(tmp_path).get("/records", headers=[("host", HOST), ("host", "evil.example")])
    assert got.status_code == 421


@pytest.mark.parametrize("origin", ["http://evil.example", "null", f"https://{HOST}", f"http://{HOST}.evil.example"])
def test_foreign_origin(tmp_path: Path, origin: str) -> None:
    for method, path in (("POST", "/ask/parse_length"), ("POST", "/records"), ("GET", "/records"), ("POST", "/pair")):
        got = client(tmp_path).request(method, path, json=LENGTH, headers={"origin": origin})
        assert got.status_code == 403, (method, path)
        assert "access-control-allow-origin" not in got.headers


def test_own_origin(tmp_path: Path) -> None:
    got = client(tmp_path).post("/ask/parse_length", json=LENGTH, headers={"origin": f"http://{HOST}"})
    assert got.status_code == 200


def test_own_origin_over_https_is_that_of_https_alone(tmp_path: Path) -> None:
    asker = client(tmp_path, secure=True)
    for scheme, status in (("https", 200), ("http", 403)):
        got = asker.post("/ask/parse_length", json=LENGTH, headers={"origin": f"{scheme}://{HOST}"})
        assert got.status_code == status


def test_foreign_site_by_fetch_metadata(tmp_path: Path) -> None:
    for site in ("cross-site", "same-site"):
        got = client(tmp_path).post("/ask/parse_length", json=LENGTH, headers={"sec-fetch-site": site})
        assert got.status_code == 403
        assert client(tmp_path).get("/records", headers={"sec-fetch-site": site}).status_code == 403
    assert client(tmp_path).get("/", headers={"sec-fetch-site": "cross-site"}).status_code == 200, "a link to the page"


def test_no_preflight_is_answered(tmp_path: Path) -> None:
    got = client(tmp_path).options("/ask/plan", headers={"access-control-request-method": "POST"})
    assert got.status_code in (403, 404, 405)
    assert not [h for h in got.headers if h.startswith("access-control")]


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data", ""])
def test_only_json_bodies(tmp_path: Path, kind: str) -> None:
    got = client(tmp_path).post("/ask/parse_length", content=json.dumps(LENGTH), headers={"content-type": kind})
    assert got.status_code == 415


def test_giant_body(tmp_path: Path) -> None:
    body = json.dumps({"text": "1" * MOST_BODY})
    kind = {"content-type": "application/json"}
    assert client(tmp_path).post("/ask/parse_length", content=body, headers=kind).status_code == 413
    parts = (b" " * 65536 for _ in range(8))  # no content-length: counted while it arrives
    assert client(tmp_path).post("/ask/parse_length", content=parts, headers=kind).status_code == 413
    wrong = kind | {"content-length": "-5"}
    assert client(tmp_path).post("/ask/parse_length", content=b"{}", headers=wrong).status_code == 413


def test_body_that_never_ends(tmp_path: Path) -> None:
    """A body that does not arrive is given up after the time limit."""
    sent: list[Any] = []

    async def app(*_: Any) -> None:
        raise AssertionError("must not be reached")

    async def receive() -> Any:
        await asyncio.sleep(60)

    async def send(message: Any) -> None:
        sent.append(message)

    from racewright.store.served_shop import ServedShop

    settings = ServerSettings(hosts=frozenset({HOST}), shop=ServedShop(tmp_path / "jobs.rwshop"), body_limit_s=0.05)
    scope = {
        "type": "http",
        "method": "POST",
        "path": "/ask/plan",
        "headers": [(b"host", HOST.encode()), (b"content-type", b"application/json")],
        "client": ("127.0.0.1", 1),
    }
    asyncio.run(Guard(app, settings)(scope, receive, send))
    assert sent[0]["status"] == 408


def processes(limit_s: float, code: str) -> Questions:
    """Processes whose answers are those of `code`, which makes one of `asked`."""
    begin = "import time\nfrom racewright.web import questions\n"
    work = begin + f"def worked_out(asked):\n    {code}\nquestions.worked_out = worked_out\nquestions.main()"
    return Questions(limit_s, (sys.executable, "-c", work))


def test_a_fault_tells_nothing(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    broken = processes(15.0, "raise RuntimeError('secret /home/someone')")
    with closing(broken):
        got = client(tmp_path, questions=broken).post("/ask/plan", json={})
    assert got.status_code == 500
    assert "secret" not in got.text
    assert "Traceback" not in got.text
    assert got.json()["error"]["kind"] == "engine"
    assert "secret" in capfd.readouterr().err, "the terminal is told"


def test_time_limit_ends_the_work(tmp_path: Path) -> None:
    slow = processes(0.3, "time.sleep(30 if b'slow' in asked.request else 0); return questions.Given(200, b'{}')")
    with closing(slow):
        asker = client(tmp_path, questions=slow, ask_limit_s=0.3)
        got = asker.post("/ask/plan", json={"name": "slow"})
        assert got.status_code == 503
        assert "0.3 s" in got.json()["error"]["message"]
        assert asker.post("/ask/plan", json={}).status_code == 200, "another process answers on"
        assert len(slow._all) == 1


def test_answers_of_the_processes_are_those_of_this_one(tmp_path: Path) -> None:
    asker = client(tmp_path, pace=False)
    for operation, request in one_of_each().items():
        here = worked_out(Asked(operation, json.dumps(request).encode(), str(tmp_path / "jobs.rwshop")))
        got = asker.post(f"/ask/{operation}", json=request)
        assert (got.status_code, got.content) == (here.status, here.body), operation
    wrong = asker.post("/ask/plan", content=b"{", headers={"content-type": "application/json"})
    assert wrong.status_code == 400


def test_pace(tmp_path: Path) -> None:
    asker = client(tmp_path)
    statuses = [asker.get("/server.json").status_code for _ in range(300)]
    assert statuses[:60] == [200] * 60
    assert 429 in statuses


@pytest.mark.parametrize(
    "path", ["/../pyproject.toml", "/..%2f..%2fetc/passwd", "/assets/../../x", "/%00", "/engine//etc/passwd", "/site"]
)
def test_no_path_leads_out(tmp_path: Path, path: str) -> None:
    got = client(tmp_path).get(path)
    assert got.status_code == 404
    assert got.json()["error"]["kind"] == "missing"


def test_headers_of_every_answer(tmp_path: Path) -> None:
    asker = client(tmp_path)
    answers = (
        asker.get("/"),
        asker.get("/nothing"),
        asker.get("/", headers={"host": "evil.example"}),
        asker.post("/ask/plan", json={}),
    )
    for got in answers:
        policy = got.headers["content-security-policy"]
        assert "script-src 'self' 'wasm-unsafe-eval'" in policy
        assert "unsafe-inline" not in policy
        assert "default-src 'none'" in policy
        assert got.headers["x-content-type-options"] == "nosniff"
        assert got.headers["referrer-policy"] == "no-referrer"


@pytest.mark.parametrize("body", [b"", b"{", b"[1]", b"\xff", b"null", b'{"survey": 1e999}', b"[" * 5000])
def test_bodies_that_are_no_request(tmp_path: Path, body: bytes) -> None:
    got = client(tmp_path).post("/ask/plan", content=body, headers={"content-type": "application/json"})
    assert got.status_code in (400, 422)
    assert got.json()["error"]["message"]
