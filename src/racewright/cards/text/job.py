"""A job as text: how far it is, its runs, its bill and its cut list."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from textwrap import wrap
from typing import TYPE_CHECKING, Literal

from racewright.cards.batch_words import CUT_ALREADY
from racewright.cards.text.tail import finding_line, left_out
from racewright.cards.words import long_length
from racewright.records.entry import NOT_BENT, STATUS_WORDS, Status, status_words
from racewright.records.naming import NO_AREA, copy_words
from racewright.records.superseded import AGAINST_CARD
from racewright.takeoff.bill_model import Bill, RacewayCuts
from racewright.takeoff.cutting_model import CutPlan, cut_order
from racewright.takeoff.threads import pieces_without
from racewright.units.tape import TapeStyle, format_length, style_of

if TYPE_CHECKING:
    from racewright.operations.job_run import JobRunAnswer
    from racewright.operations.job_status import JobPlanAnswer, JobsAnswer, JobStatusAnswer, RunRow
    from racewright.operations.kits import JobKitsAnswer
    from racewright.operations.materials import JobBillAnswer, JobCutAnswer
    from racewright.takeoff.kits import Kit, KitPiece

#: So many runs are listed after planning; a longer job has its status.
_MOST_ROWS = 60


def jobs_text(answer: JobsAnswer) -> str:
    """One line a job."""
    lines = []
    for row in answer.jobs:
        states = _counted(row.status, row.open)
        lines.append(f"{row.job:16} {row.name}: {_many(row.runs, 'run')}{f' ({states})' if states else ''}")
    return "\n".join(lines) if lines else "no jobs yet: `racewright job new KEY` begins one"


def job_status_text(answer: JobStatusAnswer) -> str:
    """Every run by area, and how many have each status."""
    whole = sum(answer.status.values())
    alike = f", {whole} with those alike" if whole > len(answer.runs) else ""
    lines = [f"{answer.name}: {_many(len(answer.runs), 'run')}{alike}"]
    for area in (*answer.areas, ""):
        here = [row for row in answer.runs if row.area == area]
        if here:
            lines += ["", area or NO_AREA, *_rows([(row, _state(row)) for row in here])]
    unknown = sum(row.plan is None for row in answer.runs)
    if unknown:
        are = f"{_many(unknown, 'run')} {'is' if unknown == 1 else 'are'}"
        lines += ["", f"{are} not worked out as the job stands now: `racewright job plan` does it."]
    return "\n".join([*lines, "", _counted(answer.status, answer.open)])


def _counted(status: Mapping[Status, int], open_: int) -> str:
    """'2 planned, 1 measured, 3 to be measured': what is not measured to the end stands apart."""
    left = {s: n - open_ if s == "measured" else n for s, n in status.items()}
    words = [f"{n} {STATUS_WORDS[s]}" for s, n in left.items() if n or not (open_ and s == "measured")]
    return ", ".join([*words, *([f"{open_} to be measured"] if open_ else [])])


def _state(row: RunRow) -> str:
    """How far a run is; one that is still to be measured is not called measured."""
    unfinished = row.plan is not None and row.plan.outcome == "to measure" and set(row.statuses) == {"measured"}
    return "to be measured" if unfinished else status_words(row.statuses)


def job_plan_text(answer: JobPlanAnswer) -> str:
    """The runs that have a plan without a problem, and how many that are."""
    plans = [row.plan for row in answer.runs if row.plan]
    good = [row for row in answer.runs if row.plan and row.plan.outcome == "planned"]
    cautions = sum(plan.cautions > 0 for plan in plans)
    words = f"{len(good)} of {_many(len(answer.runs), 'run')} planned without a problem"
    words += f", {cautions} with a caution" if cautions else ""
    words += f", {answer.open} still to be measured" if answer.open else ""
    rows = _rows([(row, _becomes_words(row)) for row in good]) if len(answer.runs) <= _MOST_ROWS else []
    return "\n".join([*rows, f"{words}; {answer.planned_now} worked out now"])


def job_run_text(answer: JobRunAnswer) -> str:
    """What is written down about a run, and its card; first what its record says against it."""
    old = [finding_line(f) for f in answer.findings if f.rule in AGAINST_CARD]
    lines = [line for text in old for line in wrap(text, 100, initial_indent="  ", subsequent_indent="    ")]
    lines += [f"  tool: {answer.tool}"] if answer.tool else []
    lines += [f"  hands: {answer.hands}; the forecast is for these, the marks are for any"] if answer.hands else []
    lines += [f"  wires: {', '.join(answer.wires)}"] if answer.wires else []
    lines += [f"  as built: {line}" for line in answer.as_built]
    lines += [f"  note: {answer.note}"] if answer.note else []
    return "\n".join([*lines, *(["", answer.card] if answer.card else [])])


def _becomes_words(row: RunRow) -> str:
    """The status of a run's copies, with what its plan makes of those that are not bent."""
    return status_words([row.becomes if status in NOT_BENT else status for status in row.statuses])


def _rows(runs: Sequence[tuple[RunRow, str]]) -> list[str]:
    """One line a run: key and how many alike, status, raceway, length and bends where they are known, name."""
    cells = [
        (f"{row.run} x {len(row.statuses)}" if len(row.statuses) > 1 else row.run, words, row.raceway, _figures(row))
        for row, words in runs
    ]
    least = (0, 12, 10, 30)
    wide = [max(low, *map(len, column)) for low, column in zip(least, zip(*cells, strict=True), strict=False)]
    return [
        f"  {name:{wide[0]}}  {words:{wide[1]}}  {raceway:{wide[2]}} {figures:{wide[3]}} {row.name}"
        for (name, words, raceway, figures), (row, _) in zip(cells, runs, strict=True)
    ]


def _figures(row: RunRow) -> str:
    if row.plan is None:
        return "not worked out"
    if not row.plan.pieces:
        return row.plan.outcome.upper()
    bends = sum(len(piece.angles_deg) for piece in row.plan.pieces)
    return f"{row.length}, {_many(len(row.plan.pieces), 'piece')}, {_many(bends, 'bend')}" + (
        ", PROBLEM" if row.plan.problems else ""
    )


def job_bill_text(answer: JobBillAnswer, split: Literal["none", "areas", "runs"] = "none") -> str:
    """The whole job's bill, and where it is asked for that of each area or run."""
    bill = answer.bill
    lines = [*left_out(answer.not_included), "", *_bill(answer.name, bill.job, bill.currency)]
    for part in {"none": (), "areas": bill.areas, "runs": bill.runs}[split]:
        lines += ["", *_bill(part.title, part, bill.currency)]
        if part.unpriced and part.material is not None:
            lines.append(f"  not priced: {'; '.join(part.unpriced)}")
    return "\n".join(lines)


def _bill(name: str, bill: Bill, currency: str) -> list[str]:
    lines = [name]
    width = max((len(line.item) for line in bill.lines), default=0)
    for line in bill.lines:
        row = f"  {line.group:10} {line.item:{width}} {line.quantity:>10} {line.unit:4}"
        if line.amount is not None:
            price = f"{line.price} / {line.per}" if line.price is not None else ""
            row += f" {price:>16} {line.amount:>10}"
        if line.labour_h is not None:
            row += f"   {line.labour_h} h" + (f" {line.labour}" if line.labour is not None else "")
        lines.append(row.rstrip())
    if bill.material is not None:
        lines.append(f"  material {bill.material} {currency}".rstrip())
    if bill.labour_h is not None:
        money = f", {bill.labour} {currency}".rstrip() if bill.labour is not None else ""
        lines.append(f"  labor {bill.labour_h} h{money}")
    if bill.total is not None and bill.material is not None and bill.labour is not None:
        lines.append(f"  together {bill.total} {currency}".rstrip())
    return lines


def _many(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def job_cut_text(answer: JobCutAnswer) -> str:
    """Every raceway's list."""
    style = style_of(answer.units)
    lines = [*left_out(answer.not_included), ""]
    lines += [line for one in answer.cuts for line in (*_cuts(one, style), "")]
    lines += [] if answer.cuts else ["nothing to cut"]
    return "\n".join([*lines, "Measure each stick before you cut it; marks count from the hooked end."])


def _cuts(one: RacewayCuts, style: TapeStyle) -> list[str]:
    order = cut_order(one.plan, style)
    pieces = sum(len(s.cuts) for s in order.sticks)
    lines = [
        f"{one.raceway}: {_many(pieces, 'piece')}, {cut_words(one.plan, style)}",
        f"  {left_words(one.plan, style)}",
        *(f"  {words}" for words in (thread_words(one.plan),) if words),
        f"  saw cut {format_length(one.plan.rules.kerf_mm, style)}; length, then (mark from the hooked end)",
    ]
    for stick in order.sticks:
        source = ", ".join(part for part in (stick.offcut_words, stick.source.text) if part)
        cuts = "  ".join(
            f"{c.label} {c.length.text}{c.on_card} ({c.mark.text if c.cut else 'to the end'})"
            f"{CUT_ALREADY if c.there else ''}"
            for c in stick.cuts
        )
        left = f"{stick.new_offcut.text} {'keep' if stick.kept else 'scrap'}" if stick.new_offcut else "nothing"
        lines.append(f"  stick {stick.number:<3} [{source}] {cuts}  left {left}")
    lines.append(f"  saw stop: {_many(len(order.settings), 'setting')} (stick by stick: {order.settings_one_by_one})")
    for number, stop in enumerate(order.settings, 1):
        takes = ", ".join(f"{s}" if n == 1 else f"{s} ({n} pieces)" for s, n in stop.takes)
        lines.append(f"    {number:<3} {stop.length.text:>10}  {stop.pieces} from stick {takes}")
    return lines


def job_kits_text(answer: JobKitsAnswer) -> str:
    """Each kit: for which runs, its pieces, what goes with them."""
    style = style_of(answer.units)
    lines = [*left_out(answer.not_included), ""]
    for kit in answer.kits:
        lines += [f"{kit_words(kit)}: {', '.join(kit.runs)}" if kit.runs else kit_words(kit)]
        width = max((len(line.item) for line in kit.lines), default=0)
        for piece in kit.pieces:
            waits = "  not to be cut yet" if piece.waits else ""
            waits += "".join(f"  {words}" for words in (there_words(piece, kit),) if words)
            card = f", card {piece.card}" if piece.card else ""
            length = f", {format_length(piece.length_mm, style)}{card}" if to_length(piece, kit) else ""
            lines.append(f"  [ ] {'conduit':10} {piece.raceway}{length}: {piece.label}{waits}")
        lines += [
            f"  [ ] {line.group:10} {line.item:{width}} {line.quantity:>10} {line.unit}".rstrip() for line in kit.lines
        ]
        lines.append("")
    lines += [] if answer.kits else ["no kits: nothing has a plan", ""]
    wires = any(line.group == "wire" for kit in answer.kits for line in kit.lines)
    waste = f" Wire holds {answer.wire_waste_percent:g} % for waste." if wires else ""
    other = any(piece.other for kit in answer.kits for piece in kit.pieces)
    but = ", but for those that another plan made: they are on no bill" if other else ""
    words = f"All kits together hold what the bill counts; its sticks are their pieces{but}.{waste}"
    return "\n".join([*lines, words])


def there_words(piece: KitPiece, kit: Kit) -> str:
    """Which copies of a piece of this kit are cut already: 'cut already: copies 1 to 8; made by plan LJ8YBQ, not to
    this length: copy 9', without copies where it is the only one; '' where none is."""
    done = [("cut already", piece.there)] if piece.there else []
    so = ", not to this length" if to_length(piece, kit) else ""
    done += [(f"made by plan {one.plan}{so}", one.copies) for one in piece.other]
    return "; ".join(f"{words}: {copy_words(copies)}" if kit.alike > 1 else words for words, copies in done)


def to_length(piece: KitPiece, kit: Kit) -> bool:
    """Whether the length of a piece of this kit is that of any copy: not where other plans made them all."""
    return sum(len(one.copies) for one in piece.other) < kit.alike


def kit_words(kit: Kit) -> str:
    """'Rooms, 20 kits alike, each', 'Pump house'."""
    return f"{kit.title}, {kit.alike} kits alike, each" if kit.alike > 1 else kit.title


def cut_words(plan: CutPlan, style: TapeStyle) -> str:
    """'18 sticks; no plan can do with fewer', or how much less the best may need."""
    sticks = f"{plan.new_sticks} new stick{'' if plan.new_sticks == 1 else 's'}"
    if plan.new_sticks == 0:
        return "no new stick: what is on hand is enough" if plan.sticks else "nothing to cut"
    if plan.rules.least == "length":
        bought = f"{sticks}, {long_length(plan.new_length_mm, style)} bought"
        if plan.proved:
            return f"{bought}; no plan can do with less"
        return f"{bought}; the best may need {long_length(plan.new_length_mm - plan.least_length_mm, style)} less"
    if plan.proved:
        return f"{sticks}; no plan can do with fewer"
    return f"{sticks}; the best may need {plan.gap_sticks} fewer"


def thread_words(plan: CutPlan) -> str:
    """Which ends of a stick keep their thread, and the pieces that have none though their plan counts on one; ''
    where nothing is threaded."""
    if not any(piece.own_threads for stick in plan.sticks for piece in stick.pieces):
        return ""
    words = "The first and the last piece of each new stick keep its thread: measure the last from the other end."
    bare = ", ".join(piece.label for piece in pieces_without(plan))
    return f"{words} Without one that their plans count on, so cut it too: {bare}." if bare else words


def left_words(plan: CutPlan, style: TapeStyle) -> str:
    """What is left, in words."""
    kept = ", ".join(format_length(r, style) for r in plan.kept_mm) or "nothing"
    unused = f"; on hand, unused: {len(plan.unused_offcuts)}" if plan.unused_offcuts else ""
    scrap, cuts = (long_length(length_mm, style) for length_mm in (plan.scrap_mm, plan.kerf_total_mm))
    return f"kept: {kept}{unused}; scrap {scrap}, saw cuts {cuts}"
