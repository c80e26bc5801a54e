"""https on the job-site network: the authority and what it may vouch for, read back by Python's own TLS; a server that
is asked over it; what is said where the library is missing."""

from __future__ import annotations

import asyncio
import errno
import hashlib
import http.client
import json
import os
import socket
import ssl
import stat
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import ExitStack, closing, suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, NamedTuple

import pytest

pytest.importorskip("starlette")
pytest.importorskip("uvicorn")
pytest.importorskip("cryptography")

from racewright.cli.main import main
from racewright.errors import InputError
from racewright.store.served_shop import ServedShop
from racewright.web import authority, runner
from racewright.web.authority import AUTHORITY_YEARS, SERVER_DAYS, Certificates, certificates
from racewright.web.connections import Troubles
from racewright.web.guard import ServerSettings
from racewright.web.trust_page import FILE

ROOT = Path(__file__).resolve().parents[2]
NOW = datetime(2026, 11, 26, 12, tzinfo=UTC)
HERE = ("192.168.7.20",)


def asked_by_tls(made: Certificates, trusted: Path, name: str, context: ssl.SSLContext | None = None) -> str:
    """'' where a client that trusts this authority takes the server for `name`; else why not."""
    if context is None:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(made.chain, made.key)
    with closing(socket.create_server(("127.0.0.1", 0))) as door:

        def answer() -> None:
            one, _ = door.accept()
            with closing(one), suppress(OSError):  # the client has gone: it says why
                context.wrap_socket(one, server_side=True).close()

        server = threading.Thread(target=answer)
        server.start()
        try:
            with closing(socket.create_connection(door.getsockname())) as one:
                ssl.create_default_context(cafile=str(trusted)).wrap_socket(one, server_hostname=name).close()
            return ""
        except ssl.SSLCertVerificationError as err:
            return err.verify_message
        finally:
            server.join(30)


def modes(folder: Path) -> dict[str, int]:
    return {path.name: stat.S_IMODE(path.stat().st_mode) for path in folder.iterdir()}


def test_a_server_is_taken_for_its_addresses_and_names_and_for_no_other(tmp_path: Path) -> None:
    made = certificates(tmp_path / "https", HERE)
    assert modes(tmp_path / "https") == {
        "authority.pem": 0o644,
        "authority-key.pem": 0o600,
        "server.pem": 0o644,
        "server-key.pem": 0o600,
    }
    assert stat.S_IMODE((tmp_path / "https").stat().st_mode) == 0o700
    for name in (*HERE, "127.0.0.1", "::1", "localhost", f"{authority.own_name()}.local"):
        assert asked_by_tls(made, made.authority, name) == "", name
    assert "mismatch" in asked_by_tls(made, made.authority, "192.168.7.21")
    assert "mismatch" in asked_by_tls(made, made.authority, "example.com")
    stranger = certificates(tmp_path / "other", HERE)
    assert asked_by_tls(made, stranger.authority, "127.0.0.1") != ""


@pytest.mark.parametrize("name", ["example.com", "93.184.216.34", "2001:db8::1"])
def test_what_the_authority_signs_for_a_site_of_the_internet_is_not_taken(tmp_path: Path, name: str) -> None:
    """As one would who got its key: the constraint is in the certificate that phones trust."""
    made = certificates(tmp_path, HERE)
    own, key = authority._authority(tmp_path, datetime.now(UTC))
    authority._make_server(tmp_path, own, key, (name,), datetime.now(UTC))
    assert asked_by_tls(made, made.authority, name) == "permitted subtree violation"


def test_the_authority_signs_no_other_authority(tmp_path: Path) -> None:
    from cryptography import x509

    made = certificates(tmp_path, HERE)
    one = x509.load_pem_x509_certificate(made.authority.read_bytes())
    basic = one.extensions.get_extension_for_class(x509.BasicConstraints)
    limits = one.extensions.get_extension_for_class(x509.NameConstraints)
    assert (basic.critical, basic.value.ca, basic.value.path_length) == (True, True, 0)
    assert limits.critical


def test_it_is_kept_and_the_server_s_made_anew_when_an_address_changes_or_its_time_runs_out(tmp_path: Path) -> None:
    first = certificates(tmp_path, HERE, now=NOW)
    assert first.server_ends - NOW == timedelta(days=SERVER_DAYS)
    kept, chain = first.authority.read_bytes(), first.chain.read_bytes()
    assert certificates(tmp_path, HERE, now=NOW + timedelta(days=300)) == first
    assert certificates(tmp_path, (), now=NOW).names == tuple(name for name in first.names if name not in HERE)
    assert first.chain.read_bytes() == chain, "one that speaks for more is good as well"
    moved = certificates(tmp_path, (*HERE, "10.1.2.3"), now=NOW)
    assert "10.1.2.3" in moved.names
    assert moved.chain.read_bytes() != chain
    later = certificates(tmp_path, HERE, now=NOW + timedelta(days=SERVER_DAYS - 5))
    assert later.server_ends > moved.server_ends
    assert first.authority.read_bytes() == kept
    assert later.fingerprint == first.fingerprint
    anew = certificates(tmp_path, HERE, now=NOW + timedelta(days=365 * AUTHORITY_YEARS))
    assert anew.fingerprint != first.fingerprint
    assert anew.server_ends > NOW + timedelta(days=365 * AUTHORITY_YEARS)


def test_addresses_that_are_not_private_are_left_out(tmp_path: Path) -> None:
    made = certificates(tmp_path, ("93.184.216.34", "100.64.0.1", *HERE))
    assert set(made.names) == {
        *HERE, "127.0.0.1", "::1", "localhost", authority.own_name(), f"{authority.own_name()}.local"
    }  # fmt: skip


def test_another_machine_s_name_is_not_vouched_for_by_an_authority_made_before(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(socket, "gethostname", lambda: "desk.orchard.example")
    assert "desk" in certificates(tmp_path, HERE).names
    monkeypatch.setattr(socket, "gethostname", lambda: "bench")
    assert {"desk", "bench"}.isdisjoint(certificates(tmp_path, HERE).names)
    assert "bench.local" in certificates(tmp_path, HERE).names
    monkeypatch.setattr(socket, "gethostname", lambda: "Jörg's desk")
    assert authority.own_name() == "localhost"


def test_a_server_goes_with_its_addresses_while_it_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    addresses = [HERE, HERE, ("10.1.2.3",)]
    monkeypatch.setenv("RACEWRIGHT_HOME", str(tmp_path))
    monkeypatch.setattr(runner, "_LOOK_S", 0.01)
    monkeypatch.setattr(runner, "lan_addresses", lambda: addresses[0])
    secure = runner.Secure()
    hosts = runner.allowed_hosts(8642, lan=True)
    settings = ServerSettings(hosts=hosts, shop=ServedShop(tmp_path / "jobs.rwshop"), secure=True)

    async def look() -> None:
        looking = asyncio.create_task(runner._look(settings, 8642, secure))
        await asyncio.sleep(0.05)
        assert settings.hosts == hosts
        del addresses[:2]
        for _ in range(200):
            await asyncio.sleep(0.02)
            if settings.hosts != hosts:
                break
        looking.cancel()

    asyncio.run(look())
    assert "10.1.2.3:8642" in settings.hosts
    assert "192.168.7.20:8642" not in settings.hosts
    assert asked_by_tls(secure.made, secure.made.authority, "10.1.2.3", secure.context) == ""
    assert "mismatch" in asked_by_tls(secure.made, secure.made.authority, HERE[0], secure.context)


def test_files_that_cannot_be_read_are_told(tmp_path: Path) -> None:
    certificates(tmp_path, HERE)
    (tmp_path / "authority.pem").write_text("no certificate")
    with pytest.raises(InputError, match="cannot be read") as told:
        certificates(tmp_path, HERE)
    assert "every phone" in told.value.hint
    other = tmp_path / "other"
    certificates(other, HERE)
    certificates(tmp_path / "third", HERE)
    (other / "authority-key.pem").write_bytes((tmp_path / "third" / "authority-key.pem").read_bytes())
    with pytest.raises(InputError, match="not its own"):
        certificates(other, HERE)


def test_without_the_library_it_is_said_what_to_do(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setitem(sys.modules, "cryptography", None)
    monkeypatch.setenv("RACEWRIGHT_HOME", str(tmp_path))
    at = ["--port", "0", "--shop", str(tmp_path / "jobs.rwshop")]
    assert main(["serve", "--lan", *at]) == 4
    said = capsys.readouterr().err
    assert "pip install 'racewright[https]'" in said
    assert "--http" in said
    assert main(["serve", "--http", *at]) == 2
    assert "--http goes with --lan" in capsys.readouterr().err


class Running(NamedTuple):
    """A server that runs, and what it said."""

    port: int
    trust_port: int
    code: str
    authority: Path
    said: str


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    home = tmp_path_factory.mktemp("home")
    env = os.environ | {"PYTHONPATH": str(ROOT / "src"), "PYTHONUNBUFFERED": "1", "RACEWRIGHT_HOME": str(home)}
    command = [sys.executable, "-m", "racewright", "serve", "--lan", "--port", "0", "--shop", str(home / "jobs.rwshop")]
    few = ["sh", "-c", 'ulimit -Sn 128; exec "$@"', "sh", *command]
    with (home / "troubles").open("w") as troubles:
        child = subprocess.Popen(few, env=env, stdout=subprocess.PIPE, stderr=troubles, text=True)
    assert child.stdout
    said = ""
    for line in child.stdout:
        said += line
        if "Ctrl-C" in line:
            break
    word = {"Pairing": "", "  https": "", "First": ""}
    for line in said.splitlines():
        for begins in word:
            if line.startswith(begins):
                word[begins] = line
    yield Running(
        int(word["  https"].split(":")[2].rstrip("/")),
        int(word["First"].split("http://")[1].split(":")[1].split("/")[0]),
        word["Pairing"].split()[2],
        home / "https" / "authority.pem",
        said,
    )
    child.kill()
    child.wait()


def ask(running: Running, method: str, path: str, body: Any = None, **headers: str) -> tuple[int, str, bytes]:
    """Status, cookie and body, over TLS that trusts the authority alone."""
    trust = ssl.create_default_context(cafile=str(running.authority))
    with closing(http.client.HTTPSConnection("127.0.0.1", running.port, timeout=60, context=trust)) as asker:
        asker.request(method, path, json.dumps(body) if body else None, {"content-type": "application/json"} | headers)
        got = asker.getresponse()
        return got.status, got.headers.get("set-cookie", ""), got.read()


def test_a_device_is_paired_and_answered_over_https(running: Running) -> None:
    origin = f"https://127.0.0.1:{running.port}"
    paired = {"code": running.code, "name": "Ana's phone"}
    assert ask(running, "POST", "/pair", paired, origin=origin.replace("https", "http"))[0] == 403
    status, cookie, _ = ask(running, "POST", "/pair", paired, origin=origin)
    assert status == 200
    assert {"secure", "httponly", "samesite=strict"} <= {part.strip().lower() for part in cookie.split(";")}
    token = cookie.partition(";")[0]
    assert token.startswith("__Host-"), "no page of http can put its own in this one's place"
    length = {"text": "31 5/16"}
    assert ask(running, "POST", "/ask/parse_length", length, origin=origin, cookie=token)[0] == 200
    assert ask(running, "POST", "/ask/parse_length", length, origin=origin)[0] == 401


def test_who_does_not_trust_the_authority_is_not_connected(running: Running) -> None:
    asker = http.client.HTTPSConnection("127.0.0.1", running.port, timeout=60)
    with closing(asker), pytest.raises(ssl.SSLCertVerificationError):
        asker.request("GET", "/server.json")


def test_connections_that_never_speak_shut_nobody_out(running: Running) -> None:
    with ExitStack() as stack:
        for _ in range(200):  # more than the files that the server was begun with
            stack.enter_context(closing(socket.create_connection(("127.0.0.1", running.port))))
        assert ask(running, "GET", "/server.json")[0] == 200
    assert "Too many open files" not in (running.authority.parents[1] / "troubles").read_text()


def test_where_no_more_connections_can_be_had_it_is_said_once_in_plain_words(
    capfd: pytest.CaptureFixture[str],
) -> None:
    loop = asyncio.new_event_loop()
    with closing(loop):
        loop.set_exception_handler(Troubles())
        for _ in range(50):
            loop.call_exception_handler({"message": "no accept", "exception": OSError(errno.EMFILE, "too many")})
        said = capfd.readouterr()
        assert (said.out.count("\n"), "may be open; new ones wait" in said.out, said.err) == (2, True, "")
        loop.call_exception_handler({"message": "another", "exception": ValueError("so it is")})


def test_phones_get_the_certificate_and_the_steps_over_plain_http_and_nothing_else(running: Running) -> None:
    def get(path: str) -> tuple[int, bytes]:
        with closing(http.client.HTTPConnection("127.0.0.1", running.trust_port, timeout=60)) as asker:
            asker.request("GET", path)
            got = asker.getresponse()
            return got.status, got.read()

    status, given = get(f"/{FILE}")
    assert (status, given) == (200, running.authority.read_bytes())
    status, page = get("/")
    assert status == 200
    words = page.decode()
    fingerprint = ssl.PEM_cert_to_DER_cert(given.decode())
    shown = hashlib.sha256(fingerprint).hexdigest().upper()
    pairs = ":".join(shown[k : k + 2] for k in range(0, 64, 2))
    assert pairs not in words, "a page that is not to be trusted yet proves nothing"
    assert pairs in running.said.replace("\n  ", ":").replace("::", ":")
    assert f":{running.port}/" in words
    for path in ("/server.json", "/authority-key.pem", "/../authority-key.pem", "/ask/plan"):
        assert get(path)[0] == 404
