"""The pictures of docs/first-run.md, of the survey that stands there: the wall, the bench page, the finished piece."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

from figures.kit import WIDTH_MM, Sheet
from racewright.cards.bend_card import bench_pages
from racewright.cards.side_view import side_view
from racewright.drawing.scene import Box, Page, Point, Scene
from racewright.plan.model import Plan
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import survey_from_text
from racewright.survey.read import read_survey
from racewright.survey.written import WrittenSurvey
from racewright.units.length import parse_length

PAGE = Path(__file__).parents[1] / "first-run.md"
_INCH = 25.4
#: The vent on the wall: from, to along the run, below and above the lower line, in inches.
VENT = (23.5, 34.5, 4.0, 3.25)


@cache
def written() -> WrittenSurvey:
    """The survey that the page shows."""
    (text,) = re.findall(r"```yaml\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    return survey_from_text(text, "first-run.yaml").written


@cache
def planned() -> Plan:
    """Its plan."""
    return plan_run(read_survey(written()))


def wall() -> Scene:
    """The wall as one faces it, with what is measured, before there is any conduit."""
    sheet = Sheet(
        "The pump house wall with what is measured: from the fittings to the lines of the conduit's middle", 100.0
    )
    sheet.look(lambda p: (p[0], -p[1]), 0.068, (15.0, 73.0))
    first, last = written().run.walk[0], written().run.walk[-1]
    offset = first.features[0].offset
    assert offset is not None
    across, up, shift, done = (_mm(value) for value in (first.leg, last.leg, offset.shift, offset.done_by))
    sheet.area([(1.0, 1.0), (WIDTH_MM - 1.0, 1.0), (WIDTH_MM - 1.0, 99.0), (1.0, 99.0)], 0.95)
    left, right, low, high = (value * _INCH for value in VENT)
    sheet.block([sheet.at((x, y, 0.0)) for x, y in ((left, -low), (right, -low), (right, high), (left, high))])
    sheet.words("vent", sheet.at(((left + right) / 2.0, -3.0 * _INCH, 0.0)), on_white=True)
    _box(sheet, (0.0, 0.0), (-1.0, 0.0), "timer", (3.0, 66.0))
    _box(sheet, (across, shift + up), (0.0, 1.0), "pressure switch", (67.0, 11.0))
    for a, b in (((-20.0, 0.0), (across, 0.0)), ((60.0, shift), (across + 60.0, shift)),
                 ((across, -90.0), (across, shift + up))):  # fmt: skip
        sheet.middle([sheet.at((*a, 0.0)), sheet.at((*b, 0.0))])
    _across(sheet, 0.0, across, -210.0, f'{first.leg}"')
    _across(sheet, 0.0, done, shift + 130.0, f'{offset.done_by}"')
    x = across - 150.0
    sheet.size(sheet.at((x, shift, 0.0)), sheet.at((x, shift + up, 0.0)), f'{last.leg}"')
    sheet.thin(sheet.at((x - 25.0, shift + up, 0.0)), sheet.at((across, shift + up, 0.0)))
    sheet.size(sheet.at((x, 0.0, 0.0)), sheet.at((x, shift, 0.0)), f'{offset.shift}"')
    return sheet.scene()


def _mm(value: object) -> float:
    return float(parse_length(str(value), "in", field="reading"))


def _box(sheet: Sheet, face: Point, out: Point, name: str, at: Point) -> None:
    """A box with its fitting, whose mouth is at `face`; the box lies `out` of it."""
    (x, y), (ux, uy) = face, out
    for near, far, half, fill in ((0.0, 1.1 * _INCH, 0.6 * _INCH, 0.75), (1.1 * _INCH, 5.0 * _INCH, 2.0 * _INCH, 0.88)):
        corners = ((near, half), (far, half), (far, -half), (near, -half))
        sheet.area([sheet.at((x + ux * d - uy * s, y + uy * d + ux * s, 0.0)) for d, s in corners], fill, 0.45)
    sheet.words(name, at, anchor="start")


def _across(sheet: Sheet, a: float, b: float, y: float, text: str) -> None:
    for x in (a, b):
        sheet.line(sheet.at((x, 0.0, 0.0)), sheet.at((x, y - (25.0 if y < 0.0 else -25.0), 0.0)), 0.3, (1.4, 0.9))
    sheet.size(sheet.at((a, y, 0.0)), sheet.at((b, y, 0.0)), text)


def bench_page() -> Scene:
    """The first page of the card."""
    pages = bench_pages(planned())
    return Scene(title=pages.title, pages=pages.pages[:1])


def finished() -> Scene:
    """The finished piece from the side, as the card draws it."""
    wide, high = 125.0, 98.0
    view = side_view(planned(), 0, Box(1.0, 1.0, wide - 1.0, high - 1.0))
    assert not view.left_over
    page = Page(width_mm=wide, height_mm=high, items=tuple(view.items), label="The finished piece from the side")
    return Scene(title="The finished piece from the side, with what to measure on it", pages=(page,))
