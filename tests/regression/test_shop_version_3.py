"""A shop file made before tools were records of the shop (`shop_version_3/README.md`), brought up to date."""

import json
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from racewright.store.job_file import job_to_json
from racewright.store.job_protocol import since
from racewright.store.job_store import JobStore

HERE = Path(__file__).parent / "shop_version_3"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return Path(shutil.copy(HERE / "orchard.rwshop", tmp_path / "orchard.rwshop"))


def test_it_is_kept_beside_and_brought_up_to_date_once(shop: Path) -> None:
    old = shop.read_bytes()
    JobStore.open(shop).close()
    beside = shop.with_name("orchard.rwshop.before-version-4")
    with closing(sqlite3.connect(beside)) as db:
        assert db.execute("PRAGMA user_version").fetchone()[0] == 3
    again = Path(shutil.copy(beside, shop.with_name("again.rwshop")))
    new = shop.read_bytes()
    assert new != old
    with JobStore.open(shop) as store, JobStore.open(again) as other:
        assert since(store, 0).shop == since(other, 0).shop != ""  # one shop, as long as nothing else is said of it
        assert store.jobs() == ("orchard", "shed")
        assert store.tools() == ()
    assert shop.read_bytes() == new


@pytest.mark.parametrize("key", ["orchard", "shed"])
def test_a_job_says_what_it_said(shop: Path, key: str) -> None:
    before = json.loads((HERE / f"{key}-job-2.json").read_text())
    with JobStore.open(shop) as store:
        now = json.loads(job_to_json(store.load(key)))
    now["entries"] = now["entries"][: len(before["entries"])]  # it was planned once more after it was written
    assert now == before
