"""One thing, one word: what a person reads has no word that docs/nomenclature.md has another one for, US spelling.

Looked at are the sentences in the program (texts with a blank, docstrings left out) and the pages of `docs/`.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SRC = ROOT / "src" / "racewright"
#: A word that is not used, and the one that is.
RETIRED = {
    r"\b[Ss]pin(ning|s)?\b(?!_)": "rotate",
    r"half a turn": "180°",
    r"turn(ed|ing)? (it )?end for end": "swap ends",
    r"\bin the air\b": "upside down",
    r"anticlockwise|counter-clockwise": "counterclockwise",
    r"\bcaptured\b": "trapped between its fittings",
    r"handful": "points",
    r"\b[Ll]eftovers?\b": "offcut",
    r"[Mm]isfit": "error",
    r"forgiving": "least sensitive to error",
    r"pieces in 100": "% chance",
    r"\b[Pp]ull to\b": "bend to",
    r"gain of a 90": "gain per 90",
    r"looked over by": "checked by",
    r"out of the money": "not priced",
    r"untouched on hand": "on hand, unused",
    r"\bleave \S+ away\b|left away": "left out",
    r"round an edge": "around an outside corner",
    r"\b[Bb]end \d+\b(?! %| r )": "mark",
    r"\b[Cc]entre(s|d|line)?\b(?!`)": "center",
    r"\b[Cc]olour|\b[Ll]abour\b|\b[Aa]luminium|\b[Gg]rey\b|\b(centi|milli|kilo)?metres?\b": "US spelling",
}
#: Where a retired word is the thing itself: what the readers take from old files, and names of fields and options.
SAYS_ITSELF = (
    "plan/from_json.py",
    "field_words.py",
    "survey/from_data.py",
)
#: Fields and options that a page names in code keep their spelling.
CODE = re.compile(r"`[^`]*`|```.*?```", re.DOTALL)


def sentences(path: Path) -> Iterator[tuple[int, str]]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    told = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and ast.get_docstring(node) is not None:
            told.add(id(node.body[0].value))  # type: ignore[attr-defined]
    for node in ast.walk(tree):
        if (
            isinstance(node, ast.Constant)
            and isinstance(node.value, str)
            and " " in node.value
            and id(node) not in told
        ):
            yield node.lineno, node.value


@pytest.mark.parametrize("folder", sorted(p.name for p in SRC.iterdir() if p.suffix == ".py" or any(p.glob("*.py"))))
def test_no_sentence_of_the_program_uses_a_retired_word(folder: str) -> None:
    top = SRC / folder
    found = []
    for path in [top] if top.suffix else sorted(top.rglob("*.py")):
        if str(path.relative_to(SRC)) in SAYS_ITSELF:
            continue
        for line, text in sentences(path):
            found += [f"{path}:{line}: {text!r}: {better}" for word, better in RETIRED.items() if re.search(word, text)]
    assert found == []


@pytest.mark.parametrize("path", [*sorted(ROOT.glob("docs/*.md")), ROOT / "README.md"], ids=lambda p: p.name)
def test_no_page_uses_a_retired_word(path: Path) -> None:
    text = CODE.sub("", path.read_text(encoding="utf-8"))
    found = [f"{m.group(0)!r}: {better}" for word, better in RETIRED.items() for m in re.finditer(word, text)]
    assert found == []
