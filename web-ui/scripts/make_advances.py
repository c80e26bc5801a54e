"""Write fonts/advances.json from the shipped fonts: `python3 web-ui/scripts/make_advances.py`."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path

RANGES = (
    (0x20, 0x7E),
    (0xA0, 0x17F),
    (0x370, 0x3FF),
    (0x400, 0x45F),
    (0x2010, 0x205F),
    (0x2150, 0x215F),
    (0x2190, 0x21FF),
    (0x2200, 0x22FF),
    (0x2300, 0x2311),
    (0x2460, 0x2473),
    (0x2500, 0x25FF),
    (0x2713, 0x2718),
)


def advances(font_path: Path) -> dict[str, list[int]]:
    """Runs of advance widths by first code point, in 1/2048 em. Raises ImportError without reportlab."""
    from reportlab.pdfbase.ttfonts import TTFont

    face = TTFont("measure", str(font_path)).face
    runs: dict[str, list[int]] = {}
    for first, last in RANGES:
        run: list[int] | None = None
        for code in range(first, last + 1):
            if code not in face.charToGlyph:
                run = None
                continue
            if run is None:
                run = runs[str(code)] = []
            run.append(round(face.charWidths[code] * 2.048))
    return runs


def main() -> None:
    """Rewrite the table in place."""
    folder = Path(str(files("racewright.drawing").joinpath("fonts")))
    table = {
        "regular": advances(folder / "DejaVuSans.ttf"),
        "bold": advances(folder / "DejaVuSans-Bold.ttf"),
    }
    (folder / "advances.json").write_text(json.dumps(table, separators=(",", ":")) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
