"""The commands that the documents show: their `sh` blocks in order, and the names in their code spans."""

from __future__ import annotations

import re
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[2]
PAGES = (ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md")))

#: What the tests do not run of what is shown, by how it begins, and why.
NOT_RUN = {
    "pip install": "needs the network",
    "python3 do.py": "makes an environment of its own from the network, or takes minutes; CI runs its steps",
    "python benchmarks/": "takes minutes, and its figures are of one machine",
    "python web-ui/scripts/": "needs node; tests/unit/test_web_site.py and tests/browser run what they write",
    "python -m pytest": "the tests themselves",
    "python -c pass": "a bare interpreter, to compare with",
}

_FENCE = re.compile(r"^```(\S*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
_ENDS = re.compile(r"exit code (\d)")
_WRITES = re.compile(r"(?:--(?:pdf|svg|strip|out|dxf|gltf|ifc)|(?<!-)>|job pack|^racewright site) +([^\s-]\S*)")


class Shown(NamedTuple):
    """One command of an `sh` block; the exit code is 0 unless its comment says 'exit code 1'. `says`: the lines that
    the page shows of its output, in a `text` block right behind."""

    text: str
    exit_code: int
    says: tuple[str, ...] = ()

    @property
    def written(self) -> tuple[str, ...]:
        """The files and folders that it says it writes."""
        return tuple(_WRITES.findall(self.text))

    @property
    def not_run(self) -> str:
        """Why it is not run, or ''."""
        return next((why for start, why in NOT_RUN.items() if self.text.startswith(start)), "")


def shown(page: Path) -> tuple[Shown, ...]:
    """The commands of a page in the order in which they stand."""
    out: list[Shown] = []
    for kind, body in _FENCE.findall(page.read_text(encoding="utf-8")):
        if kind == "text":
            out[-1] = out[-1]._replace(says=tuple(body.splitlines()))
        if kind != "sh":
            continue
        for line in body.replace("\\\n", " ").splitlines():
            command, _, comment = line.partition("#")
            ends = _ENDS.search(comment)
            code = int(ends.group(1)) if ends else 0
            parts = [part.strip() for part in command.split(";")]
            out += [Shown(part, code) for part in parts if part]
    return tuple(out)


def saved(page: Path) -> dict[str, str]:
    """The files that a page has its reader save: yaml blocks whose first line is a comment with their name."""
    found = _FENCE.findall(page.read_text(encoding="utf-8"))
    named = ((re.match(r"# (\S+\.yaml)\n", body), body) for kind, body in found if kind == "yaml")
    return {name.group(1): body for name, body in named if name}


def other_blocks(page: Path) -> str:
    """What stands in blocks that are no commands."""
    return "\n".join(body for kind, body in _FENCE.findall(page.read_text(encoding="utf-8")) if kind != "sh")


def spans(page: Path) -> tuple[str, ...]:
    """The code spans of a page's text, without its blocks, that begin as a command does."""
    text = _FENCE.sub("", page.read_text(encoding="utf-8"))
    found = (" ".join(span.split()) for span in re.findall(r"`([^`]+)`", text))
    return tuple(span for span in found if re.match(r"(racewright|python3?|pip) ", span))
