"""How wide a line of text is, from a table of the shipped font's advance widths: no font library needed.

Notation: the table counts in 1/2048 of the type size, as the font does. Source: DejaVu Sans and DejaVu Sans Bold 2.37,
the files in `fonts/`; written by `web-ui/scripts/make_advances.py`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import cache
from itertools import accumulate
from pkgutil import get_data
from typing import Literal

import msgspec

from racewright.printable import printable

MM_PER_PT = 25.4 / 72.0
UNITS_PER_EM = 2048
CAP_HEIGHT = 0.729
#: What belongs to the whole number before it.
_BEHIND_A_NUMBER = re.compile(r"\d+/\d|(?:mm|in|ft|m)\b")


class _Advances(dict[str, int]):
    """Width of each letter; one outside the table counts a whole em."""

    def __missing__(self, letter: str) -> int:
        return UNITS_PER_EM


@cache
def _advances(weight: str) -> _Advances:
    raw = get_data(__package__, "fonts/advances.json") or b""
    table = msgspec.json.decode(raw, type=dict[str, dict[str, list[int]]])
    runs = table[weight].items()
    return _Advances({chr(int(start) + k): width for start, run in runs for k, width in enumerate(run)})


def text_width_mm(text: str, size_pt: float, weight: Literal["regular", "bold"] = "regular") -> float:
    """Advance width in mm, without kerning; a character outside the table counts a whole em."""
    units = sum(map(_advances(weight).__getitem__, text))
    return units / UNITS_PER_EM * size_pt * MM_PER_PT


def words_within(
    words: Sequence[str], width_mm: float, size_pt: float, weight: Literal["regular", "bold"] = "regular"
) -> int:
    """How many of the words stand side by side in this width, a space between two."""
    table = _advances(weight)
    wide = accumulate(sum(map(table.__getitem__, word)) + table[" "] for word in words)
    return sum((units - table[" "]) / UNITS_PER_EM * size_pt * MM_PER_PT <= width_mm for units in wide)


def fit_size_pt(
    text: str, width_mm: float, size_pt: float, least_pt: float, weight: Literal["regular", "bold"] = "regular"
) -> float:
    """The largest size up to `size_pt` at which the text fits the width, but not below `least_pt`."""
    wide = text_width_mm(text, size_pt, weight)
    if wide <= width_mm:
        return size_pt
    return max(least_pt, size_pt * width_mm / wide)


def _wide(word: str, table: _Advances) -> int:
    return sum(map(table.__getitem__, word)) if " " in word else 0


def _unbroken(words: Sequence[str]) -> Iterator[str]:
    """The words, with a whole number and the fraction or the unit behind it as one: '27 7/16"', '973 mm'."""
    held = ""
    for word in words:
        if held and _BEHIND_A_NUMBER.match(word):
            held = f"{held} {word}"
            continue
        if held:
            yield held
        held = word if word[-1].isdecimal() and "/" not in word else ""
        if not held:
            yield word
    if held:
        yield held


def wrap(text: str, width_mm: float, size_pt: float, weight: Literal["regular", "bold"] = "regular") -> tuple[str, ...]:
    """Break a text into lines no wider than `width_mm`, at spaces, or inside a word that is too long by itself; not
    before the fraction or the unit of a reading that fits a line. Each letter is looked at a few times, however long
    the text is."""
    table = _advances(weight)
    most = width_mm / (size_pt * MM_PER_PT) * UNITS_PER_EM
    space = table[" "]
    lines: list[str] = []
    line: list[str] = []
    used = 0  # of the line, in the table's units
    whole = _unbroken(printable(text).split())
    for word in (part for one in whole for part in ([one] if _wide(one, table) <= most else one.split())):
        widths = [*map(table.__getitem__, word)]
        wide = sum(widths)
        if line and used + space + wide <= most:
            line.append(word)
            used += space + wide
            continue
        if line:
            lines.append(" ".join(line))
        begin = 0
        while wide > most and begin < len(word) - 1:  # a piece has one letter at least
            end, piece = begin + 1, widths[begin]
            while piece + widths[end] <= most:
                piece += widths[end]
                end += 1
            lines.append(word[begin:end])
            wide -= piece
            begin = end
        line, used = [word[begin:]], wide
    if line:
        lines.append(" ".join(line))
    return tuple(lines)
