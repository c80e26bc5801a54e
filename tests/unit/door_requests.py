"""One question, three doors: what is asked of the command, of the server and of the browser's engine.

Each list below is one area; `REQUESTS` is all of them. Run as a program it prints them as JSON for the browser's tests.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, NamedTuple

from ask_samples import example_data

ROOT = Path(__file__).resolve().parents[2]


class Asked(NamedTuple):
    """`command`: what is typed after `racewright`, without --json, files named from the project's folder. `part`: the
    field of the answer that the command prints as JSON; '' for the whole answer."""

    operation: str
    request: dict[str, Any]
    command: tuple[str, ...]
    part: str = ""


def example(name: str) -> dict[str, Any]:
    """A survey of examples/ as data."""
    data: dict[str, Any] = example_data(ROOT / "examples" / f"{name}.yaml")
    return data


_EXAMPLES = (
    "pump-house-saddle",
    "pump-house-kick",
    "workshop-bench-u",
    "packing-shed-column",
    "packing-shed-two-turns",
)

PLANS = [
    Asked("plan", {"survey": example(name), "pictures": []}, ("plan", f"examples/{name}.yaml"), "plan")
    for name in _EXAMPLES
]


def _shape(command: str, request: dict[str, Any] | None = None, **readings: Any) -> Asked:
    words = command.split()
    return Asked("shape", {"shape": {"name": words[0], **readings}, **(request or {})}, ("shape", *words))


SHAPES = [
    _shape("stub --height 13 --leg 30", height="13", leg="30"),
    _shape("stub --height 4", height="4"),
    _shape("back-to-back --distance 48 --stub 12 --to center", distance="48", stub="12", to="center"),
    _shape("kick --rise 10 --travel 20", rise="10", travel="20"),
    _shape("kick --rise 5-1/4 --angle 22.5 --beside-90", rise="5-1/4", angle="22.5", beside_90=True),
    _shape("offset --rise 6 --angle 30 --at 30", rise="6", angle="30", at="30"),
    _shape(
        "offset --rise 150 --unit mm --bender emt-3/4 --at 800 --room 320",
        {"unit": "mm", "bender_name": "emt-3/4"},
        rise="150",
        at="800",
        room="320",
    ),
    _shape("box-offset --rise 1/2 --fraction 32", {"fraction": 32}, rise="1/2"),
    _shape("rolling-offset --rise 6 --roll=-8 --at 40", rise="6", roll="-8", at="40"),
    _shape("saddle --rise 2-3/4 --center 24 --length 52", rise="2-3/4", center="24", length="52"),
    _shape(
        "saddle --obstacle square --height 2-1/4 --width 7 --rise 2-1/4 --centre 33 --angle 30",
        obstacle="square",
        height="2-1/4",
        width="7",
        rise="2-1/4",
        centre="33",
        angle="30",
    ),
    _shape("four-bend-saddle --rise 2 --flat 5 --centre 9 --length 60", rise="2", flat="5", centre="9", length="60"),
    _shape("parallel-offset --rise 6 --spacing 2", rise="6", spacing="2"),
    _shape("parallel-kick --rise 6 --gap 1 --sizes 1/2,3/4", rise="6", gap="1", sizes="1/2,3/4"),
    _shape("concentric --spacing 2 --count 4", spacing="2", count=4),
    _shape("segmented --radius 20 --stub 30", radius="20", stub="30"),
    _shape(
        "offset --rise 6 --raceway PVC-40 --size 1 --bend-radius 6",
        {"raceway": "PVC-40", "size": "1", "bend_radius": "6"},
        rise="6",
    ),
]

_BEND = {"angle": "90", "stub": "12", "leg": "30", "cut": "39 3/8", "mark": "7"}
_WORDS = "angle=90 stub=12 leg=30 cut=39 3/8 mark=7"

BENDERS = [
    Asked("bender", {"bender_name": "emt-3/4"}, ("bender", "show", "emt-3/4")),
    Asked("bender", {"bender_name": "EMT-1", "unit": "mm"}, ("bender", "show", "EMT-1", "--unit", "mm")),
    Asked("bender", {"bender_name": "nobody"}, ("bender", "show", "nobody")),
    Asked(
        "calibrate",
        {"bender_name": "emt-1/2", "bends": [_BEND]},
        ("bender", "calibrate", "emt-1/2", "--bend", _WORDS),
    ),
    Asked(
        "calibrate",
        {
            "bender_name": "shop",
            "raceway": "EMT",
            "size": "1/2",
            "bends": [_BEND, _BEND | {"angle": "45", "stub": "8 1/2", "pointer": "47"}],
        },
        (
            *("bender", "calibrate", "shop", "--raceway", "EMT", "--size", "1/2", "--bend", _WORDS),
            *("--bend", "angle=45 stub=8 1/2 leg=30 cut=39 3/8 mark=7 pointer=47"),
        ),
    ),
]

REQUESTS: list[Asked] = [*PLANS, *SHAPES, *BENDERS]

if __name__ == "__main__":
    print(json.dumps([asked._asdict() for asked in REQUESTS]))
