"""Every command that README.md and docs/ show is run, in the page's order, in a folder that has `examples` alone."""

import os
import re
import shlex
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import do
import pytest
from shown_commands import NOT_RUN, PAGES, ROOT, Shown, other_blocks, saved, shown, spans

from racewright.cli.main import COMMANDS, main

pytestmark = pytest.mark.usefixtures("plans_once")
SHOWING = [page for page in PAGES if any(not c.not_run for c in shown(page))]
#: A page that needs a library which an extra of its own brings, and not `dev`.
NEEDS = {"exports.md": "ifcopenshell"}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder as a new clone is, `racewright` on the path, nothing kept from before."""
    start = tmp_path / "clone"
    shutil.copytree(ROOT / "examples", start / "examples")
    command = tmp_path / "bin" / "racewright"
    command.parent.mkdir()
    command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m racewright "$@"\n', encoding="utf-8")
    command.chmod(0o755)
    monkeypatch.setenv("PATH", f"{command.parent}{os.pathsep}{os.environ['PATH']}")
    monkeypatch.setenv("RACEWRIGHT_HOME", str(tmp_path / "home"))
    monkeypatch.delenv("RACEWRIGHT_SHOP", raising=False)
    return start


@pytest.mark.parametrize("page", SHOWING, ids=lambda page: page.name)
def test_the_commands_of_a_page_run_in_their_order(
    page: Path, folder: Path, capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(folder)
    if page.name in NEEDS:
        pytest.importorskip(NEEDS[page.name])
    for name, text in saved(page).items():
        (folder / name).write_text(text, encoding="utf-8")
    for command in (c for c in shown(page) if not c.not_run):
        if command.text.startswith("racewright serve"):
            _serves(command, folder)
            continue
        code, out, err = _run(command.text, capfd)
        said = f"{command.text}\n{out[-500:]}{err}"
        assert code == command.exit_code, said
        assert out.strip() or err.strip() or command.written, said
        missing = [line for line in command.says if line not in out.splitlines()]
        assert not missing, f"{page.name} shows what {command.text} does not say: {missing}"
        for name in command.written:
            made = folder / name
            assert any(made.iterdir()) if made.is_dir() else made.stat().st_size > 0, said


def _run(text: str, capfd: pytest.CaptureFixture[str]) -> tuple[int, str, str]:
    """Exit code, output and errors: by a shell where it needs one, else the command in this process."""
    if not text.startswith("racewright ") or set(text) & set("|<>&;$*`"):
        done = subprocess.run(text, shell=True, capture_output=True, text=True, check=False, timeout=300)
        return done.returncode, done.stdout, done.stderr
    capfd.readouterr()
    try:
        code = main(shlex.split(text)[1:])
    except SystemExit as ended:
        code = int(ended.code or 0)
    return code, *capfd.readouterr()


def _serves(command: Shown, folder: Path) -> None:
    """The server comes up, says where, and ends when it is stopped; on a free port, beside what else runs."""
    words = [*command.text.split(), "--port", "0"]
    with subprocess.Popen(words, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True) as server:
        assert server.stdout is not None
        try:
            said = ""
            while "http://127.0.0.1:" not in said and (line := server.stdout.readline()):
                said += line
            server.send_signal(signal.SIGINT)
            assert server.wait(timeout=60) in (0, 130), said
        finally:
            server.kill()
        assert "http://127.0.0.1:" in said


def test_no_command_hides_in_a_block_that_is_not_run() -> None:
    hidden = [
        f"{p.name}: {line}"
        for p in PAGES
        for line in re.findall(r"^ *(?:racewright|pip|python3?) .*", other_blocks(p), re.M)
    ]
    assert not hidden


def test_what_is_not_run_is_shown_somewhere_and_is_there() -> None:
    everything = [c.text for page in PAGES for c in shown(page) if c.not_run] + [s for p in PAGES for s in spans(p)]
    for start in NOT_RUN:
        assert any(text.startswith(start) for text in everything), f"nothing shown begins with {start}"
    for text in everything:
        words = text.split()
        if words[:2] == ["python3", "do.py"]:
            assert words[2] in do.TASKS, text
        elif words[0] == "python" and words[1].endswith(".py"):
            assert (ROOT / words[1]).exists(), text


ACTIONS = {"job", "bender", "wires"}


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_a_command_named_in_the_text_is_there_with_its_options(page: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for span in (s for s in spans(page) if s.startswith("racewright ")):
        if re.fullmatch(r"racewright plan \d", span):  # the format's name in a plan's JSON
            continue
        words = span.split()[1:]
        if words[0].startswith("-"):  # an option of the program itself
            assert main(words) == 0, span
            continue
        assert words[0] in COMMANDS, span
        named = words[:2] if words[0] in ACTIONS and len(words) > 1 and words[1].islower() else words[:1]
        with pytest.raises(SystemExit) as ended:
            main([*named, "--help"])
        assert ended.value.code == 0, span
        told = capsys.readouterr().out
        for option in re.findall(r"--[a-z-]+", span):
            assert option == "--help" or option in told, span


def test_the_examples_in_the_help_run(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(folder)
    assert main([]) == 0
    told = capsys.readouterr().out
    for name in COMMANDS:
        with pytest.raises(SystemExit):
            main([name, "--help"])
        told += capsys.readouterr().out
    examples = [re.split(r" {2,}", line)[0] for line in re.findall(r"^ +racewright (.*)$", told, re.MULTILINE)]
    assert len(examples) > 6
    for example in examples:
        assert main(shlex.split(example)) == 0, example
