"""The hand-over pack: a whole job as one document, with page numbers, an outline and links.

Order: cover, contents, run index, each run's card, batch list, bill, cut list, checks, as-built notes. The numbers in
front are laid out until they leave what they count where it is.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Literal, NamedTuple

import msgspec

from racewright.cards.back_pages import write_as_built, write_checks
from racewright.cards.batch_pages import write_batch
from racewright.cards.bend_card import bench_pages, card_pages
from racewright.cards.bill_pages import write_bill, write_cut_list
from racewright.cards.front_pages import write_contents, write_cover, write_run_index
from racewright.cards.layout import FOOT_PT, Writer, find_paper
from racewright.cards.pack_model import Entry, Link, Pack, PackDocument, named_plan
from racewright.cards.words import FOOTER
from racewright.drawing.scene import Box, Page, Primitive, Scene, Text
from racewright.job.plan_job import PlannedRun
from racewright.records.naming import NO_AREA

#: What the pack holds of each run: its bench page, its whole card, neither.
RunCards = Literal["bench", "whole", "none"]
_OWN_NUMBER = re.compile(r"page (\d+) of (\d+)")


def build_pack(pack: Pack, paper: str = "letter", *, cards: RunCards = "bench") -> PackDocument:
    """The whole pack, with the runs' bench pages, with their whole cards, or with neither. `paper` is 'letter' or 'a4'.
    Raises UnknownName for another paper."""
    find_paper(paper)
    of_runs = {run.key: _card(run, paper, cards) for run in pack.in_order if run.plan is not None and cards != "none"}
    cover = _pages(pack, paper, lambda w: write_cover(w, pack))
    bench = pack.bench if cards != "none" else None
    batch = _pages(pack, paper, lambda w: write_batch(w, pack, bench)) if bench and bench.kinds else None
    back = [
        *([("Batch list", batch)] if batch else []),
        ("Bill", _pages(pack, paper, lambda w: write_bill(w, pack))),
        ("Cut list", _pages(pack, paper, lambda w: write_cut_list(w, pack))),
        ("What the checks found", _pages(pack, paper, lambda w: write_checks(w, pack))),
        ("As-built notes and signatures", _pages(pack, paper, lambda w: write_as_built(w, pack))),
    ]
    names = ["Cover", "Contents", "Run index", *(["Run cards"] if of_runs else []), *(name for name, _ in back)]
    entries = [Entry(title=name, page=0) for name in names]
    first_pages = dict.fromkeys(of_runs, 0)
    taken = -1
    while True:  # more sheets in front never make a number shorter, so this comes to rest
        front = _front(pack, paper, entries, first_pages)
        if len(front.scene.pages) == taken:
            break
        taken = len(front.scene.pages)
        starts, page = {"Cover": 1, "Contents": 1 + len(cover.pages)}, 1 + len(cover.pages) + taken
        starts["Run index"] = starts["Contents"] + front.index_page
        starts["Run cards"] = page
        for key, scene in of_runs.items():
            first_pages[key] = page
            page += len(scene.pages)
        for name, scene in back:
            starts[name] = page
            page += len(scene.pages)
        entries = [Entry(title=name, page=starts[name]) for name in names]
    parts = [("Cover", cover), ("Contents and run index", front.scene)]
    parts += [(f"run {key}", scene) for key, scene in of_runs.items()]
    links = tuple(Link(page=starts["Contents"] + k, box=box, target=target) for k, box, target in front.links)
    return PackDocument(
        scene=Scene(title=f"{pack.title}: hand-over pack", pages=_numbered([*parts, *back])),
        outline=tuple(_outline(pack, entries, first_pages)),
        links=links,
        first_pages=first_pages,
    )


class _Front(NamedTuple):
    """Contents and run index: their pages, on which of these the index begins, and where numbers stand on them."""

    scene: Scene
    index_page: int
    links: list[tuple[int, Box, int]]


class _Counted(Writer):
    """A writer that knows on which of its own pages it is."""

    page = -1

    def start_page(self, label: str, *, running: bool) -> None:
        super().start_page(label, running=running)
        self.page += 1


def _pages(pack: Pack, paper: str, write: Callable[[_Counted], None]) -> Scene:
    writer = _Counted(find_paper(paper), title=pack.title, footer=FOOTER, running=pack.title)
    write(writer)
    return writer.scene()


def _front(pack: Pack, paper: str, entries: list[Entry], first_pages: Mapping[str, int]) -> _Front:
    links: list[tuple[int, Box, int]] = []
    begins: list[int] = []

    def write(writer: _Counted) -> None:
        def told(box: Box, target: int) -> None:
            links.append((writer.page, box, target))

        write_contents(writer, entries, told)
        write_run_index(writer, pack, first_pages, told, lambda: begins.append(writer.page))

    return _Front(_pages(pack, paper, write), begins[0], links)


def _card(run: PlannedRun, paper: str, cards: RunCards) -> Scene:
    """The run's own bench page or card."""
    assert run.plan is not None
    plan = named_plan(run.run, msgspec.structs.replace(run.plan, findings=run.findings))
    return (bench_pages if cards == "bench" else card_pages)(plan, paper)


def _outline(pack: Pack, entries: list[Entry], first_pages: Mapping[str, int]) -> list[Entry]:
    """Sections, under the run cards the areas (where there are several), under these the runs."""
    out = []
    for entry in entries:
        out.append(entry)
        if entry.title != "Run cards":
            continue
        for area in pack.areas:
            runs = [run for run in pack.in_order if run.area == area and run.key in first_pages]
            several = len(pack.areas) > 1 and bool(runs)
            if several:
                out.append(Entry(title=area or NO_AREA, page=first_pages[runs[0].key], level=1))
            for run in runs:
                level = 2 if several else 1
                out.append(Entry(title=f"{run.key}  {run.name}", page=first_pages[run.key], level=level))
    return out


def _numbered(parts: list[tuple[str, Scene]]) -> tuple[Page, ...]:
    """The pages of all parts with one count through the pack; a run's card keeps its own count beside it."""
    total = sum(len(scene.pages) for _, scene in parts)
    pages: list[Page] = []
    for name, scene in parts:
        own = len(scene.pages)
        for k, page in enumerate(scene.pages, start=1):
            number = len(pages) + 1
            aside = f"{name}, sheet {k} of {own}" if name.startswith("run ") else name
            items = tuple(_foot(page, item, f"page {number} of {total}", aside) for item in page.items)
            flat = tuple(item for group in items for item in group)
            label = f"page {number} of {total}: {aside}"
            pages.append(msgspec.structs.replace(page, items=flat, label=label))
    return tuple(pages)


def _foot(page: Page, item: Primitive, words: str, aside: str) -> tuple[Primitive, ...]:
    """A page's own number becomes the pack's, and which part it belongs to is written at the left."""
    own = isinstance(item, Text) and item.anchor == "end" and item.size_pt == FOOT_PT
    if not (own and isinstance(item, Text) and _OWN_NUMBER.fullmatch(item.text)):
        return (item,)
    at = (page.margin_mm, item.at[1])
    return (Text(at=at, text=aside, size_pt=FOOT_PT, weight="bold"), msgspec.structs.replace(item, text=words))
