"""The list of paired devices beside the shop file: what it keeps, who may read it, how it ends; its command."""

from __future__ import annotations

import json
import sqlite3
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from racewright.cli.main import main
from racewright.errors import InputError, LimitError, UnknownName
from racewright.store import current_job
from racewright.store.device_file import MOST_DEVICES, UNUSED_S, DeviceFile
from racewright.store.job_errors import StoreTrouble


class Clock:
    """A clock that a test moves."""

    now = 1_800_000_000.0

    def __call__(self) -> float:
        return self.now


def test_names_and_times_are_kept_and_of_a_token_its_digest_alone(tmp_path: Path) -> None:
    clock = Clock()
    devices = DeviceFile(tmp_path / "jobs.rwshop", clock)
    assert devices.listed() == ()
    assert not devices.path.exists(), "asking makes no file"
    device, token = devices.let_in("  Ana's phone\n")
    assert (device.name, device.first_seen, device.reads) == (
        "Ana's phone",
        int(clock.now),
        ("job", "run", "entry", "tool"),
    )
    assert devices.path.name == "jobs.rwshop.devices"
    assert stat.S_IMODE(devices.path.stat().st_mode) == 0o600
    assert token.encode() not in devices.path.read_bytes()
    assert devices.known(token) == device
    for wrong in ("", token[:-1], token + "x", "é", "x" * 300):
        assert devices.known(wrong) is None
    assert not (tmp_path / "jobs.rwshop").exists()


def test_rights_that_were_opened_are_closed_again(tmp_path: Path) -> None:
    devices = DeviceFile(tmp_path / "jobs.rwshop")
    devices.let_in("desk")
    devices.path.chmod(0o644)
    devices.listed()
    assert stat.S_IMODE(devices.path.stat().st_mode) == 0o600


def test_one_name_is_one_device(tmp_path: Path) -> None:
    devices = DeviceFile(tmp_path / "jobs.rwshop")
    names = [devices.let_in(name)[0].name for name in ("Phone", "phone", "", "PHONE", "\x00", "x" * 90)]
    assert names == ["Phone", "phone 2", "a device", "PHONE 3", "a device 2", "x" * 40]
    assert [device.name for device in devices.listed()] == sorted(names, key=lambda name: (name.casefold(), name))


def test_no_device_bears_the_name_of_somebody_who_works_by_command(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(current_job, "login_name", lambda: "kim")
    devices = DeviceFile(tmp_path / "jobs.rwshop")
    assert [devices.let_in(name)[0].name for name in ("Kim", " kim ", "Kim's phone")] == [
        "Kim 2",
        "kim 3",
        "Kim's phone",
    ]
    pwd = pytest.importorskip("pwd")
    other = pwd.getpwall()[0].pw_name
    assert devices.let_in(other.upper())[0].name == f"{other.upper()} 2"


def test_a_token_ends_when_it_is_not_used(tmp_path: Path) -> None:
    clock = Clock()
    devices = DeviceFile(tmp_path / "jobs.rwshop", clock)
    _, used = devices.let_in("used")
    _, unused = devices.let_in("unused")
    for _ in range(4):
        clock.now += UNUSED_S * 0.4
        seen = devices.known(used)
        assert seen is not None
    assert devices.known(unused) is None
    (left,) = devices.listed()
    assert left.name == "used"
    assert left.last_seen == int(clock.now)


def test_more_devices_than_may_be_are_refused_and_ended_ones_make_room(tmp_path: Path) -> None:
    clock = Clock()
    devices = DeviceFile(tmp_path / "jobs.rwshop", clock)
    tokens = [devices.let_in("phone")[1] for _ in range(MOST_DEVICES)]
    with pytest.raises(LimitError, match=f"{MOST_DEVICES} devices are paired"):
        devices.let_in("one more")
    assert all(devices.known(token) for token in tokens), "nobody was put out"
    clock.now += UNUSED_S + 1
    assert devices.let_in("phone")[0].name == "phone"


def test_two_processes_write_it_at_once(tmp_path: Path) -> None:
    """Twenty pairings by two processes, all of them kept, each with a name of its own."""
    code = (
        "import sys; from pathlib import Path; from racewright.store.device_file import DeviceFile\n"
        "devices = DeviceFile(Path(sys.argv[1]))\n"
        "for _ in range(10): devices.let_in('phone')"
    )
    both = [subprocess.Popen([sys.executable, "-c", code, str(tmp_path / "jobs.rwshop")]) for _ in range(2)]
    assert [one.wait(60) for one in both] == [0, 0]
    assert len({device.name for device in DeviceFile(tmp_path / "jobs.rwshop").listed()}) == 20


def test_a_file_that_is_no_list_is_told(tmp_path: Path) -> None:
    devices = DeviceFile(tmp_path / "jobs.rwshop")
    devices.path.write_bytes(b"nothing of the kind" * 50)
    with pytest.raises(StoreTrouble, match="cannot be used") as told:
        devices.listed()
    assert "pair again" in told.value.hint
    gone = DeviceFile(tmp_path / "no folder" / "jobs.rwshop")
    with pytest.raises(StoreTrouble, match="No such file"):
        gone.let_in("desk")


def test_a_save_that_is_broken_off_leaves_the_list_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    devices = DeviceFile(tmp_path / "jobs.rwshop")
    _, token = devices.let_in("desk")
    monkeypatch.setattr("racewright.store.device_file.secrets.token_urlsafe", lambda _: token)
    with pytest.raises(StoreTrouble):
        devices.let_in("same token")
    assert [device.name for device in devices.listed()] == ["desk"]
    with sqlite3.connect(devices.path) as db:
        assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_the_command_lists_revokes_and_sets_what_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop = tmp_path / "jobs.rwshop"
    at = ["--shop", str(shop)]
    assert main(["devices", *at]) == 0
    assert "No device is paired" in capsys.readouterr().out
    devices = DeviceFile(shop)
    _, token = devices.let_in("Ana's phone")
    devices.let_in("desk")
    assert main(["devices", *at]) == 0
    said = capsys.readouterr().out
    assert "Ana's phone" in said
    assert "job, run, entry, tool\n" in said, "prices, and how well people work: when somebody says so"
    assert "60 days" in said
    assert main(["devices", "DESK", "--reads", "job, run, entry", *at]) == 0
    assert main(["devices", "desk", "--json", *at]) == 0
    said = capsys.readouterr().out
    assert "desk is told: job, run, entry\n" in said
    assert json.loads(said[said.index("[") :])[0]["reads"] == ["job", "run", "entry"]
    assert main(["devices", "ana's phone", "--revoke", *at]) == 0
    assert devices.known(token) is None
    for wrong, words in (
        (["--revoke"], "which device is missing"),
        (["Bo", "--revoke"], "no device 'Bo' is paired"),
        (["desk", "--reads", "wages"], "'wages' is no kind of record"),
        (["desk", "--reads", "job,run,tool"], "is told the entries on them too"),
    ):
        assert main(["devices", *wrong, *at]) == 2
        assert words in capsys.readouterr().err


def test_nobody_writes_in_the_name_of_a_device(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("RACEWRIGHT_HOME", str(tmp_path / "home"))
    devices = DeviceFile(tmp_path / "jobs.rwshop")
    devices.let_in("Ana's phone")
    assert main(["job", "new", "orchard", "--by", "ana's PHONE"]) == 2
    assert "'ana's PHONE' is a paired device" in capsys.readouterr().err
    assert main(["job", "new", "orchard", "--by", "Ana"]) == 0
    devices.path.write_bytes(b"spoilt")
    assert main(["job", "new", "shed", "--by", "Ana"]) == 0, "a list that is spoilt keeps nobody from working"


def test_errors_are_of_their_kind(tmp_path: Path) -> None:
    devices = DeviceFile(tmp_path / "jobs.rwshop")
    with pytest.raises(UnknownName, match="paired: none"):
        devices.find("desk")
    with pytest.raises(InputError):
        devices.let_read("desk", ("wages",))
