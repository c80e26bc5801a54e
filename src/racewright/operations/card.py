"""The pages of the bend card, or of the 1:1 strip."""

from __future__ import annotations

from typing import Literal

from racewright.cards.bend_card import card_pages
from racewright.cards.strip import strip_pages
from racewright.drawing.svg import to_svg_pages
from racewright.operations.common import (
    Answer,
    Paper,
    SurveyRequest,
)
from racewright.operations.known import Known
from racewright.operations.planned import paper_of, planned


class CardRequest(SurveyRequest, frozen=True, kw_only=True):
    """Pages to print: the card or the 1:1 strip. `paper` left away: letter for inches, a4 for mm."""

    what: Literal["card", "strip"] = "card"
    paper: Paper | None = None


class CardAnswer(Answer, frozen=True, kw_only=True):
    """One SVG document a page, its size in mm."""

    title: str
    pages: tuple[str, ...]
    width_mm: float
    height_mm: float


def card(request: CardRequest, known: Known) -> CardAnswer:
    """Pages to print."""
    made = planned(request, known)
    paper = paper_of(request.paper, made)
    scene = card_pages(made, paper) if request.what == "card" else strip_pages(made, paper)
    page = scene.pages[0]
    return CardAnswer(title=scene.title, pages=to_svg_pages(scene), width_mm=page.width_mm, height_mm=page.height_mm)
