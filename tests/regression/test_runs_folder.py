"""A folder of runs as the server kept them before it served the shop file (`runs_folder/README.md`), taken in."""

import json
import os
import random
import shutil
import signal
import sys
import time
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

from racewright.cli.main import main
from racewright.records.entry import Status, StatusSet
from racewright.records.model import Job, JobRun
from racewright.store.job_errors import StoreTrouble
from racewright.store.job_protocol import Offered, offer
from racewright.store.job_rows import Rows
from racewright.store.job_store import JobStore
from racewright.store.runs_before import JOB_ID, take_in

HERE = Path(__file__).parent / "runs_folder" / "runs"


def id_of(said: str) -> str:
    return sha256(said.encode()).hexdigest()[:32]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(HERE, tmp_path / "kept" / "runs"))


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return tmp_path / "jobs.rwshop"


def told(shop: Path) -> tuple[Job, list[tuple[str, str, str]]]:
    """The job, and what of it was refused: by whom, of which record, saying what."""
    with JobStore.open(shop) as store:
        (key,) = store.jobs()
        refused = []
        for one in store.refused(key):
            of_run = isinstance(one.value, JobRun)
            said = one.value.survey.run.clearance if of_run else one.value.what.status  # type: ignore[union-attr]
            refused.append((one.by, one.record, str(said)))
        return store.load(key), sorted(refused)


def hold(shop: Path) -> None:
    """All that the folder held is in the shop file, once."""
    job, refused = told(shop)
    assert (job.id, job.head.name) == (id_of("racewright runs folder"), "Shared runs")
    assert job.id == JOB_ID
    runs: dict[str, tuple[str, Status, str]] = {
        "0a1b2c3d4e5f6071": ("Pump house, disconnect to pump 1 starter", "bent", "1/4"),
        "1122334455667788": ("Pump house, service panel to pump 1", "measured", "3/8"),
        "99aabbccddeeff00": ("Pump house, control cabinet to float switch", "in", "1/2"),
        "7fffffffffffffff": ("Pump house, control cabinet to valve actuator", "in", ""),
        "0123456789abcdef": ("Pump house, service panel to lights", "measured", ""),
        "half-measured_1": ("Pump house, lights to door switch", "measured", ""),
    }
    assert len(job.runs) == len(runs)
    mine = {run.id: run for run in job.runs}
    for old, (name, status, clearance) in runs.items():
        run = mine[id_of(f"racewright run {old}")]
        assert (run.name, job.status(run)) == (name, status)
        assert run.survey.run.clearance == clearance or not clearance
        assert run.key == f"R-{run.id[:4].upper()}"
        assert [(e.id, e.what) for e in job.entries_of(run)] == (
            [] if status == "measured" else [(id_of(f"racewright status {old}"), StatusSet(status=status))]
        )
    waited = id_of("racewright run 1122334455667788")
    assert refused == sorted(
        [
            ("phone 9c8d", waited, "1/2"),
            ("phone 9c8d", waited, "5/8"),
            ("phone 9c8d", id_of("racewright status 1122334455667788"), "in"),
            ("phone 9c8d", id_of("racewright run 0123456789abcdef"), "1/2"),
        ]
    )
    with JobStore.open(shop) as store:
        (key,) = store.jobs()
        for run in job.runs:
            assert len(store.history(run.id)) == 1, run.key  # a killed start may lose numbers
        kept = store.run(key, mine[id_of("racewright run 1122334455667788")].id)
        assert kept.by == "phone 1a2b"


def test_all_of_it_is_taken_in_once_and_what_cannot_be_is_told(folder: Path, shop: Path) -> None:
    files = {p.relative_to(folder): p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    taken = take_in(shop, folder)
    assert taken is not None
    hold(shop)
    assert taken.runs == len(told(shop)[0].runs)
    assert not folder.exists()
    aside = folder.with_name("runs.taken-in")
    assert taken.aside == str(aside)
    assert {p.relative_to(aside): p.read_bytes() for p in aside.rglob("*") if p.is_file()} == files
    assert list(taken.troubles) == [
        "run 0000000000000001: none of its 1 revisions can be read.",
        "run 0123456789abcdef: 1 of the versions that wait cannot be read.",
        "run 7fffffffffffffff: revision 3 is torn, so revision 2 was taken.",
        "run fedcba9876543210: cannot be taken: survey: expected fields below it, each written as name: value.",
    ]
    assert take_in(shop, folder) is None
    assert Path(f"{shop}.backup-1").exists()


def test_taken_in_again_nothing_is_doubled_and_what_changed_since_stands(folder: Path, shop: Path) -> None:
    """Also where the first time was broken off, and somebody worked on in the shop file."""
    again = Path(shutil.copytree(folder, folder.with_name("again")))
    take_in(shop, folder)
    before = shop.read_bytes()
    later = Path(shutil.copytree(again, folder))
    taken = take_in(shop, later)
    assert taken is not None
    assert taken.aside.endswith("runs.taken-in-2")
    assert shop.read_bytes() == before
    run = id_of("racewright run 0a1b2c3d4e5f6071")
    with JobStore.open(shop) as store:
        (key,) = store.jobs()
        store.remove_run(key, run, 1, by="Kim")
    assert take_in(shop, again) is not None
    assert run not in {one.id for one in told(shop)[0].runs}


def test_an_older_server_that_went_on_saving_is_told_and_loses_nothing(folder: Path, shop: Path) -> None:
    again = Path(shutil.copytree(folder, folder.with_name("again")))
    take_in(shop, folder)
    place = again / "99aabbccddeeff00"
    newest = json.loads((place / "r0000003.json").read_bytes())
    newest["data"]["survey"]["run"]["clearance"] = "7/8"
    (place / "r0000004.json").write_text(json.dumps(newest))
    taken = take_in(shop, again)
    assert taken is not None
    assert any("another version of it is in the shop file" in line for line in taken.troubles)
    assert ("phone 9c8d", id_of("racewright run 99aabbccddeeff00"), "7/8") in told(shop)[1]


def test_a_page_that_has_the_same_runs_says_the_same(folder: Path, shop: Path) -> None:
    """Offered by a page as it makes records of what it kept: one record, no conflict."""
    take_in(shop, folder)
    old = json.loads((HERE / "0a1b2c3d4e5f6071" / "r0000003.json").read_bytes())["data"]
    run = id_of("racewright run 0a1b2c3d4e5f6071")
    data = {"id": run, "key": f"R-{run[:4].upper()}", "survey": old["survey"]}
    with JobStore.open(shop) as store:
        (head, answer) = offer(
            store,
            JOB_ID,
            [
                Offered(kind="job", id=JOB_ID, data={"name": "Shared runs"}),
                Offered(kind="run", id=run, data=data),
            ],
            by="phone 9c8d",
        )
    assert [(one.outcome, one.revision, one.stands) for one in (head, answer)] == [("saved", 1, None)] * 2


class Killed(BaseException):
    """As if the process ended here."""


STEPS: list[tuple[Any, str]] = [
    (Rows, "write_change"),
    (Rows, "write_refused"),
    (Rows, "add_job"),
    (JobStore, "backup"),
    (Path, "rename"),
    (os, "link"),
]


@pytest.mark.parametrize(("owner", "name"), STEPS, ids=[name for _, name in STEPS])
@pytest.mark.parametrize("after", [False, True])
def test_broken_off_at_any_step_the_next_start_goes_on(
    folder: Path, shop: Path, monkeypatch: pytest.MonkeyPatch, owner: Any, name: str, after: bool
) -> None:
    real: Callable[..., Any] = getattr(owner, name)
    broken = 0
    for passes in range(12):
        calls = 0

        def dies(*args: Any, passes: int = passes, **more: Any) -> Any:
            nonlocal calls
            calls += 1
            done = real(*args, **more) if after or calls <= passes else None
            if calls > passes:
                raise Killed
            return done

        with monkeypatch.context() as patch:
            patch.setattr(owner, name, dies)
            try:
                take_in(shop, folder)
                break
            except Killed:
                broken += 1
    assert broken
    take_in(shop, folder)
    hold(shop)
    assert not folder.exists()


@pytest.mark.skipif(sys.platform == "win32", reason="needs fork and SIGKILL")
def test_killed_at_any_moment_the_next_start_goes_on(folder: Path, shop: Path) -> None:
    rng = random.Random(8)
    kills = 0
    for number in range(14):
        here = folder.with_name(f"turn-{number}")
        shutil.copytree(folder, here)
        file = shop.with_name(f"{number}.rwshop")
        for _ in range(3):
            process = os.fork()
            if process == 0:
                take_in(file, here)
                os._exit(0)
            time.sleep(rng.random() * 0.02)
            os.kill(process, signal.SIGKILL)
            kills += os.WIFSIGNALED(os.waitpid(process, 0)[1])
        take_in(file, here)
        hold(file)
        assert not here.exists()
    assert kills > 14


@pytest.fixture
def no_server(monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """`racewright serve` up to where it would listen; which shop file it serves."""
    from racewright.web import runner

    served: list[Path] = []

    def serve(_: int, *, shop: Path, **__: Any) -> int:
        served.append(shop)
        return 0

    monkeypatch.setattr(runner, "serve", serve)
    return served


def test_serve_takes_the_folder_in_and_says_so(
    folder: Path, shop: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], no_server: list[Path]
) -> None:
    monkeypatch.setenv("RACEWRIGHT_HOME", str(folder.parent))
    monkeypatch.setenv("RACEWRIGHT_SHOP", str(shop))
    assert main(["serve"]) == 0
    assert no_server == [shop]
    said = capsys.readouterr().out
    assert f"shared runs are in {shop} as job Shared-runs" in said
    assert "revision 3 is torn, so revision 2 was taken" in said
    assert str(folder.with_name("runs.taken-in")) in said
    hold(shop)
    assert main(["serve"]) == 0
    assert capsys.readouterr().out == f"shop file: {shop} (1 job)\n"


def test_a_shop_that_cannot_be_written_leaves_the_folder_and_serves(
    folder: Path, shop: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], no_server: list[Path]
) -> None:
    shop.mkdir()
    monkeypatch.setenv("RACEWRIGHT_HOME", str(folder.parent))
    assert main(["serve", "--shop", str(shop)]) == 0
    said = capsys.readouterr().err
    assert "stay there for now" in said
    assert "nothing can be kept here for now" in said
    assert folder.exists()
    with pytest.raises(StoreTrouble):
        take_in(shop, folder)


def test_job_import_takes_such_a_folder_too(folder: Path, shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["job", "import", "--shop", str(shop), str(folder)]) == 0
    assert "shared runs are in" in capsys.readouterr().out
    hold(shop)
    before = sorted(shop.parent.rglob("*"))
    assert main(["job", "import", "--shop", str(shop), str(shop.parent)]) == 2
    assert "is a folder without shared runs" in capsys.readouterr().err
    assert sorted(shop.parent.rglob("*")) == before
