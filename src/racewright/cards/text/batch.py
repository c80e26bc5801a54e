"""The batch list as text."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap
from typing import TYPE_CHECKING

from racewright.cards.batch_words import (
    RULE,
    THROUGH,
    bend_words,
    count_words,
    kind_words,
    kinds_of,
    length_words,
    marks_words,
    pieces_words,
    plans_words,
    setting_words,
    tools_of,
)
from racewright.cards.text.tail import left_out
from racewright.job.bench_list import BatchKind, BenchList, ToolBatch

if TYPE_CHECKING:
    from racewright.operations.batch import JobBatchAnswer


def job_batch_text(answer: JobBatchAnswer) -> str:
    """The rule; then tool by tool its kinds with their marks, and setting by setting what is bent."""
    bench = answer.bench
    lines = [*left_out(answer.not_included), "", answer.name]
    if not bench.kinds:
        return "\n".join([*lines, "nothing to bend"])
    lines += wrap(THROUGH if answer.through else RULE, 100)
    settings = {(batch.tool, batch.raceway): batch for batch in bench.tools}
    for tool, raceway in tools_of(bench):
        lines += ["", f"{raceway}, {tool}"]
        for kind in kinds_of(bench, tool, raceway):
            lines += _kind(kind, through=answer.through)
        if (tool, raceway) in settings:
            lines += _settings(bench, settings[tool, raceway])
    return "\n".join(lines)


def _kind(kind: BatchKind, *, through: bool) -> Iterator[str]:
    many = f" ({kind.count} pieces)" if kind.count > 1 else ""
    yield from _wrapped(2, f"kind {kind.number}{many}: {pieces_words(kind)}  [plan {plans_words(kind)}]")
    yield from _wrapped(4, f"cut {length_words(kind)}; marks {marks_words(kind)}")
    for bend in kind.bends if through else ():
        pull = f"bend to {bend.bend_to}, {bend.read}; {bend.held}"
        yield from _wrapped(4, f"{bend.order}. mark {bend.number} at {bend.reading}, {bend_words(bend)}; {pull}")
        yield from _wrapped(7, bend.look_at)


def _settings(bench: BenchList, batch: ToolBatch) -> Iterator[str]:
    yield f"  {count_words(batch)}"
    kinds = {kind.number: kind for kind in bench.kinds}
    for number, setting in enumerate(batch.settings, 1):
        yield f"  {number}. {setting_words(setting)}"
        for work in setting.work:
            kind = kinds[work.kind]
            bend = kind.bends[work.order - 1]
            which = f"{kind_words(kind)}, bend {bend.order} of {len(kind.bends)}"
            yield from _wrapped(4, f"[ ] {which}: mark {bend.number} at {bend.reading}, {bend_words(bend)}", 4)
            yield from _wrapped(8, bend.look_at)


def _wrapped(indent: int, text: str, hang: int = 2) -> list[str]:
    return wrap(text, 100, initial_indent=" " * indent, subsequent_indent=" " * (indent + hang))
