"""Tools in shop files: kept, forgotten, looked up by name; and the file that they stood in before, taken in once."""

import os
import threading
from pathlib import Path
from typing import Any

import msgspec
import pytest

from racewright.errors import InputError, UnknownName
from racewright.operations.common import Known
from racewright.operations.which_tool import finder
from racewright.records.model import JobHead
from racewright.records.tool import Tool
from racewright.store.job_errors import StoreTrouble
from racewright.store.job_protocol import Offered, offer, since
from racewright.store.job_store import JobStore
from racewright.store.places import config_folder, own_shop, tools_file
from racewright.store.shop_tools import ToolShelf, forget_tool, keep_tool, read_tools
from racewright.tools.benders import BenderProfile, default_bender
from racewright.tools.written import BenderRecord, profile_of, record_of

HALF = BenderRecord(raceway="EMT", size="1/2", take_up="5 in", gain="2 5/8 in")
WIDE = BenderRecord(raceway="EMT", size="1/2", take_up="5 1/8 in", gain="2 3/4 in")


def by_name(name: str) -> BenderProfile:
    """As every question looks a bender up."""
    return finder(None, Known(benders=ToolShelf(own_shop())))(name)


def keep_own(name: str, record: BenderRecord, *, replace: bool = True) -> None:
    own_shop().parent.mkdir(parents=True, exist_ok=True)
    with JobStore.open(own_shop(), create=True) as store:
        keep_tool(store, name, record, replace=replace, by="Kim")


@pytest.fixture(autouse=True)
def home(empty_folder: Path) -> Path:
    return empty_folder / "home"


def test_no_file_is_no_tool_and_looking_makes_none(home: Path) -> None:
    assert dict(ToolShelf(own_shop(), tools_file(None))) == {}
    assert by_name("EMT-1/2") == default_bender("EMT", "1/2")
    assert not home.exists()


def test_what_was_written_is_kept_with_its_revisions(home: Path) -> None:
    odd = BenderRecord(
        raceway="RMC", size="MD 16", radius="138 mm", lead="4 mm", springback_b0_deg=1.5, springback_b1=0.02
    )
    keep_own("pump-house-half", HALF)
    keep_own("odd one/2", odd)
    keep_own("PUMP-house-half", WIDE)
    assert {tool.name: tool.profile for tool in read_tools(own_shop())} == {"PUMP-house-half": WIDE, "odd one/2": odd}
    assert dict(ToolShelf(own_shop()))["odd one/2"].trade_size == "1/2"
    with JobStore.open(own_shop()) as store:
        (tool, _) = (kept.value for kept in store.tools())
        assert [(r.number, r.by, r.what) for r in store.history(tool.id)] == [
            (2, "Kim", "tool PUMP-house-half"),
            (1, "Kim", "tool pump-house-half"),
        ]
        assert store.jobs() == ()
        with pytest.raises(InputError, match="There is a profile 'PUMP-house-half' already"):
            keep_tool(store, "pump-house-half", HALF, replace=False, by="Kim")
        assert forget_tool(store, "pump-HOUSE-half", by="Sam") == "PUMP-house-half"
        with pytest.raises(UnknownName, match="own profiles: odd one/2"):
            forget_tool(store, "pump-house-half", by="Sam")
        store.check()


def test_figures_that_no_tool_can_have_and_names_that_cannot_be_are_not_kept() -> None:
    with pytest.raises(InputError, match="cannot belong to one shoe"):
        keep_own("slip", msgspec.structs.replace(HALF, take_up="40 in"))
    for name in ("", " a", "-a", "a\nb", "x" * 41, "ä"):
        with pytest.raises(InputError, match="name"):
            keep_own(name, HALF)
    assert read_tools(own_shop()) == ()


def test_tools_are_kept_in_the_shop_file_at_hand_else_in_ones_own(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert tools_file(None) == own_shop() == home / "own.rwshop"
    assert tools_file("shed.rwshop") == Path("shed.rwshop")
    with JobStore.open("jobs.rwshop", create=True) as store:
        keep_tool(store, "half", WIDE, replace=False, by="Kim")
    assert tools_file(None) == Path("jobs.rwshop")
    monkeypatch.setenv("RACEWRIGHT_SHOP", "other.rwshop")
    assert tools_file(None) == Path("other.rwshop")
    keep_own("Half", HALF)
    keep_own("mine", HALF)
    shelf = ToolShelf(Path("jobs.rwshop"), own_shop())
    assert {name: shelf.record(name) for name in shelf} == {"half": WIDE, "mine": HALF}  # the shop's goes first
    assert shelf.record("HALF") == WIDE
    assert shelf.record("nobody's") is None


def test_tools_of_one_name_are_told_apart_by_their_ids() -> None:
    """Two phones each keep a 'half'; the shop has both."""
    ids = ["1" * 32, "abcd" + "2" * 28, "abcd" + "3" * 28]
    with JobStore.open("jobs.rwshop", create=True) as store:
        tools = [Tool(id=one, name=name, profile=HALF) for one, name in zip(ids, ("half", "Half", "HALF"), strict=True)]
        store.create_job("orchard", JobHead(name="Orchard"))
        offered = [Offered(kind="tool", id=tool.id, data=msgspec.to_builtins(tool)) for tool in tools]
        assert {a.outcome for a in offer(store, since(store, 0).shop, offered, by="phone")} == {"saved"}
        assert list(ToolShelf(Path("jobs.rwshop"))) == ["half", "Half abcd", "HALF abcd3"]
        keep_tool(store, "half abcd", WIDE, replace=True, by="Kim")
        assert [(kept.value.id, kept.value.name, kept.revision) for kept in store.tools()] == [
            (ids[0], "half", 1),
            (ids[1], "Half", 2),
            (ids[2], "HALF", 1),
        ]
        assert forget_tool(store, "HALF ABCD3", by="Kim") == "HALF"
    shelf = ToolShelf(Path("jobs.rwshop"))
    assert [shelf.record(name) for name in ("half", "half abcd")] == [HALF, WIDE]
    assert shelf["Half abcd"].take_up_mm == pytest.approx(5.125 * 25.4)


def test_a_tool_is_found_without_looking_at_the_whole_file(tmp_path: Path) -> None:
    """A plan asks for one tool: a damaged run elsewhere in the file is for who reads that."""
    with JobStore.open("jobs.rwshop", create=True) as store:
        keep_tool(store, "half", HALF, replace=False, by="Kim")
        store.rows.db.execute("UPDATE change SET what = 'else'")
    assert ToolShelf(Path("jobs.rwshop")).record("half") == HALF
    with pytest.raises(StoreTrouble):
        JobStore.open("jobs.rwshop")


def test_tools_kept_by_several_commands_at_once_are_all_kept() -> None:
    """Two windows, two benders measured: neither pushes the other out."""

    def keep(who: int) -> None:
        for turn in range(5):
            keep_own(f"shoe {who}-{turn}", HALF)

    people = [threading.Thread(target=keep, args=(n,)) for n in range(4)]
    for one in people:
        one.start()
    for one in people:
        one.join()
    assert len(read_tools(own_shop())) == 20


OLD = """# ours
[benders."pump-house-half"]
raceway = "EMT"
size = "1/2"
take_up = "5 in"
gain = "2 5/8 in"

[benders.other]
raceway = "EMT"
size = "1/2"
take_up = "5 1/8 in"
gain = "2 3/4 in"
"""


def test_the_file_of_before_is_taken_in_once_and_set_aside(home: Path) -> None:
    home.mkdir()
    (home / "benders.toml").write_text(OLD, encoding="utf-8")
    first = read_tools(own_shop())
    assert {tool.name: tool.profile for tool in first} == {"pump-house-half": HALF, "other": WIDE}
    assert sorted(os.listdir(home)) == [
        "benders.toml.taken-in",
        "own.rwshop",
        "own.rwshop-journal",
        "own.rwshop.numbers",
    ]
    assert (home / "benders.toml.taken-in").read_text(encoding="utf-8") == OLD
    keep_own("other", HALF)
    assert {tool.name: tool.profile for tool in read_tools(own_shop())} == {"pump-house-half": HALF, "other": HALF}
    # one that is put there by hand later is taken in as well, what it says anew as the next revision
    (home / "benders.toml").write_text(OLD, encoding="utf-8")
    assert {tool.name: tool.profile for tool in read_tools(own_shop())} == {"pump-house-half": HALF, "other": WIDE}
    with JobStore.open(own_shop()) as store:
        assert [kept.revision for kept in store.tools()] == [1, 3]
        assert {kept.value.id for kept in store.tools()} == {tool.id for tool in first}
        store.check()


@pytest.mark.parametrize("names", [("blue", "Blue"), ("Blue", "blue")])
def test_tools_of_one_name_in_other_letters_are_taken_in_each_for_itself(home: Path, names: tuple[str, str]) -> None:
    keep_own("blue", HALF)
    new = {"blue": WIDE, "Blue": HALF}
    profile = 'raceway = "EMT"\nsize = "1/2"\ntake_up = "{0.take_up}"\ngain = "{0.gain}"\n'
    text = "".join(f'[benders."{name}"]\n{profile.format(new[name])}' for name in names)
    for revision in (2, 2):  # what it says again is no news
        (home / "benders.toml").write_text(text, encoding="utf-8")
        shelf = ToolShelf(own_shop())
        assert shelf.record("blue") == WIDE
        assert not (home / "benders.toml").exists()
        with JobStore.open(own_shop()) as store:
            kept = [(one.value.name, one.revision, one.value.profile) for one in store.tools()]
            assert kept == [("blue", revision, WIDE), ("Blue", 1, HALF)]
            store.check()
    with JobStore.open(own_shop()) as store:
        (called,) = set(shelf) - {"blue"}
        assert forget_tool(store, called, by="Kim") == "Blue"


@pytest.mark.parametrize("step", ["write_change", "begin_shop"])
def test_killed_while_it_is_taken_in_nothing_is_lost_or_doubled(
    home: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    home.mkdir()
    (home / "benders.toml").write_text(OLD, encoding="utf-8")

    def die(*_: Any, **__: Any) -> Any:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(f"racewright.store.job_rows.Rows.{step}", die)
        with pytest.raises(KeyboardInterrupt):
            read_tools(own_shop())
    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", die)
        with pytest.raises(KeyboardInterrupt):
            read_tools(own_shop())
    assert (home / "benders.toml").exists()
    assert [tool.name for tool in read_tools(own_shop())] == ["pump-house-half", "other"]
    with JobStore.open(own_shop()) as store:
        assert [kept.revision for kept in store.tools()] == [1, 1]


def test_where_nothing_can_be_written_the_file_of_before_serves(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    home.mkdir()
    (home / "benders.toml").write_text(OLD, encoding="utf-8")

    def full(*_: Any, **__: Any) -> Any:
        raise OSError(30, "Read-only file system")

    monkeypatch.setattr("racewright.store.job_store.create_file", full)
    assert by_name("pump-house-half").take_up_mm == pytest.approx(127.0)
    assert sorted(os.listdir(home)) == ["benders.toml"]


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
        dict(ToolShelf(own_shop()))
    assert (caught.value.field, caught.value.line) == (field, line)
    assert caught.value.hint


def test_a_file_that_is_no_text(home: Path) -> None:
    home.mkdir()
    (home / "benders.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match="UTF-8"):
        read_tools(own_shop())


def test_own_profile_goes_before_the_hand_shoe() -> None:
    keep_own("EMT-1/2", BenderRecord(raceway="EMT", size="1/2", take_up="5 1/8", gain="2 3/4"))
    assert by_name("emt-1/2").take_up_mm == pytest.approx(5.125 * 25.4)


def test_pvc_by_radius_alone() -> None:
    profile = profile_of("bent", BenderRecord(raceway="PVC-40", size="1", radius="6 in"))
    assert (profile.arrow_lead_mm, profile.hook_reach_mm, profile.grip_mm) == (0.0, 0.0, 0.0)


def test_a_calibrated_profile_comes_back() -> None:
    profile = default_bender("EMT", "3/4")
    again = profile_of(profile.name, record_of(profile))
    for field in ("radius_mm", "arrow_lead_mm", "star_mm", "centre_mm", "take_up_mm", "gain_mm"):
        assert getattr(again, field) == pytest.approx(getattr(profile, field), abs=2e-6)  # written to 1e-6 mm


def test_a_place_on_the_shoe_may_lie_behind_and_a_size_may_not() -> None:
    behind = profile_of("behind", msgspec.structs.replace(HALF, lead="-1/8 in", radius="4 1/8 in"))
    assert behind.arrow_lead_mm == pytest.approx(-25.4 / 8)
    for field in ("radius", "take_up", "hook_reach", "grip"):
        with pytest.raises(InputError) as caught:
            profile_of("odd", msgspec.structs.replace(HALF, **{field: "-1/8 in"}))
        assert caught.value.field == field


def test_unknown_name_lists_all() -> None:
    keep_own("pump-house-half", HALF)
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
