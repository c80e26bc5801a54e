"""A shop file made when jobs held their prices and people in their heads (`shop_version_6/README.md`), brought up to
date: they are records of the shop, nothing that was ever said is lost, and no bill has moved."""

import json
import shutil
from pathlib import Path
from typing import Any

import msgspec
import pytest

from racewright.cli.main import main
from racewright.records.model import JobHead
from racewright.records.person import Person, accuracy_of
from racewright.records.prices import PriceList, list_id
from racewright.store.job_file import load_job
from racewright.store.job_protocol import since
from racewright.store.job_store import JobStore

HERE = Path(__file__).parent / "shop_version_6"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return Path(shutil.copy(HERE / "orchard.rwshop", tmp_path / "orchard.rwshop"))


def test_two_copies_that_are_brought_up_to_date_apart_agree(shop: Path) -> None:
    again = Path(shutil.copy(shop, shop.with_name("again.rwshop")))
    with JobStore.open(shop) as store, JobStore.open(again) as other:
        assert shop.with_name("orchard.rwshop.before-version-9").exists()
        store.check()
        assert since(store, 0).records == since(other, 0).records  # the mark is sealed by each
        assert [one.kind for one in since(store, 0).records].count("prices") == 2


@pytest.mark.parametrize("beside", [True, False])
def test_a_backup_of_this_version_gives_no_number_again_or_says_so(
    shop: Path, beside: bool, capsys: pytest.CaptureFixture[str]
) -> None:
    """Which numbers were given stands beside the file; by its seals the shop cannot know, for the backup has none."""
    shutil.copy(shop, shop.with_name("orchard.rwshop.backup-1"))

    def save(note: str) -> int:
        with JobStore.open(shop) as store:
            kept = store.runs("orchard")[0]
            return store.save_run("orchard", msgspec.structs.replace(kept.value, note=note), kept.revision)

    lost = save("lost")
    with JobStore.open(shop) as store:
        heard = since(store, 0)
    shop.write_bytes(shop.read_bytes()[:9000])
    if not beside:
        shop.with_name("orchard.rwshop.numbers").unlink()
    assert main(["job", "recover", "--shop", str(shop)]) == 0
    assert ("may be given again" in capsys.readouterr().out) == (not beside)
    with JobStore.open(shop) as store:
        assert since(store, heard.last, mark=heard.mark).anew
    assert (save("after that") > lost) == beside


def test_each_list_that_a_job_had_is_a_revision_of_its_own(shop: Path) -> None:
    with JobStore.open(shop) as store:
        orchard, shed, workshop = (store.load(key) for key in store.jobs())
        lists = [one.value for one in reversed(store.history(list_id(orchard.id)))]
        refused = [store._refused(row).value for row in store.rows.refused(store.rows.begin_shop())]
        heads = [one.value for one in store.history(orchard.id)]
    assert [one.labour_rate for one in lists if isinstance(one, PriceList)] == ["48", "52"]
    assert orchard.prices.labour_rate == "52"
    assert shed.prices.currency == "EUR"
    assert workshop.prices.items == ()
    assert [one.labour_rate for one in refused if isinstance(one, PriceList)] == ["60"]
    assert [one.note for one in heads if isinstance(one, JobHead)] == ["by the road", "", ""]


def test_a_person_is_one_whichever_job_said_it_and_plain_numbers_keep_their_unit(shop: Path) -> None:
    with JobStore.open(shop) as store:
        kim, sam = store.people()
        first = store.history(kim.value.id)[-1].value
    assert isinstance(first, Person)
    assert (kim.value.name, kim.revision, first.name, sam.value.mark) == ("KIM", 2, "Kim", "1/8")
    assert accuracy_of(kim.value).mark_mm == pytest.approx(1.0)
    assert accuracy_of(sam.value).mark_mm == pytest.approx(25.4 / 8)


@pytest.mark.parametrize("key", ["orchard", "shed"])
def test_no_bill_has_moved(shop: Path, key: str, capsys: pytest.CaptureFixture[str]) -> None:
    told = json.loads((HERE / f"{key}-bill.json").read_text())["bill"]
    assert main(["job", "bill", "--json", "--job", key, "--shop", str(shop)]) == 0
    _hold(json.loads(capsys.readouterr().out)["bill"], told)
    again = str(shop.with_name("again.rwshop"))
    assert main(["job", "import", str(HERE / f"{key}-job-3.json"), "--key", "other", "--shop", again]) == 0
    capsys.readouterr()
    assert main(["job", "bill", "--json", "--shop", again]) == 0
    _hold(json.loads(capsys.readouterr().out)["bill"], told)


def _hold(bill: dict[str, Any], told: dict[str, Any]) -> None:
    """The same sums from the same sticks. Lengths of runs on another tape than the job's are rounded up since, by less
    than 1 mm."""
    assert {name: bill[name] for name in bill if name != "cuts"} == {
        name: told[name] for name in told if name != "cuts"
    }
    now, was = bill["cuts"], told["cuts"]
    assert [one["plan"]["new_sticks"] for one in now] == [one["plan"]["new_sticks"] for one in was]
    lengths, before = _lengths(now), _lengths(was)
    assert lengths.keys() == before.keys()
    assert all(0.0 <= lengths[label] - before[label] < 1.0 for label in before)


def _lengths(cuts: list[dict[str, Any]]) -> dict[str, float]:
    return {p["label"]: p["length_mm"] for one in cuts for stick in one["plan"]["sticks"] for p in stick["pieces"]}


def test_the_job_files_say_the_same(shop: Path) -> None:
    with JobStore.open(shop) as store:
        for key in ("orchard", "shed"):
            old, now = load_job(HERE / f"{key}-job-3.json"), store.load(key)
            assert (old.head, old.prices) == (now.head, now.prices)
            assert {one.name.casefold() for one in old.people} <= {one.name.casefold() for one in now.people}
            assert msgspec.json.decode(msgspec.json.encode(now), type=type(now)) == now


def test_the_file_says_of_whom_the_jobs_said_several_things(shop: Path) -> None:
    with JobStore.open(shop) as store:
        (what,) = [change.what for change in store.rows.changes(store.rows.begin_shop())]
    assert what == "prices and people that the jobs held; jobs said several figures of KIM, of which the last count"


def test_undoing_a_change_of_prices_from_before_says_that_they_stay(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stay = "nothing is another by it: the prices, people or tools"
    with JobStore.open(shop) as store:
        was = store.load("orchard").prices
        whats = [change.what for change in store.changes("orchard")]
    said = []
    for _ in whats[:-1]:
        capsys.readouterr()
        if main(["job", "undo", "--anyone", "--job", "orchard", "--shop", str(shop)]) != 0:
            break
        said.append(capsys.readouterr().out)
    assert any(stay in one for one in said)
    assert not all(stay in one for one in said), "a change of the job itself is taken back as ever"
    with JobStore.open(shop) as store:
        assert store.load("orchard").prices == was
