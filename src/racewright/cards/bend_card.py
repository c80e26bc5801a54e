"""Plan -> the card on paper, for the person who holds the conduit: the bench page, and what else there is to read."""

from __future__ import annotations

from racewright.cards.bench_page import write_bench
from racewright.cards.layout import Writer, find_paper
from racewright.cards.notes import write_notes
from racewright.cards.words import FOOTER, digest_words
from racewright.drawing.scene import Scene
from racewright.plan.model import Plan


def bench_pages(plan: Plan, paper: str = "letter") -> Scene:
    """The bench page alone: what is cut, marked and bent, in which order, the finished piece, straps and couplings,
    problems, cautions. One sheet for a piece of up to nine bends. `paper` is 'letter' or 'a4'.

    Raises UnknownName for another paper.
    """
    writer = _writer(plan, paper, f"{plan.name}: bench page")
    write_bench(writer, plan)
    return writer.scene()


def card_pages(plan: Plan, paper: str = "letter") -> Scene:
    """The whole card: the bench page, then more: steps, other ways, findings, the rule of thumb, what was measured.

    Raises UnknownName for another paper.
    """
    writer = _writer(plan, paper, f"{plan.name}: bend card")
    write_bench(writer, plan)
    write_notes(writer, plan)
    return writer.scene()


def _writer(plan: Plan, paper: str, title: str) -> Writer:
    return Writer(find_paper(paper), title=title, footer=FOOTER, running=plan.name, stamp=digest_words(plan))
