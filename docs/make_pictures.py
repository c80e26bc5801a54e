"""Draw the figures of the documents anew: docs/pictures/*.svg, from runs that the engine routes and plans.

Run: python docs/make_pictures.py

With --check nothing is written; the exit code is 1 where a picture is not what its drawing gives.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from pathlib import Path

from figures import first_run, legs, shapes, turns
from racewright.drawing.scene import Scene
from racewright.drawing.svg import to_svg

PICTURES = Path(__file__).parent / "pictures"
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")

#: What stands under the text of a page, to be read on a phone.
FIGURES: dict[str, Callable[[], Scene]] = {
    "turns": turns.on_a_wall,
    "turns-surfaces": turns.on_each_surface,
    "turns-up-down": turns.up_and_down,
    "leg-end": legs.at_an_end,
    "leg-turn": legs.at_a_turn,
    "leg-edge": legs.at_an_edge,
    "offset": shapes.offset,
    "offset-rolling": shapes.rolling,
    "saddle": shapes.saddle,
    "box-offset": shapes.box,
    "kick": shapes.kick,
    "keep-clear": shapes.keep_clear,
    "first-run-survey": first_run.wall,
}
#: What the card draws of the first run.
CARDS: dict[str, Callable[[], Scene]] = {
    "first-run-card": first_run.bench_page,
    "first-run-side": first_run.finished,
}


def same(a: str, b: str) -> bool:
    """Whether two drawings are one but for the last digit of a coordinate, in which machines may differ."""
    if _NUMBER.sub("#", a) != _NUMBER.sub("#", b):
        return False
    pairs = zip(_NUMBER.findall(a), _NUMBER.findall(b), strict=True)
    return all(abs(float(x) - float(y)) < 0.0025 for x, y in pairs)


def main() -> int:
    """Write, or compare with --check."""
    drawn = {PICTURES / f"{name}.svg": to_svg(draw()) for name, draw in {**FIGURES, **CARDS}.items()}
    stale = [p for p, svg in drawn.items() if not p.exists() or not same(p.read_text(encoding="utf-8"), svg)]
    for path in stale:
        if "--check" in sys.argv[1:]:
            print(f"{path.name} is not what its drawing gives: run docs/make_pictures.py", file=sys.stderr)
        else:
            path.write_text(drawn[path], encoding="utf-8")
    return int(bool(stale) and "--check" in sys.argv[1:])


if __name__ == "__main__":
    sys.exit(main())
