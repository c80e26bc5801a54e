"""Every file that is written: whole or not at all, with the rights it should have, where its name leads."""

import os
import stat
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from racewright.cli.main import main
from racewright.errors import InputError
from racewright.exports.output_file import write_whole

EXAMPLES = Path(__file__).parents[2] / "examples"
SADDLE = str(EXAMPLES / "pump-house-saddle.yaml")
pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="modes, links and devices are POSIX's")

WRITERS = {
    "card.pdf": ["plan", SADDLE, "--pdf"],
    "card.svg": ["plan", SADDLE, "--svg"],
    "strip.svg": ["plan", SADDLE, "--strip"],
    "run.dxf": ["export", SADDLE, "--dxf"],
    "run.glb": ["export", SADDLE, "--gltf"],
    "bill.csv": ["job", "bill", "--shop", "shop.rwshop", "--out"],
    "cuts.xlsx": ["job", "cut", "--shop", "shop.rwshop", "--out"],
    "job.json": ["job", "export", "--shop", "shop.rwshop"],
    "copy.rwshop": ["job", "backup", "--shop", "shop.rwshop"],
    "pack.pdf": ["job", "pack", "--shop", "shop.rwshop"],
}


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("RACEWRIGHT_HOME", str(tmp_path / "home"))
    assert main(["job", "new", "orchard", "--name", "Orchard cooperative", "--shop", "shop.rwshop"]) == 0
    assert main(["job", "add", SADDLE, "--shop", "shop.rwshop"]) == 0
    return tmp_path


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


@pytest.fixture
def umask() -> Iterator[Callable[..., Any]]:
    old = os.umask(0o022)
    yield os.umask
    os.umask(old)


@pytest.mark.parametrize("name", WRITERS)
def test_every_writer_keeps_the_rights_and_the_link(here: Path, umask: Callable[..., Any], name: str) -> None:
    """What a private folder of a shared machine needs: nobody else reads a card, and a link stays a link."""
    umask(0o077)
    first, second = here / f"first-{name}", here / f"second-{name}"
    assert main([*WRITERS[name], str(first)]) == 0
    assert mode(first) == (mode(here / "shop.rwshop") if name == "copy.rwshop" else 0o600)
    umask(0o022)
    second.write_bytes(b"what stood there")
    second.chmod(0o640)
    link = here / f"link-{name}"
    link.symlink_to(second.name)
    assert main([*WRITERS[name], str(link)]) == 0
    assert link.is_symlink()
    assert mode(second) == 0o640
    assert len(second.read_bytes()) > 100
    assert not list(here.glob(".racewright-*"))


@pytest.mark.parametrize("mask", [0o022, 0o077, 0o002, 0o027])
def test_a_new_file_has_the_mode_that_the_umask_leaves(tmp_path: Path, umask: Callable[..., Any], mask: int) -> None:
    umask(mask)
    write_whole(tmp_path / "ours", b"x")
    with open(tmp_path / "theirs", "wb"):
        pass
    assert mode(tmp_path / "ours") == mode(tmp_path / "theirs")


def test_a_link_that_leads_to_nothing_yet_is_filled_where_it_leads(tmp_path: Path) -> None:
    (tmp_path / "drawings").mkdir()
    link = tmp_path / "card.pdf"
    link.symlink_to("drawings/card.pdf")
    write_whole(link, b"card")
    assert link.is_symlink()
    assert (tmp_path / "drawings" / "card.pdf").read_bytes() == b"card"
    ring = tmp_path / "ring"
    ring.symlink_to("ring")
    with pytest.raises(InputError, match="cannot be written"):
        write_whole(ring, b"x")
    assert ring.is_symlink()


def test_a_folder_a_read_only_file_and_a_full_disk_are_named_and_nothing_is_left(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    locked = here / "locked.svg"
    locked.write_bytes(b"signed off")
    locked.chmod(0o444)
    for out, said in (("folder.svg", "it is a folder"), ("none/card.svg", "No such file"), ("/dev/full", "No space")):
        if out == "folder.svg":
            (here / out).mkdir()
        before = sorted(p.name for p in here.iterdir())
        capsys.readouterr()
        assert main(["plan", SADDLE, "--svg", out]) == 2
        err = capsys.readouterr().err
        assert f"{out}: cannot be written: {said}" in err
        assert "hint:" in err
        assert sorted(p.name for p in here.iterdir()) == before
    assert stat.S_ISCHR(Path("/dev/full").stat().st_mode)
    if os.getuid():  # root may write over anything
        assert main(["plan", SADDLE, "--svg", str(locked)]) == 2
        assert locked.read_bytes() == b"signed off"


def test_devices_and_pipes_are_written_to_and_stay(tmp_path: Path) -> None:
    write_whole(Path("/dev/null"), b"x")
    assert stat.S_ISCHR(Path("/dev/null").stat().st_mode)
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    got: list[bytes] = []
    reader = threading.Thread(target=lambda: got.append(pipe.read_bytes()))
    reader.start()
    write_whole(pipe, b"card" * 50_000)
    reader.join(10)
    assert got == [b"card" * 50_000]
    assert stat.S_ISFIFO(pipe.stat().st_mode)


@pytest.mark.parametrize("into", ["file", "pipe"])
def test_standard_output_gets_the_drawing_behind_what_is_printed(tmp_path: Path, into: str) -> None:
    line = [sys.executable, "-m", "racewright.cli.main", "plan", SADDLE, "--svg", "/dev/stdout"]
    if into == "pipe":
        out = subprocess.run(line, capture_output=True, check=True).stdout
    else:
        with open(tmp_path / "out", "wb") as file:
            file.write(b"before\n")
            file.flush()
            subprocess.run(line, stdout=file, stderr=subprocess.DEVNULL, check=True)
        out = (tmp_path / "out").read_bytes()
        assert out.startswith(b"before\n")
    assert out.count(b"<svg") == 1
    assert out.rstrip().endswith(b"</svg>")
    assert out.index(b"MARK IT") < out.index(b"<svg")


def test_a_disk_that_fills_up_leaves_what_stood_there(tmp_path: Path) -> None:
    """The system's limit on a file's size stands for the full disk: the first bytes fit, the rest do not."""
    target = tmp_path / "pack.pdf"
    target.write_bytes(b"yesterday's")
    child = os.fork()
    if child == 0:
        import resource
        import signal

        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))
        try:
            write_whole(target, b"n" * 50_000)
        except InputError:
            os._exit(7)
        os._exit(0)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 7
    assert target.read_bytes() == b"yesterday's"
    assert os.listdir(tmp_path) == ["pack.pdf"]


def test_a_card_printed_into_a_full_disk_is_an_error_and_no_traceback() -> None:
    with open("/dev/full", "wb") as full:
        line = [sys.executable, "-m", "racewright.cli.main", "plan", SADDLE]
        done = subprocess.run(line, stdout=full, stderr=subprocess.PIPE, check=False, text=True)
    assert done.returncode == 2
    assert "cannot be written: No space left on device" in done.stderr
    assert "hint:" in done.stderr
    assert "Traceback" not in done.stderr
    assert "Exception ignored" not in done.stderr


READ_AND_WRITTEN = {
    "survey as card": ["plan", "run.pdf", "--pdf", "run.pdf"],
    "survey as card, through a link": ["plan", "run.pdf", "--svg", "link.svg"],
    "survey as strip": ["plan", "run.pdf", "--strip", "sub/../run.pdf"],
    "survey as drawing": ["export", "run.glb", "--gltf", "run.glb"],
    "shop as bill": ["job", "bill", "--shop", "shop.csv", "--out", "shop.csv"],
    "shop as cut list, hard link": ["job", "cut", "--shop", "shop.csv", "--out", "twin.csv"],
    "shop as job file": ["job", "export", "shop.json", "--shop", "shop.json"],
    "shop as pack": ["job", "pack", "shop.pdf", "--shop", "shop.pdf"],
    "shop as model": ["job", "models", "--gltf", "shop.glb", "--shop", "shop.glb"],
    "card and strip": ["plan", "survey.yaml", "--pdf", "new.pdf", "--strip", "./new.pdf"],
}


@pytest.mark.parametrize("words", READ_AND_WRITTEN.values(), ids=READ_AND_WRITTEN)
def test_no_command_writes_over_what_it_reads_or_writes(
    here: Path, words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    (here / "sub").mkdir()
    for name in ("run.pdf", "run.glb", "survey.yaml"):
        (here / name).write_bytes(Path(SADDLE).read_bytes())
    (here / "link.svg").symlink_to("run.pdf")
    for name in ("shop.csv", "shop.json", "shop.pdf", "shop.glb"):
        (here / name).write_bytes((here / "shop.rwshop").read_bytes())
    os.link(here / "shop.csv", here / "twin.csv")
    before = {path.name: path.read_bytes() for path in here.iterdir() if path.is_file()}
    assert main(words) == 2
    said = capsys.readouterr().err
    assert "is read by this command, and would be lost" in said or "would be written twice" in said
    assert {path.name: path.read_bytes() for path in here.iterdir() if path.is_file()} == before


def test_a_shop_named_by_the_environment_is_not_written_over(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (here / "shop.rwshop").rename(here / "shop.csv")
    monkeypatch.setenv("RACEWRIGHT_SHOP", "shop.csv")
    assert main(["job", "bill", "--out", "shop.csv"]) == 2
    assert "would be lost" in capsys.readouterr().err
