"""The server is stopped by Ctrl-C, from the moment that it says where it is."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

PRESSED_AT_THE_WORDS = """
import os, pathlib, signal, sys
from racewright.web import runner, terminal

def say(*_):
    print(signal.getsignal(signal.SIGINT).__qualname__, flush=True)
    os.kill(os.getpid(), signal.SIGINT)

signal.signal(signal.SIGINT, signal.default_int_handler)  # as on a terminal, wherever the tests are started
terminal.say = say
runner.serve(0, lan="", shop=pathlib.Path(sys.argv[1], "jobs.rwshop"))
"""


def test_ctrl_c_pressed_at_the_words_is_taken_by_the_server_and_ends_it(tmp_path: Path) -> None:
    """Pressed between the words and the server's own handler it could be lost, and the server stayed."""
    done = subprocess.run(
        [sys.executable, "-c", PRESSED_AT_THE_WORDS, str(tmp_path)],
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert done.stdout.strip() == "Server.handle_exit", done.stderr
    assert done.returncode != 0
    assert "KeyboardInterrupt" in done.stderr  # what the command turns into "stopped"
