"""What new marks that hold for a piece change in the steps of its plan, for the sheets of its run."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from msgspec.structs import replace

from racewright.fit.words import off_a_words, off_b_words, turn_words
from racewright.plan.model import Plan, PlannedPiece, Step
from racewright.records.anew import Followed, marked_anew
from racewright.records.entry import Entry
from racewright.records.model import JobRun
from racewright.records.naming import with_copies
from racewright.records.other_marks import bent_by_other
from racewright.units.tape import TapeStyle, read_tape

#: What is said of a piece, by its number: for each of its copies with new marks its name ('' for the only one), and it.
_Said = dict[int, list[tuple[str, str]]]


def with_new_marks(plan: Plan, run: JobRun, entries: Iterable[Entry]) -> Plan:
    """The run's plan; the steps in which the ends of a piece are cut and in which it goes in, and what is said of its
    ends, tell how it is cut, and turned in its fitting, by the new marks that hold for it, of runs alike with its
    name."""
    of = tuple(entries)
    anew = marked_anew(run, of, plan.digest)
    if not anew:
        return plan
    lost = bent_by_other(run, of, plan)
    turned, cut = _Said(), _Said()
    for (copy, number), one in anew.items():
        if (copy, number) in lost or number > len(plan.pieces):
            continue
        name = with_copies(run.key, [copy]) if run.alike else ""
        for said, words in (
            (turned, turn_words(one.anew.turned_rad)),
            (cut, _cut_words(one, plan.pieces[number - 1], plan.tape)),
        ):
            if words:
                said.setdefault(number, []).append((name, ", ".join(words)))
    pieces = tuple(_ends_told(piece, turned.get(n, ()), cut.get(n, ())) for n, piece in enumerate(plan.pieces, 1))
    return replace(plan, steps=tuple(_steps_told(plan.steps, turned, cut)), pieces=pieces)


def _cut_words(one: Followed, piece: PlannedPiece, tape: TapeStyle) -> list[str]:
    """What is cut off once the piece is bent; end B of one that its plan cuts then is measured where they do not say
    it."""
    anew, were_cut = one.anew, one.ends_were_cut
    off_a_mm = piece.extra_a_mm + anew.trim_mm
    at_a = not were_cut and piece.extra_a_mm > 0.0 and read_tape(off_a_mm, tape).shown_mm > 0.0
    words = [off_a_words(off_a_mm, tape)] if at_a else []
    if anew.off_b_mm or anew.line_b_mm:
        return [*words, off_b_words(anew.off_b_mm, anew.line_b_mm, tape)]
    if not piece.trim_after:
        return words
    return ["cut nothing off"] if were_cut else [*words, "measure where end B comes before it is cut"]


def _steps_told(steps: tuple[Step, ...], turned: _Said, cut: _Said) -> Iterator[Step]:
    trimmed = {step.piece for step in steps if step.kind == "trim"}
    left = {"insert": dict(turned), "trim": dict(cut), "ream": {n: said for n, said in cut.items() if n not in trimmed}}
    for step in steps:
        said = left.get(step.kind, {}).pop(step.piece or 0, [])
        yield _cut_anew(step, said) if step.kind == "trim" and said else _told_first(step, said)


def _cut_anew(step: Step, said: Iterable[tuple[str, str]]) -> Step:
    """The step in which the ends are cut, in place of what the plan says of it, or before that where other copies are
    cut as planned."""
    ((name, words), *_) = said
    if name:
        return _told_first(step, said)
    detail = "Square, by the new marks: what was drawn for it before does not count."
    return replace(step, title=f"{words[0].upper()}{words[1:]}", detail=detail)


def _told_first(step: Step, said: Iterable[tuple[str, str]]) -> Step:
    told = " ".join(f"{text[0].upper()}{text[1:]}." for text in _by_the_new(said))
    return replace(step, detail=f"{told} {step.detail}".rstrip()) if told else step


def _ends_told(piece: PlannedPiece, turned: Iterable[tuple[str, str]], cut: Iterable[tuple[str, str]]) -> PlannedPiece:
    a, b = ("; ".join(_by_the_new(said)) for said in (turned, cut))
    return replace(piece, end_a=replace(piece.end_a, told=a), end_b=replace(piece.end_b, told=b)) if a or b else piece


def _by_the_new(said: Iterable[tuple[str, str]]) -> Iterator[str]:
    return (f"{name}{': ' if name else ''}by the new marks, {words}" for name, words in said)
