"""The batch list in words, the same on paper, in the terminal and in a table."""

from __future__ import annotations

from collections.abc import Sequence

from racewright.job.bench_list import BatchBend, BatchKind, BatchSetting, BenchList, ToolBatch
from racewright.records.naming import with_copies

#: Behind a piece that is listed, and is cut already.
CUT_ALREADY = " CUT ALREADY"
#: What makes the list what it is.
RULE = (
    "Each tool is set up once, and each angle as few times as the pieces' own bending orders allow. Draw all marks"
    " first. Lay a piece aside until its next bend is called; its line says how it lies then. Do not pass over a bend."
)
THROUGH = (
    "Kind by kind, by tool and by the first angle. Bend each piece through, in the order of its bends, before the next."
)


def kind_words(kind: BatchKind) -> str:
    """'kind 2, RM-1 x 20', 'kind 3, PH-07', 'kind 4, WS-1 and 2 others x 24'."""
    others = len({one.label for one in kind.pieces}) - 1
    more = f" and {others} other{'' if others == 1 else 's'}" if others else ""
    return f"kind {kind.number}, {kind.pieces[0].label}{more}{f' x {kind.count}' if kind.count > 1 else ''}"


def pieces_words(kind: BatchKind) -> str:
    """Which pieces are of a kind: 'PH-07-2#1 to 14; WS-01 CUT ALREADY'."""
    return "; ".join(with_copies(one.label, one.copies) + (CUT_ALREADY if one.there else "") for one in kind.pieces)


def plans_words(kind: BatchKind) -> str:
    """The digests of the plans that the marks are of."""
    return ", ".join(dict.fromkeys(one.plan for one in kind.pieces))


def length_words(kind: BatchKind) -> str:
    """What is cut: '58 7/8"', and what of it is cut off later."""
    zero = f"; readings count from a line {kind.zero} from its end" if kind.zero else ""
    return f"{kind.length}, end {kind.ends_later} cut after bending{zero}" if kind.ends_later else kind.length


def marks_words(kind: BatchKind) -> str:
    """Every pencil mark of a kind, from end A."""
    bends = sorted(kind.bends, key=lambda bend: bend.number)
    return ", ".join(f"({bend.number}) {bend.reading}" for bend in bends)


def bend_words(bend: BatchBend) -> str:
    """How the conduit lies: 'star, hook toward A; line up'."""
    place = ", ".join(part for part in (bend.at, bend.hook) if part)
    return "; ".join(part for part in (place, bend.line, bend.making) if part)


def setting_words(setting: BatchSetting) -> str:
    """'bend to 22 1/2°, read after letting go; on the floor'."""
    return f"bend to {setting.bend_to}, {setting.read}; {setting.how}"


def count_words(tool: ToolBatch) -> str:
    """How many settings, and how near that is to the fewest."""
    number = len(tool.settings)
    settings = f"{number} setting{'' if number == 1 else 's'} of the angle"
    if number <= tool.least:
        return f"{settings}; no order can do with fewer"
    return f"{settings}; the best may need {number - tool.least} fewer"


def kinds_of(bench: BenchList, tool: str, raceway: str) -> Sequence[BatchKind]:
    """The kinds that one tool bends."""
    return [kind for kind in bench.kinds if (kind.tool, kind.raceway) == (tool, raceway)]


def tools_of(bench: BenchList) -> Sequence[tuple[str, str]]:
    """The tools and their raceways, in the order of the kinds."""
    return list(dict.fromkeys((kind.tool, kind.raceway) for kind in bench.kinds))
