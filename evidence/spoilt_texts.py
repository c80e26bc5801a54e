"""Texts spoilt by one to four changes: what slips, pastes, broken disks and attackers make of a file or an answer."""

from __future__ import annotations

import json
import random
import re
from typing import Any

_TOKENS = (
    "", " ", "\n", "\t", "\r\n", "0", "-1", "1/0", "441/2", "3/2", "1e308", "-1e308", "1E+400000000", "1e-400", "nan",
    "inf", "-inf", "9" * 40, "9" * 5000, "0x10", "1_000", "½", "٣", "7' 11 15/16\"", "31 5/16 in", "795 mm", "1e9 mm",
    "[", "]", "{", "}", "[" * 900, "{a: " * 400, ":", "- ", "&a ", "*a", "&a [*a]", "!!python/object:os.system ", "? ",
    "|", ">", "%YAML 2", "---", "...", "#", "'", '"', "\\", '"\\ud800"', '"\\UFFFFFFFF"',
    '"\\U00110000"', '"\\ud83d\\ude00"', "%YAML 1." + "9" * 5000 + "\n---\n", "\\u202e", "\x00", "\x1b[2J", "\u202e",
    "\ufeff", "\ud7ff", "\U0001f527", "null", "true", "~", "None", "x", "XHHW", "EMT", "1/2 EMT", "PVC-40 1", "RMC 6",
    "left", "up", "toward", "center", "centre", "auto", "none", "180", "120", "89.999", "--json", "--unit", "mm", "-",
    "--", "--angle", "@", "=1+1", "$.run", "../", "/", "a" * 3000, ",", ";", "r", "bend", "straight", "pull point",
)  # fmt: skip
_LIKELY = (
    "0",
    "1",
    "2",
    "3",
    "4",
    "7",
    "12",
    "21 1/4",
    "30",
    "45",
    "46.5",
    "60",
    "90",
    "1/8",
    "3/4",
    "250",
    "0.001",
    "1200",
)
#: What JSON has besides text.
_ODD: tuple[Any, ...] = (None, True, 0, -3, 2.5, 1e308, 2**70, [], {}, [[[]]], {"leg": {"leg": 1}}, 45, "\ud800")
_NUMBER = re.compile(r"\d+(?:[./ -]\d+)*")
_WORD = re.compile(r"[A-Za-z_]{2,}")


def spoilt(text: str, others: list[str], dice: random.Random) -> str:
    """The text after one to four changes."""
    if dice.random() < 0.5:
        text = _in_place(text, dice)
    else:
        for _ in range(dice.choice((1, 1, 2, 3, 4))):
            text = _changed(text, others, dice)
    return text[:60_000]


def _in_place(text: str, dice: random.Random) -> str:
    """One number or one value of the text becomes another: what is around it still reads."""
    if text.lstrip().startswith("{") and dice.random() < 0.7:
        data = json.loads(text)
        places = _places(data)
        here, key = dice.choice(places)
        here[key] = dice.choice((*_ODD, *_TOKENS, *_LIKELY))
        return json.dumps(data)
    found = list(_NUMBER.finditer(text))
    if not found:
        return text
    hit = dice.choice(found)
    return text[: hit.start()] + dice.choice(_LIKELY) + text[hit.end() :]


def _places(node: Any) -> list[tuple[Any, Any]]:
    """(holder, key) of every value below a node."""
    inside = list(node.items()) if isinstance(node, dict) else list(enumerate(node)) if isinstance(node, list) else []
    return [place for key, value in inside for place in ((node, key), *_places(value))]


def _changed(text: str, others: list[str], dice: random.Random) -> str:
    at = dice.randrange(len(text) + 1)
    end = min(len(text), at + dice.choice((1, 1, 2, 5, 20, 200)))
    kind = dice.randrange(9)
    if kind == 0:
        return text[:at] + text[end:]
    if kind == 1:
        return text[:at] + dice.choice(_TOKENS) + text[at:]
    if kind == 2:
        return text[:at] + dice.choice(_TOKENS) + text[end:]
    if kind == 3:
        return text[:end] + text[at:end] * dice.choice((1, 2, 50)) + text[end:]
    if kind == 4:
        other = dice.choice(others)
        return text[:at] + other[dice.randrange(len(other) + 1) :]
    if kind == 5:
        return (
            text[:at] + chr(dice.choice((dice.randrange(32), dice.randrange(128), dice.randrange(0x2FFF)))) + text[end:]
        )
    if kind == 6:
        lines = text.split("\n")
        dice.shuffle(lines)
        return "\n".join(lines)
    found = list((_NUMBER if kind == 7 else _WORD).finditer(text))
    if not found:
        return text + dice.choice(_TOKENS)
    hit = dice.choice(found)
    return text[: hit.start()] + dice.choice(_TOKENS) + text[hit.end() :]
