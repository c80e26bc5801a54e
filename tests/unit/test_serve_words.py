"""What `serve` says at its start is so: where a phone reaches it, and whether anything can be kept."""

from __future__ import annotations

from pathlib import Path

import pytest

from racewright.cli import cmd_serve
from racewright.store.device_file import DeviceFile
from racewright.web import terminal
from racewright.web.pairing import Pairing


def test_without_an_address_no_phone_is_sent_to_this_machine_itself(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    pairing = Pairing(DeviceFile(tmp_path / "jobs.rwshop"), paired=terminal.say_paired)
    terminal.say(8443, pairing, 0, None, 0, ())
    said = capsys.readouterr().out
    assert "can be reached from the network" not in said
    assert "No phone can reach Racewright now" in said
    assert "there for this machine only:\n  http://127.0.0.1:8443/\n" in said
    assert f"Pairing code: {pairing.shown}" in said
    terminal.say_addresses("https", ("192.168.7.4",), 8443)
    said = capsys.readouterr().out
    assert said == "Racewright can be reached from the network:\n  https://192.168.7.4:8443/\n"


def test_a_shop_file_in_a_folder_that_is_not_there_is_told_before_it_serves(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cmd_serve._tell_of(tmp_path / "lost" / "jobs.rwshop")
    told = capsys.readouterr()
    assert told.err == f"nothing can be kept here for now: there is no folder {tmp_path / 'lost'}\n"
    assert told.out == ""
    cmd_serve._tell_of(tmp_path / "jobs.rwshop")
    assert "made when something is saved first" in capsys.readouterr().out
