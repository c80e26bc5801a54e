"""A surveyed run drawn in the room from one of its four corners: the same picture wherever it is looked at."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from racewright.cards.corner_view import corner_drawing
from racewright.drawing.scene import Box, Page, Scene
from racewright.drawing.svg import to_svg_pages
from racewright.operations.common import Answer, Known, SurveyRequest
from racewright.operations.planned import planned


class CornerRequest(SurveyRequest, frozen=True, kw_only=True):
    """A run from a `corner` of the room, each a quarter turn to the right of the one before; the drawing's size in mm
    of paper."""

    corner: Literal[0, 1, 2, 3] = 0
    width_mm: Annotated[float, msgspec.Meta(ge=60.0, le=600.0)] = 120.0
    height_mm: Annotated[float, msgspec.Meta(ge=40.0, le=600.0)] = 120.0


class CornerAnswer(Answer, frozen=True, kw_only=True):
    """The drawing, an SVG document; a caption, and what found no room on it. The findings: the open ones."""

    svg: str
    caption: str
    left_over: tuple[str, ...]


def corner(request: CornerRequest, known: Known) -> CornerAnswer:
    """Plan a run and draw it from a corner."""
    made = planned(request, known)
    size = (request.width_mm, request.height_mm)
    view = corner_drawing(made, request.corner, Box(0.0, 0.0, *size))
    title = f"{made.name}, {view.caption}"
    page = Page(width_mm=size[0], height_mm=size[1], items=tuple(view.items), label=title)
    return CornerAnswer(
        svg=to_svg_pages(Scene(title=title, pages=(page,)))[0],
        caption=view.caption,
        left_over=view.left_over,
        findings=tuple(finding for finding in made.findings if finding.severity != "info"),
        cautions=made.cautions,
    )
