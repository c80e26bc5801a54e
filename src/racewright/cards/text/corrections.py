"""What to correct on a bent piece, new marks for a half-bent one, and what is off with a shoe, as text."""

from __future__ import annotations

from textwrap import wrap
from typing import TYPE_CHECKING

from racewright.cards.text.tail import problems
from racewright.sequence.words import mark_names, ordinal
from racewright.units.angle import hand_angle
from racewright.units.tape import reading

if TYPE_CHECKING:
    from racewright.operations.diagnose import DiagnoseAnswer
    from racewright.operations.remark import RemarkAnswer
    from racewright.operations.tweak import TweakAnswer

#: When the pointer shows the angle.
_READ = {"relaxed": "after letting go", "under load": "while bending"}


def remark_text(answer: RemarkAnswer, *, have: bool = False) -> str:
    """What stands against it, then the new marks in bending order, the cut, and what to do with them; of scrap what to
    do instead. `have`: how long the conduit in hand is was said."""
    lines = [f"{answer.run}, {answer.piece}: bent, as measured: {mark_names(answer.made)}."]
    lines += problems(answer.findings) or [""]
    if answer.scrap:
        hint = () if have else ("  (--have says how long the conduit in hand is)",)
        return "\n".join((*lines, *(f"- {n}" for n in answer.notes), *hint))
    wide = (6, 6, 12, 12, 11, 6, 9)
    if answer.marks:
        heads = ("bend", "mark", "now at", "drawn at", "shoe mark", "hook", "angle", "bend to")
        lines += ["  " + _row(heads, wide)]
    for mark in answer.marks:
        new = reading(mark.mark.tape, answer.unit) if mark.on_conduit else "off it"
        was = reading(mark.was.tape, answer.unit)
        pointer = f"{hand_angle(mark.pointer_deg)} {_READ[mark.pointer_basis]}"
        shoe = (mark.reference, mark.hook) if mark.on_shoe else ("no shoe", "")
        again = "done" if mark.number in answer.done else "again" if mark.further_deg else ordinal(mark.order)
        cells = (again, str(mark.number), new, was, *shoe)
        lines.append("  " + _row((*cells, hand_angle(mark.angle_deg), pointer), wide))
        stance = f" {mark.stance_words[0].upper()}{mark.stance_words[1:]}." if mark.stance_words else ""
        lines += [f"        {mark.spin_words}.{stance}", f"        {mark.look_at}"]
    lines += [
        *([""] if answer.marks else []),
        f"Cut length {reading(answer.cut.tape, answer.unit)} (planned {reading(answer.was_cut.tape, answer.unit)}).",
        *(f"- {n}" for n in answer.notes),
    ]
    if not answer.met:
        long = "" if have else "--have says how long it is; "
        lines.append(f"  ({long}`racewright tweak` corrects a piece that is finished)")
    return "\n".join(lines)


def _row(cells: tuple[str, ...], wide: tuple[int, ...]) -> str:
    return "".join(f"{cell:<{w}}" for cell, w in zip(cells, wide, strict=False)) + cells[-1]


def tweak_text(answer: TweakAnswer) -> str:
    """What stands against it, then the corrections in their order, and what they do."""
    head, against = f"{answer.run}, {answer.piece}:", problems(answer.findings)
    if not answer.moves:
        said = " ".join((*filter(None, [answer.first]), *answer.words))
        return "\n".join((*wrap(f"{head} {said[0].lower()}{said[1:]}", 100), *against))
    if answer.first:
        against = ["", *wrap(answer.first, 100), *(against or [""])]
    moves = (f"  {k}. {move.words}" for k, move in enumerate(answer.moves, 1))
    return "\n".join((head, *against, *moves, *answer.words))


def diagnose_text(answer: DiagnoseAnswer) -> str:
    """The causes as a table and in words, and how far the readings tell them."""
    lines = [f"From {len(answer.pieces)} finished pieces and {answer.readings} readings:"]
    lines += [f"  {name}" for name in answer.pieces]
    lines += ["", f"  {'cause':<20}{'found':<16}standard error"]
    lines += [f"  {told.cause:<20}{told.found:<16}{told.give_or_take}" for told in answer.causes]
    lines += ["", *(f"- {told.words}" for told in answer.causes), "", *answer.words]
    return "\n".join([*lines, "(`racewright bender calibrate` makes a profile of test bends)"])
