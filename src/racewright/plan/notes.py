"""Blocks of the card beside marks and steps: will it fit, other ways to bend it, where the couplings and straps go."""

from __future__ import annotations

from collections.abc import Sequence

from racewright.assembly.joints import Assembly, Joint
from racewright.inspection.check_run import RunCheck
from racewright.plan.install_steps import order_words
from racewright.plan.model import NoteBlock, PlannedPiece
from racewright.plan.strap_steps import guides_lines
from racewright.sequence.words import hooks_words
from racewright.survey.model import Survey
from racewright.units.said import said_pull
from racewright.units.tape import format_length


def note_blocks(pieces: Sequence[PlannedPiece]) -> tuple[NoteBlock, ...]:
    """The blocks that have something to say."""
    several = len(pieces) > 1
    return tuple(b for b in (_fit(pieces, several), _ways(pieces, several)) if b.lines)


def _named(piece: PlannedPiece, text: str, several: bool) -> str:
    return f"{piece.label}: {text}" if several else text


def _fit(pieces: Sequence[PlannedPiece], several: bool) -> NoteBlock:
    lines = [_named(p, p.forecast.words, several) for p in pieces if p.forecast is not None and p.bends]
    return NoteBlock(title="Will it fit", lines=tuple(lines))


def _ways(pieces: Sequence[PlannedPiece], several: bool) -> NoteBlock:
    lines = []
    for piece in pieces:
        if len(piece.bends) < 2 or not piece.ways or not piece.bends[0].on_shoe:
            continue
        for number, way in enumerate(piece.ways):
            what = "As planned" if number == 0 else "Or"
            order, hooks = ", then ".join(str(i) for i in way.order), hooks_words(way.hooks)
            lines.append(_named(piece, f"{what}: marks {order}; {'; '.join((hooks, *way.reasons))}.", several))
    return NoteBlock(title="Ways to bend it", lines=tuple(lines))


def along_lines(survey: Survey, checks: RunCheck, joints: Sequence[Joint], assembly: Assembly) -> tuple[str, ...]:
    """Where couplings and straps go along the run, the order of putting it up, and the pulls."""
    lines = []
    between = [j for j in joints if j.before is not None and j.after is not None]
    for name, places in (
        ("Coupling", [j.at_mm for j in between if j.how != "expands"]),
        ("Expansion fitting", [j.at_mm for j in between if j.how == "expands"]),
    ):
        if places:
            at = ", ".join(format_length(c, survey.tape) for c in places)
            lines.append(f"{name}{'s' if len(places) > 1 else ''} (middle) at {at} along the conduit from end A.")
    if len(assembly.order) > 1:
        lines.append(order_words(joints, assembly))
    if checks.supports is not None and checks.supports.stations_mm:
        at = ", ".join(format_length(s, survey.tape) for s in checks.supports.stations_mm)
        lines.append(
            f"{checks.supports.count} strap{'s' if checks.supports.count > 1 else ''} at {at} along the conduit."
        )
        lines += guides_lines(checks.supports.stations_mm, checks.holds, joints, survey.tape)
    for pull in checks.pulls:
        feed = f"feed from end {pull.better}" if pull.better else "either end will do"
        lines.append(f"Wire pull: {feed}; {said_pull(pull.chosen.tension_n)} at the far end.")
    return tuple(lines)
