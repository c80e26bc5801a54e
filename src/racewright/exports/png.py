"""Scene -> PNG bytes, one picture a page. Needs resvg_py; draws with the shipped font only."""

from __future__ import annotations

from importlib.resources import as_file, files

from racewright.drawing.scene import Page, Scene
from racewright.drawing.svg import to_svg_pages
from racewright.errors import MissingExtra


def to_png(scene: Scene, dpi: float = 150.0, *, page: int = 0) -> bytes:
    """Page `page` (from 0) as a PNG file at `dpi` dots an inch.

    Raises MissingExtra when resvg_py is not installed, IndexError when there is no such page.
    """
    try:
        from resvg_py import svg_to_bytes
    except ImportError as error:
        raise MissingExtra("PNG", "png") from error
    sheet: Page = scene.pages[page]
    svg = to_svg_pages(Scene(title=scene.title, pages=(sheet,)))[0]
    with as_file(files("racewright.drawing").joinpath("fonts")) as folder:
        return bytes(
            svg_to_bytes(
                svg_string=svg,
                dpi=dpi,
                background="#ffffff",
                skip_system_fonts=True,
                font_files=[str(folder / "DejaVuSans.ttf"), str(folder / "DejaVuSans-Bold.ttf")],
                sans_serif_family="DejaVu Sans",
            )
        )
