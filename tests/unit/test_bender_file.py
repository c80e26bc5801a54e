"""Own profiles on disk: round trip, readable file, errors with line and field, writing in one step."""

import os
import threading
import tomllib
from pathlib import Path
from typing import Any

import msgspec
import pytest

from racewright.errors import InputError, UnknownName
from racewright.operations.common import Known
from racewright.operations.which_tool import finder
from racewright.store.bender_file import (
    OwnBenders,
    bender_file,
    changing,
    config_folder,
    load_records,
    save_records,
)
from racewright.tools.benders import BenderProfile, default_bender
from racewright.tools.written import FILE_NAME, BenderRecord, profile_of, record_of

HALF = BenderRecord(raceway="EMT", size="1/2", take_up="5 in", gain="2 5/8 in")


def by_name(name: str) -> BenderProfile:
    """As every question looks a bender up."""
    return finder(None, Known(benders=OwnBenders()))(name)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("RACEWRIGHT_HOME", str(tmp_path / "own"))
    return tmp_path / "own"


def test_no_file_is_no_profile() -> None:
    assert load_records() == {}
    assert by_name("EMT-1/2") == default_bender("EMT", "1/2")


def test_round_trip_keeps_what_was_written(home: Path) -> None:
    odd = BenderRecord(
        raceway="RMC", size="MD 16", radius="138 mm", lead="4 mm", springback_b0_deg=1.5, springback_b1=0.02
    )
    where = save_records({"pump-house-half": HALF, "odd one/2": odd})
    assert where == bender_file() == home / "benders.toml"
    assert load_records() == {"pump-house-half": HALF, "odd one/2": odd}
    assert 'gain = "2 5/8 in"' in where.read_text(encoding="utf-8")
    assert sorted(os.listdir(home)) == ["benders.toml"]
    assert dict(OwnBenders())["odd one/2"].trade_size == "1/2"


def test_text_is_escaped(home: Path) -> None:
    tricky = BenderRecord(raceway="EMT", size='1/2"', take_up='5"', gain='2 5/8"', standing='a "b" \\ \n\t\x7f ½')
    where = save_records({"x": tricky})
    assert tomllib.loads(where.read_text(encoding="utf-8"))["benders"]["x"]["standing"] == tricky.standing
    assert load_records()["x"] == tricky


def test_own_profile_goes_before_the_hand_shoe() -> None:
    save_records({"EMT-1/2": BenderRecord(raceway="EMT", size="1/2", take_up="5 1/8", gain="2 3/4")})
    assert by_name("emt-1/2").take_up_mm == pytest.approx(5.125 * 25.4)


def test_pvc_by_radius_alone() -> None:
    profile = profile_of("bent", BenderRecord(raceway="PVC-40", size="1", radius="6 in"))
    assert (profile.arrow_lead_mm, profile.hook_reach_mm, profile.grip_mm) == (0.0, 0.0, 0.0)


def test_a_calibrated_profile_comes_back() -> None:
    profile = default_bender("EMT", "3/4")
    again = profile_of(profile.name, record_of(profile))
    for field in ("radius_mm", "arrow_lead_mm", "star_mm", "centre_mm", "take_up_mm", "gain_mm"):
        assert getattr(again, field) == pytest.approx(getattr(profile, field), abs=2e-6)  # written to 1e-6 mm


@pytest.mark.parametrize(
    ("text", "field", "line"),
    [
        ("[benders.x\n", "", 1),
        ("[other]\na = 1\n", "other", 1),
        (
            '[benders.y]\nraceway="EMT"\nsize="1/2"\nradius="5"\n[benders.x]\nraceway="EMT"\nsize="1/2"\ntake_up="5"\ngain="two"\n',
            "gain",
            9,
        ),
        ('[benders."x"]\nraceway = "EMT"\nsize = "1/2"\ntake_up = 5\n', "take_up", 4),
        ('[benders.x]\nraceway = "EMT"\nsize = "9"\nradius = "5 in"\n', "size", 3),
        ('[benders.x]\nraceway = "EMT"\nsize = "1/2"\ntake_up = "5"\n', "gain", 1),
        (
            '[benders.x]\nraceway = "EMT"\nsize = "1/2"\nradius = "5"\nspringback_b0_deg = inf\nspringback_b1 = 0.0\n',
            "springback_b0_deg",
            5,
        ),
        ('[benders.x]\nraceway = "EMT"\nsize = "1/2"\nraduis = "5"\n', "raduis", 4),
    ],
)
def test_a_bad_file_says_where(home: Path, text: str, field: str, line: int) -> None:
    home.mkdir()
    (home / "benders.toml").write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_records()
    assert (caught.value.field, caught.value.line) == (field, line)
    assert caught.value.hint


def test_a_file_that_is_no_text(home: Path) -> None:
    home.mkdir()
    (home / "benders.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match="UTF-8"):
        load_records()


def test_a_failed_write_leaves_the_old_file(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    save_records({"a": HALF})

    def fail(*_: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", fail)
    with pytest.raises(InputError, match="No space"):
        save_records({"b": HALF})
    assert list(load_records()) == ["a"]
    assert sorted(os.listdir(home)) == ["benders.toml"]


def test_a_place_on_the_shoe_may_lie_behind_and_a_size_may_not() -> None:
    behind = profile_of("behind", msgspec.structs.replace(HALF, lead="-1/8 in", radius="4 1/8 in"))
    assert behind.arrow_lead_mm == pytest.approx(-25.4 / 8)
    for field in ("radius", "take_up", "hook_reach", "grip"):
        with pytest.raises(InputError) as caught:
            profile_of("odd", msgspec.structs.replace(HALF, **{field: "-1/8 in"}))
        assert caught.value.field == field


@pytest.mark.parametrize("name", ["", " a", "-a", "a\nb", "x" * 41, "ä"])
def test_names_that_cannot_be(name: str) -> None:
    with pytest.raises(InputError, match="name"):
        save_records({name: HALF})


def test_unknown_name_lists_all() -> None:
    save_records({"pump-house-half": HALF})
    with pytest.raises(UnknownName, match="nearest: pump-house-half") as caught:
        by_name("pumphouse-half")
    assert "emt-3/4" in caught.value.expected


def test_where_the_file_is(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv("RACEWRIGHT_HOME")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    monkeypatch.setattr("sys.platform", "linux")
    assert config_folder() == tmp_path / "racewright"
    monkeypatch.setattr("sys.platform", "win32")
    monkeypatch.setenv("APPDATA", str(tmp_path / "roaming"))
    assert config_folder() == tmp_path / "roaming" / "racewright"


def test_an_own_shoe_whose_hook_was_not_measured_takes_the_reach_of_the_taught_shoe_of_its_size() -> None:
    for size in ("1/2", "1-1/4"):
        record = BenderRecord(raceway="EMT", size=size, take_up="11", gain="5 1/2")
        assert profile_of("mine", record).hook_reach_mm == default_bender("EMT", size).hook_reach_mm
    machine = BenderRecord(raceway="EMT", size="2", radius="9", lead="0")
    assert profile_of("machine", machine).hook_reach_mm == 38.1


def test_profiles_kept_by_several_commands_at_once_are_all_kept(tmp_path: Path) -> None:
    """Two windows, two benders measured: neither profile pushes the other out."""
    where = tmp_path / "new" / FILE_NAME

    def keep(who: int) -> None:
        for turn in range(5):
            with changing(where) as records:
                records[f"shoe {who}-{turn}"] = HALF

    people = [threading.Thread(target=keep, args=(n,)) for n in range(6)]
    for one in people:
        one.start()
    for one in people:
        one.join()
    assert len(load_records(where)) == 30


def test_a_change_that_is_refused_leaves_the_profiles_as_they_were(tmp_path: Path) -> None:
    where = save_records({"a": HALF}, tmp_path / FILE_NAME)

    def refused() -> None:
        with changing(where) as records:
            records.clear()
            raise InputError("no good")

    with pytest.raises(InputError, match="no good"):
        refused()
    assert list(load_records(where)) == ["a"]
