"""A fixed slice of random surveys on paper: nothing lies on another, all is within the margins, and a piece of up to
nine bends that can be made takes one sheet."""

from __future__ import annotations

from itertools import combinations

import pytest
from page_boxes import bounds, text_box

from racewright.cards.bend_card import bench_pages
from racewright.drawing.scene import Box, Page, Text
from racewright.errors import RacewrightError
from racewright.plan.model import Plan
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import survey_from_text
from survey_writer import write_survey

FIRST, COUNT, EACH = 2104, 32, 8


def planned(seed: int) -> Plan | None:
    try:
        return plan_run(survey_from_text(write_survey(seed)).survey)
    except RacewrightError:  # the writer's surveys may be impossible
        return None


def clashes(page: Page) -> list[object]:
    texts = [item for item in page.items if isinstance(item, Text) and item.text.strip()]
    boxes = [(text.text, text_box(text)) for text in texts]
    m = page.margin_mm
    sheet = Box(m, m, page.width_mm - m, page.height_mm - m)
    on_another = [(a, b) for (a, x), (b, y) in combinations(boxes, 2) if x.overlaps(y, 0.5)]
    return [*on_another, *(item for item in page.items if not bounds(item).inside(sheet, 0.5))]


@pytest.mark.parametrize("first", range(FIRST, FIRST + COUNT, EACH))
def test_each_survey_has_a_bench_page_that_can_be_read(first: int) -> None:
    plans = {seed: plan for seed in range(first, first + EACH) if (plan := planned(seed)) is not None}
    assert len(plans) >= EACH - 2
    for seed, plan in plans.items():
        pages = bench_pages(plan, "letter" if seed % 2 else "a4").pages
        for page in pages:
            assert clashes(page) == [], seed
        possible = all(finding.severity != "problem" for finding in plan.findings)
        if possible and len(plan.pieces) == 1 and len(plan.pieces[0].bends) <= 9:
            assert len(pages) == 1, seed
