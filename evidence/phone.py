"""A phone: the page's own records, built from `web-ui/test/phone.ts`, as a node program that a trial tells what its
person does. It keeps its records in a file, and may be killed and started again."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Sequence
from pathlib import Path
from typing import Any

PAGE = Path(__file__).resolve().parents[1] / "web-ui"
#: What a record says, by its id; a removed one is not in it.
Says = dict[str, tuple[str, Any]]


def lacking() -> str:
    """What is missing on this machine for phones, or ''."""
    if shutil.which("node") is None:
        return "node"
    return "" if (PAGE / "node_modules" / "vite").is_dir() else "web-ui/node_modules (npm ci)"


def built(folder: Path) -> Path:
    """The program, built into this folder."""
    vite = PAGE / "node_modules" / "vite" / "bin" / "vite.js"
    how = ["--config", "test/vite.config.ts", "--outDir", str(folder.resolve()), "--emptyOutDir"]
    subprocess.run(["node", str(vite), "build", *how], cwd=PAGE, check=True, capture_output=True)
    return folder / "phone.js"


class Phone:
    """One device and its person. `records` by id as they were at the last answer, which are all on its disk."""

    def __init__(self, program: Path, name: str, disk: Path, address: str, cookie: str) -> None:
        self.name = name
        self._start: Sequence[str] = ("node", str(program), str(disk), address, cookie)
        self.records: dict[str, dict[str, Any]] = {}
        self.runs: list[dict[str, str]] = []
        self.shop = ""
        self.waiting = 0
        self.start()
        self.do("name", words=name)

    def start(self) -> None:
        """Open the page."""
        self._process = subprocess.Popen(self._start, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        self.do("look")

    def close(self) -> None:
        """The page is gone, in the middle of whatever it did."""
        self._process.kill()
        self._process.communicate()

    def tell(self, deed: str, **more: Any) -> None:
        """Its person does this; `answer` waits until it is done."""
        assert self._process.stdin is not None
        self._process.stdin.write(json.dumps({"do": deed, **more}) + "\n")
        self._process.stdin.flush()

    def answer(self) -> None:
        """What the phone holds now, all of it on its disk."""
        assert self._process.stdout is not None
        line = self._process.stdout.readline()
        assert line, f"{self.name} ended by itself"
        told = json.loads(line)
        self.records = {rec["id"]: rec for rec in told["records"]}
        self.runs, self.shop, self.waiting = told["runs"], told["shop"], told["waiting"]

    def do(self, deed: str, **more: Any) -> None:
        """Its person does this."""
        self.tell(deed, **more)
        self.answer()

    def says(self) -> Says:
        """What its person sees of each record."""
        return {one: (rec["kind"], rec["data"]) for one, rec in self.records.items() if rec["data"] is not None}

    @property
    def clashes(self) -> list[dict[str, Any]]:
        """Two versions of these wait for a choice."""
        return [rec for rec in self.records.values() if rec.get("clash")]
