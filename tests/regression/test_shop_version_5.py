"""A shop file made before only a device's offers counted against its room (`shop_version_5/README.md`), brought up to
date: all that it holds stands, and devices begin with all their room."""

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

from racewright.store.job_protocol import since
from racewright.store.job_store import JobStore

HERE = Path(__file__).parent / "shop_version_5"
TABLES = ("job", "change", "revision", "refused")


def rows(path: Path) -> list[object]:
    with closing(sqlite3.connect(path)) as db:
        return [db.execute(f"SELECT * FROM {table} ORDER BY id").fetchall() for table in TABLES]


def test_it_is_kept_beside_and_all_that_it_holds_stands(tmp_path: Path) -> None:
    shop = Path(shutil.copy(HERE / "orchard.rwshop", tmp_path / "orchard.rwshop"))
    before = rows(shop)
    with JobStore.open(shop) as store:
        store.check()
        assert store.rows.device("phone 1") == {}
        kinds = [one.kind for one in since(store, 0).records]
        assert kinds[:6] == ["job", "run", "entry", "entry", "entry", "tool"]
        assert set(kinds[6:]) == {"prices", "person"}, "that its job held"
        assert len(store.refused("orchard")) == 1
    assert rows(tmp_path / "orchard.rwshop.before-version-9") == before
