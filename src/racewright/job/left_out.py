"""What a bill and a cut list leave out: one line each, what, why, and what to do about it. Doors and paper lay them out
before the first table."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from racewright.job.bench_list import BenchList
from racewright.job.cut_already import Begun, begun, by_other, cut_already, cut_for, cut_for_other, cut_words, to_cut
from racewright.job.materials import without_sticks
from racewright.job.piece_labels import PieceLabels
from racewright.job.plan_job import PlannedRun
from racewright.plan.model import Plan
from racewright.records.model import Job, JobRun
from racewright.records.naming import piece_name, with_copies
from racewright.records.superseded import CUT_FOR_OTHER
from racewright.takeoff.bill_model import Bill, JobBill, RacewayCuts
from racewright.units.tape import TapeStyle, format_length

#: So many runs without a plan have a line each; more have one together.
_FEW = 5
#: Behind a piece that is begun, and for the rest of which new marks hold, or none do; before the plan that it was begun
#: by.
_ANEW, _STOPPED, _BY = " (begun, new marks)", " (begun, STOP)", " (begun, plan "
#: Behind a piece that is only cut, and for another plan.
_CUT_FOR = f" ({cut_for('')}"
#: Behind a piece of which no bend is left.
_DONE = " (bends made)"
#: What is done of a piece of which bends were made by other marks than those that hold, or are far from where they
#: belong, or were read otherwise by another.
_ASK_ANEW = (
    "Bend nothing more of it: measure the bends that are made, and ask for new marks; measure it where all of them are"
    " made (job.other_marks, run.superseded, job.far_off, job.read_otherwise)."
)
#: What no plan shows, whatever the runs are.
_UNLESS_NAMED = (
    "boxes, covers, conduit bodies, pull boxes; supports other than straps, anchors, screws; grounding bushings,"
    " bonding jumpers, seals; devices, splices, lugs, labels; pulling compound, blades; spares other than wire. Tax and"
    " freight never are"
)


def left_out_of_bill(job: Job, planned: Sequence[PlannedRun], bill: JobBill | None) -> tuple[str, ...]:
    """What the bill of these runs leaves out."""
    good = [(p, p.plan) for p in _counted(planned) if p.plan]
    lines = [*_no_plan(planned), *_no_stick(planned), *_no_wires(good)]
    lines += [*_free_ends(good), *_no_straps(good), *_on_hand(bill.cuts if bill else ())]
    done = _by_present(job, good)
    if done:
        lines.append(f"Bought already, yet on the bill: {'; '.join(done)}. Take off what is there.")
    lines += _by_others(job, good, "its conduit is not on the bill, while its fittings, straps and wires are")
    if bill:
        lines += _money(job, bill.job)
    rest = f"ounted only where items of the run or of the job name them: {_UNLESS_NAMED}."
    return (*lines, f"C{rest}" if lines else f"Nothing else known is left out, but c{rest}")


def left_out_of_cuts(
    job: Job,
    planned: Sequence[PlannedRun],
    cuts: Sequence[RacewayCuts],
    style: TapeStyle,
    *,
    again: bool = False,
    raceway: str = "",
) -> tuple[str, ...]:
    """What the cut list of these runs leaves out of the job: runs and copies that are cut already among it, unless it
    lists them `again`; then that is told. `raceway`: the only one that it is of."""
    lines = [*_no_plan(planned), *_no_stick(planned)]
    lines += [f"{one.raceway}: {words}" for one in cuts for words in (waiting_words(one, style),) if words]
    lines += _on_hand(cuts)
    good = [(p, p.plan) for p in _counted(planned) if p.plan]
    if again:
        done = _by_present(job, good)
        if done:
            lines.append(f"Cut already, yet on the cut list: {'; '.join(done)}. Do not cut them again.")
        lines += _by_others(job, good, "it is on no stick of this list")
    else:
        done, half = _cut_of(job, job.runs, good), _begun_of(job, good)
        stopped = [words for words in half if words.endswith(_STOPPED)]
        recut = [words for words in half if _CUT_FOR in words]
        done += [words for words in half if words.endswith(_DONE)]
        half = [words for words in half if words not in (*stopped, *recut, *done)]
        if done:
            lines.append(
                f"Cut already, so not on the cut list: {'; '.join(done)}. Set back to measured what is to be"
                " made again."
            )
        if half:
            by = "by its new marks where it has some, else " if any(words.endswith(_ANEW) for words in half) else ""
            by += "by the sheet of the plan that is named, else " if any(_BY in words for words in half) else ""
            lines.append(
                f"Cut already, so not on the cut list: {'; '.join(half)}. Finish it {by}by its card; what is scrapped,"
                " set to bent and back to measured."
            )
        if recut:
            lines.append(
                f"Cut already for another plan than its run has now, so not on the cut list: {'; '.join(recut)}."
                f" {CUT_FOR_OTHER}"
            )
        if stopped:
            lines.append(f"Cut already, so not on the cut list: {'; '.join(stopped)}. {_ASK_ANEW}")
    others = sorted({plan.raceway for p, plan in good if _to_list(job, p.run, plan, again=again)} - {raceway})
    if raceway and others:
        lines.append(f"Not on this cut list: {', '.join(others)}, not asked for here. Each has a list of its own.")
    return tuple(lines)


def _to_list(job: Job, run: JobRun, plan: Plan, *, again: bool) -> bool:
    """Whether a cut list has a piece of this run."""
    there = cut_already(job, run, plan)
    return run.times * len(plan.pieces) > sum(not again or by != "" for by in there.values())


def left_out_of_kits(job: Job, planned: Sequence[PlannedRun], *, area: str = "") -> tuple[str, ...]:
    """What the kits of these runs leave out; `area`: the only one that they are of."""
    good = [(p, p.plan) for p in _counted(planned) if p.plan]
    lines = [*_no_plan(planned), *_no_stick(planned), *_no_wires(good)]
    lines += [*_free_ends(good), *_no_straps(good)]
    waiting = [p.key for p, plan in good if not all(piece.order_known for piece in plan.pieces)]
    if waiting:
        lines.append(
            f"Not to be cut yet, so not ready to go: pieces of {_some(waiting)}. Do what the finding (bend.order) says"
            " would work."
        )
    done = _cut_of(job, [p.run for p, _ in good], good) + _begun_of(job, good)
    if done:
        lines.append(f"There already, yet in the kits: {'; '.join(done)}. Leave out what is there.")
    if area and job.head.items:
        lines.append(f"What the job itself names is in no room's kit: {_some([item.item for item in job.head.items])}.")
    rest = f"n a kit only where items of the run name them: {_UNLESS_NAMED}."
    return (*lines, f"I{rest}" if lines else f"Nothing else known is left out, but i{rest}")


def left_out_of_batch(planned: Sequence[PlannedRun], bench: BenchList) -> tuple[str, ...]:
    """What the batch list of these runs leaves out."""
    lines = _no_plan(planned)
    if bench.waiting:
        lines.append(
            f"No bending order is known, so not to be bent yet: {_some(bench.waiting)}. Do what the finding"
            " (bend.order) says would work."
        )
    if bench.bent:
        lines.append(f"No bend of it is left: {_some(bench.bent)}.")
    if bench.begun:
        lines.append(f"Bends are made on it already: {_some(bench.begun)}. Finish it by its own card.")
    if bench.other:
        lines.append(
            f"Bends are made on it already, by another plan than its run has now: {_some(bench.other)}. Finish it by"
            " the sheet that bears this plan (run.superseded)."
        )
    if bench.cut_for_other:
        lines.append(
            f"Cut already for another plan than its run has now: {_some(bench.cut_for_other)}. {CUT_FOR_OTHER}"
        )
    if bench.anew:
        lines.append(
            f"Bends are made on it already, and new marks were kept for the rest: {_some(bench.anew)}. Finish it by its"
            " new marks, not by those of its card (job.new_marks)."
        )
    if bench.stopped:
        lines.append(
            "Bends are made on it already, by other marks than those that hold now or far from where they belong:"
            f" {_some(bench.stopped)}. {_ASK_ANEW}"
        )
    straight = [p.key for p in planned if p.plan and not any(piece.bends for piece in p.plan.pieces)]
    if straight:
        lines.append(f"Nothing to bend in {_some(straight)}: cut by the cut list alone.")
    return tuple(lines)


def left_out_of_labels(planned: Sequence[PlannedRun], made: PieceLabels) -> tuple[str, ...]:
    """What the labels of these runs leave out."""
    lines = _no_plan(planned)
    if made.waiting:
        lines.append(
            f"Not to be cut yet, so without a label: {_some(made.waiting)}. Do what the finding (bend.order) says would"
            " work."
        )
    if made.other:
        lines.append(
            "Bent or begun by another plan than its run has now, so without a label of this one:"
            f" {_some(made.other)}. It keeps the label of its own plan (run.superseded)."
        )
    return tuple(lines)


def waiting_words(cuts: RacewayCuts, style: TapeStyle) -> str:
    """The pieces that are not to be cut yet, why, and what to do; '' where there are none."""
    pieces = [f"{p.label} {format_length(p.length_mm, style)}" for p in cuts.pieces_waiting]
    if not pieces:
        return ""
    return (
        f"Waiting, not to be cut yet: {_some(pieces)}. No bending order is known, and what makes one possible changes"
        " the piece; the bill counts its stick. Do what the finding (bend.order) says would work."
    )


def _counted(planned: Sequence[PlannedRun]) -> list[PlannedRun]:
    """The runs that are billed and cut."""
    lost = {p.key for p in without_sticks(planned)}
    return [p for p in planned if p.plan and p.key not in lost]


def _no_plan(planned: Sequence[PlannedRun]) -> list[str]:
    lines = []
    for to_measure, what, first in ((True, "are still to be measured", "measure"), (False, "have no plan", "mend")):
        lost = [p for p in planned if p.plan is None and p.to_measure == to_measure]
        if len(lost) > _FEW:
            lines.append(
                f"{len(lost)} runs {what}, so nothing of them is counted or cut: {_some(_keys(lost))}. What each"
                f" lacks stands among the findings (job.no_plan): {first} that first."
            )
        else:
            lines += [f"{p.key}: {p.left_out_words}" for p in lost]
    return lines


def _no_stick(planned: Sequence[PlannedRun]) -> list[str]:
    lost = [p for p in without_sticks(planned) if p.plan]
    if not lost:
        return []
    them = "it" if len(lost) == 1 else "them"
    return [
        f"{_some(_keys(lost))}: no stick is long enough, so nothing of {them} is counted or cut. Do what the"
        " finding (run.sticks) says would work."
    ]


def _no_wires(good: Sequence[tuple[PlannedRun, Plan]]) -> list[str]:
    bare = [p for p, _ in good if not (p.run.wires or p.run.survey.run.wires)]
    if not bare:
        return []
    if len(bare) == len(good):
        return ["Wire: none, because no run names its wires. Write them on the runs or in their surveys."]
    named = "1 run that names" if len(bare) == 1 else f"{len(bare)} runs that name"
    return [f"Wire: none for {named} no wires ({_some(_keys(bare))}). Write them on the run or in its survey."]


def _free_ends(good: Sequence[tuple[PlannedRun, Plan]]) -> list[str]:
    ends = [
        f"{p.key} end {end}"
        for p, plan in good
        for end in ("A", "B")
        if not any(joint.run_end == end for joint in plan.joints)
    ]
    if not ends:
        return []
    named = "1 end" if len(ends) == 1 else f"{len(ends)} ends"
    return [f"Fittings: none for {named} left open ({_some(ends)}). Say in the survey what fitting goes there, if any."]


def _no_straps(good: Sequence[tuple[PlannedRun, Plan]]) -> list[str]:
    """What the support plans could not place: no strap can stand there, or no spacing is stored."""
    short = [p for p, plan in good if any(f.rule == "run.supports" and f.severity != "info" for f in plan.findings)]
    if not short:
        return []
    return [
        f"Supports: no strap is counted for parts of {_some(_keys(short))}; each card says where (run.supports)."
        " Add strut, hangers or spacers."
    ]


def _on_hand(cuts: Sequence[RacewayCuts]) -> list[str]:
    used: Counter[str] = Counter()
    for one in cuts:
        used[one.raceway] += sum(stick.offcut > 0 for part in one.parts for stick in part.sticks)
    words = [f"{count} of {raceway}" for raceway, count in used.items() if count]
    if not words:
        return []
    return [f"On hand, so not bought: sticks and offcuts, {_some(words)}. Look first whether they are there."]


def _money(job: Job, bill: Bill) -> list[str]:
    if not job.prices.items and bill.material is None and bill.labour_h is None:
        return [
            "Money and hours: no prices are given here. Give them with `racewright job prices`; phones know them only"
            " where the shop's computer lets them."
        ]
    lines = []
    if bill.material is None:
        lines.append("Money for material: no item of this bill has a price. Give them in the job's prices.")
    elif bill.unpriced:
        lines.append(_without(bill.unpriced, "price", "material"))
    # Conduit has its hours at the sticks, or at the cut length.
    timed = {b.item.rpartition(", ")[0] for b in bill.lines if b.group == "conduit" and b.labour_h is not None}
    untimed = [
        b.item
        for b in bill.lines
        if b.labour_h is None
        and not (b.group == "conduit" and (b.unit == "each" or b.item.rpartition(", ")[0] in timed))
    ]
    if bill.labour_h is None:
        lines.append("Labor: no item of this bill has hours. Give them in the job's prices.")
    elif untimed:
        lines.append(_without(untimed, "hours", "labor"))
    if bill.labour_h is not None and bill.labour is None:
        lines.append("Money for labor: the job's prices say nothing of what an hour costs. Give the labor rate there.")
    return lines


def _without(items: Sequence[str], what: str, of: str) -> str:
    count = "1 item has" if len(items) == 1 else f"{len(items)} items have"
    return f"{count} no {what}, so the sum for {of} is too low: {_some(items, '; ', 3)}. Give it in the job's prices."


def _cut_of(job: Job, runs: Sequence[JobRun], good: Sequence[tuple[PlannedRun, Plan]]) -> list[str]:
    """What is bent of these runs, each by its copies; none is left out, for nobody is to cut it again."""
    plans = {p.key: plan for p, plan in good}
    return [words for run in runs for words in (cut_words(job, run, plans.get(run.key)),) if words]


def _begun_of(job: Job, good: Sequence[tuple[PlannedRun, Plan]], *, by_others: bool = True) -> list[str]:
    """The pieces that are begun, by what stands on them, with what their rest is bent by."""
    return [
        with_copies(piece_name(p.key, one.number, len(plan.pieces)), [one.copy] if p.run.alike else []) + _begun_by(one)
        for p, plan in good
        for statuses in (job.statuses(p.run),)
        for one in begun(job, p.run, plan)
        if to_cut(statuses[one.copy - 1]) and (by_others or not one.other)
    ]


def _begun_by(one: Begun) -> str:
    if one.rest_by == "other plan":
        return f"{_BY}{one.other})"
    if one.rest_by == "card once cut":
        return f" ({cut_for(one.other)})"
    by_card = " (begun)" if one.bent else " (cut)"
    return {"none": _STOPPED, "done": _DONE, "new marks": _ANEW, "card": by_card}[one.rest_by]


def _by_present(job: Job, good: Sequence[tuple[PlannedRun, Plan]]) -> list[str]:
    """What is cut of these runs by their present plans, as in `_cut_of` and `_begun_of`."""
    bent = [cut_words(job, p.run, plan, _copies_by_others(job, p.run, plan)) for p, plan in good]
    return [words for words in bent if words] + _begun_of(job, good, by_others=False)


def _by_others(job: Job, good: Sequence[tuple[PlannedRun, Plan]], so: str) -> list[str]:
    """What is there of these runs and was made by another plan than is their run's now."""
    made, cut = [], []
    for p, plan in good:
        only_cut = cut_for_other(job, p.run, plan)
        for (copy, number), by in sorted(by_other(job, p.run, plan).items()):
            name = with_copies(piece_name(p.key, number, len(plan.pieces)), [copy] if p.run.alike else [])
            if (copy, number) in only_cut:
                cut.append(f"{name} ({cut_for(by)})")
            else:
                made.append(f"{name} (plan {by})")
    lines = []
    if made:
        lines.append(
            f"Made by another plan than its run has now, so {so}: {_some(made)}. What is there is as long as the sheet"
            " of that plan says; set back to measured what is to be made again."
        )
    if cut:
        lines.append(f"Cut already for another plan than its run has now, so {so}: {_some(cut)}. {CUT_FOR_OTHER}")
    return lines


def _copies_by_others(job: Job, run: JobRun, plan: Plan) -> set[int]:
    """The copies of which every piece was made by another plan."""
    count = Counter(copy for copy, _ in by_other(job, run, plan))
    return {copy for copy, pieces in count.items() if pieces == len(plan.pieces)}


def _keys(runs: Sequence[PlannedRun | JobRun]) -> list[str]:
    return [run.key for run in runs]


def _some(words: Sequence[str], between: str = ", ", most: int = _FEW) -> str:
    """The first few, and how many more."""
    rest = len(words) - most
    return between.join(words[:most]) + (f" and {rest} more" if rest > 0 else "")
