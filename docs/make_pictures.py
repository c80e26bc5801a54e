"""Draw the figures of the documents anew: docs/pictures/*.svg, from runs that the engine routes.

Run: python docs/make_pictures.py

With --check nothing is written; the exit code is 1 where a picture is not what its drawing gives.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

from figures import legs, shapes, turns
from racewright.drawing.scene import Scene
from racewright.drawing.svg import to_svg

PICTURES = Path(__file__).parent / "pictures"

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
}


def main() -> int:
    """Write, or compare with --check."""
    drawn = {PICTURES / f"{name}.svg": to_svg(draw()) for name, draw in FIGURES.items()}
    stale = [path for path, svg in drawn.items() if not path.exists() or path.read_text(encoding="utf-8") != svg]
    for path in stale:
        if "--check" in sys.argv[1:]:
            print(f"{path.name} is not what its drawing gives: run docs/make_pictures.py", file=sys.stderr)
        else:
            path.write_text(drawn[path], encoding="utf-8")
    return int(bool(stale) and "--check" in sys.argv[1:])


if __name__ == "__main__":
    sys.exit(main())
