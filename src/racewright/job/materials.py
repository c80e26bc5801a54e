"""From a job's plans to what the bill and the cut list take: lengths as the tape shows them, parts by their names."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from math import ceil

import msgspec

from racewright.assembly.joints import KNOCKOUT, is_coupling
from racewright.catalogue.fittings import find_fitting
from racewright.catalogue.raceways import Raceway
from racewright.codebook.edition import load_edition
from racewright.errors import Finding
from racewright.job.cut_already import Copies, copies_to_cut, cut_already
from racewright.job.plan_job import PlannedRun
from racewright.plan.model import Plan, PlannedPiece
from racewright.records.model import Item, Job, JobHead, JobRun
from racewright.records.naming import piece_name
from racewright.records.parse import check_on_hand, length_mm, on_hand, stock_raceway
from racewright.records.prices import Prices, decimal, plain_name
from racewright.records.sticks import from_stock
from racewright.takeoff.bill import conduit_item, make_bill
from racewright.takeoff.bill_model import (
    FluidNeed,
    Group,
    JobBill,
    Part,
    PriceBook,
    PriceEntry,
    RacewayCuts,
    RunMaterials,
    WireNeed,
    of_copies,
)
from racewright.takeoff.cement import FILM_MM, socket_mm3
from racewright.takeoff.cutting_model import CutRules, Least, RunOffcut, WantedPiece
from racewright.takeoff.raceway_cuts import raceway_cuts
from racewright.units.length import parse_length
from racewright.units.tape import TapeStyle, format_length, read_tape, style_of
from racewright.wires.conductors import parse_groups

#: Words in an item's name that say where it stands on the bill, the first found counts.
_GROUP_WORDS: tuple[tuple[str, Group], ...] = (
    ("bushing", "bushing"),
    ("coupling", "coupling"),
    ("connector", "connector"),
    ("strap", "strap"),
    ("box", "box"),
)
#: A strap in which conduit is to slide (common practice, no source: of the same maker and size, of a kind that does not
#: clamp).
GUIDE = "guide strap (snap-in or loose, not one that grips)"
#: A length that is so near a step of the tape (in steps) stands on it.
_ON_A_STEP = 1e-6


def job_tape(head: JobHead) -> TapeStyle:
    """How the job's tape reads."""
    return style_of(head.units)


def billed(job: Job, planned: Sequence[PlannedRun]) -> JobBill:
    """The bill of a job's planned runs, with what belongs to the job alone. Raises InputError, LimitError."""
    good = from_sticks(planned)
    return make_bill(
        materials_of(job, planned),
        job_stock(job, good, {}),
        job_prices(job),
        style=job_tape(job.head),
        wire_waste_percent=job.head.wire_waste,
    )


def materials_of(job: Job, planned: Sequence[PlannedRun]) -> list[RunMaterials]:
    """What each of the planned runs needs, and last what belongs to the job alone. Raises InputError."""
    found = [*(run_materials(run, plan, job) for run, plan in from_sticks(planned)), *job_extras(job.head)]
    called: dict[str, str] = {}
    return [msgspec.structs.replace(one, parts=tuple(_as_called(part, called) for part in one.parts)) for one in found]


def _as_called(part: Part, called: dict[str, str]) -> Part:
    """The part under the name that is written first of those that are one, so that it is one line of a list."""
    name = called.setdefault(plain_name(part.item), " ".join(part.item.split()))
    return part if name == part.item else msgspec.structs.replace(part, item=name)


def cuts_of(
    job: Job,
    planned: Sequence[PlannedRun],
    *,
    again: bool = False,
    raceway: str = "",
    least: Least = "sticks",
    effort: int = 1,
) -> tuple[RacewayCuts, ...]:
    """The cut list of each raceway of these runs, by name, of what is still to be cut; `again`: of all, with what is
    cut already marked, but for what other plans made; `raceway`: only that one. Raises InputError, LimitError."""
    copies = {} if again else copies_to_cut(job, {p.key: p.plan for p in planned if p.plan})
    good = [(run, plan) for run, plan in from_sticks(planned) if again or run.key in copies]
    asked, tape = " ".join(raceway.split()).casefold(), job_tape(job.head)
    cuts: list[RacewayCuts] = []
    for name, rules in sorted(job_stock(job, good, copies, effort=effort).items()):
        if asked in ("", name.casefold()):
            pieces = [
                piece
                for run, plan in good
                if plan.raceway == name
                for piece in of_copies(
                    listed_pieces(run, plan, tape),
                    run.times,
                    _copies(run, copies),
                    cut_already(job, run, plan),
                )
            ]
            found = raceway_cuts(name, pieces, msgspec.structs.replace(rules, least=least), again=again)
            cuts += [found] if found else []
    return tuple(cuts)


def without_sticks(planned: Sequence[PlannedRun]) -> tuple[PlannedRun, ...]:
    """The planned runs of which a piece is longer than any stick: neither billed nor cut."""
    return tuple(p for p in planned if any(f.rule == "run.sticks" for f in p.findings))


def from_sticks(planned: Sequence[PlannedRun]) -> list[tuple[JobRun, Plan]]:
    """The runs that are billed and cut, each with its plan."""
    left = {p.key for p in without_sticks(planned)}
    return [(p.run, p.plan) for p in planned if p.plan and p.key not in left]


def run_materials(run: JobRun, plan: Plan, job: Job) -> RunMaterials:
    """What one planned run needs, of copies alike each. Raises InputError for a slack or a wire that cannot be read."""
    return RunMaterials(
        run=run.key,
        times=run.times,
        area=run.area,
        raceway=plan.raceway,
        pieces=listed_pieces(run, plan, job_tape(job.head)),
        there=cut_already(job, run, plan),
        parts=(*_fittings(plan), *_items(run.items)),
        wires=_wires(run, plan, job.head),
        fluids=_fluids(plan),
    )


def wanted_pieces(run: JobRun, plan: Plan) -> tuple[WantedPiece, ...]:
    """The pieces of one copy of the run as they are cut: the tape's reading, or the least stock where it is trimmed
    after bending; and those that are not to be cut yet."""
    return tuple(
        WantedPiece(
            label=piece_name(run.key, i, len(plan.pieces)),
            length_mm=_cut_mm(piece, plan.tape),
            run=run.key,
            threads=sum(end.thread != "" for end in (piece.end_a, piece.end_b)),
            own_threads=sum(end.thread == "own" for end in (piece.end_a, piece.end_b)),
            offcut=piece.offcut,
            whole=piece.is_whole,
            waits=not piece.order_known,
        )
        for i, piece in enumerate(plan.pieces, 1)
    )


def listed_pieces(run: JobRun, plan: Plan, tape: TapeStyle) -> tuple[WantedPiece, ...]:
    """The same on the tape of the job's lists: what a finer tape, or one in the other unit, shows on the card is
    rounded up, at most to the end of what it is cut from, and keeps its own reading."""
    pieces = zip(wanted_pieces(run, plan), plan.pieces, strict=True)
    return tuple(_on_tape(wanted, piece, plan.tape, tape) for wanted, piece in pieces)


def _on_tape(wanted: WantedPiece, piece: PlannedPiece, own: TapeStyle, tape: TapeStyle) -> WantedPiece:
    step_mm = float(tape.step_mm)
    up_mm = ceil(wanted.length_mm / step_mm - _ON_A_STEP) * step_mm
    if wanted.whole or up_mm - wanted.length_mm <= _ON_A_STEP * step_mm:
        return wanted
    if piece.stock_mm:
        up_mm = min(up_mm, piece.stock_mm)
    card = "" if own == tape else format_length(wanted.length_mm, own)
    return msgspec.structs.replace(wanted, length_mm=up_mm, card=card)


def _copies(run: JobRun, copies: Copies) -> Sequence[int]:
    """Which copies of a run are meant."""
    return copies.get(run.key, range(1, run.times + 1))


def job_extras(head: JobHead) -> tuple[RunMaterials, ...]:
    """What belongs to the job and to no run, if anything."""
    return (RunMaterials(run="", parts=_items(head.items)),) if head.items else ()


def job_stock(
    job: Job, planned: Sequence[tuple[JobRun, Plan]], copies: Copies, *, effort: int = 1
) -> dict[str, CutRules]:
    """What each raceway of these runs is cut from: of each run the sticks that its survey names, else those that the
    job buys, else the catalogue's; what the job has on hand; and the offcuts of these runs' surveys, each run its
    own, and each of these copies of it. Raises LimitError for more sticks on hand than it can look at."""
    check_on_hand(job.head)
    raceways = {plan.raceway: plan.conduit for _, plan in planned}
    return {
        name: _rules(job, raceway, [run for run, plan in planned if plan.raceway == name], copies, effort)
        for name, raceway in raceways.items()
    }


def job_prices(job: Job) -> PriceBook:
    """The user's prices, with those of the sticks. Raises InputError for an item that is priced twice."""
    head, prices = job.head, job.prices
    entries = [
        PriceEntry(
            item=p.item,
            per=p.per,
            price=decimal(p.price, f"prices.items[{i}].price"),
            labour_h=decimal(p.labour_h, f"prices.items[{i}].labour_h"),
        )
        for i, p in enumerate(prices.items)
    ]
    named = {plain_name(e.item) for e in entries}
    for item, price in _stick_prices(head):
        if plain_name(item) not in named:
            named.add(plain_name(item))
            entries.append(PriceEntry(item=item, price=price))
    rate = decimal(prices.labour_rate, "prices.labour_rate")
    return PriceBook(entries, currency=prices.currency, labour_rate=rate)


def sticks_priced_twice(head: JobHead, prices: Prices) -> Iterator[Finding]:
    """A caution for each stick that is bought at one price by the job's stock and at another by its prices, whose own
    counts."""
    listed = {plain_name(p.item): (p, decimal(p.price, f"prices.items[{i}].price")) for i, p in enumerate(prices.items)}
    for item, price in _stick_prices(head):
        one, counts = listed.get(plain_name(item), (None, None))
        if one and (one.per != "each" or counts != price):
            here = "no price" if counts is None else f"{counts}{'' if one.per == 'each' else f' for {one.per}'}"
            yield Finding(
                rule="job.price_twice",
                severity="caution",
                message=f"{item}: {price} in the job's stock, {here} in its prices, which count: take one out.",
                where=item,
            )


def _stick_prices(head: JobHead) -> Iterator[tuple[str, Decimal]]:
    """The sticks that are bought and priced in the job's stock, as the bill calls them."""
    for i, stock in enumerate(head.stock):
        price = decimal(stock.price, f"head.stock[{i}].price")
        if price is not None and stock.count is None:
            length = length_mm(stock.length, head, f"head.stock[{i}].length")
            yield conduit_item(stock_raceway(stock, i).name, length, job_tape(head)), price


def _cut_mm(piece: PlannedPiece, tape: TapeStyle) -> float:
    if piece.trim_after:
        return piece.least_stock_mm
    if piece.is_whole:
        return piece.stock_mm
    shown = read_tape(piece.cut_length_mm, tape).shown_mm
    # It stays within its stick where the tape would round it up past the end.
    return piece.cut_length_mm if piece.stock_mm and shown > piece.stock_mm >= piece.cut_length_mm else shown


def _fittings(plan: Plan) -> list[Part]:
    name = plan.raceway
    parts = []
    for joint in plan.joints:
        if joint.kind == KNOCKOUT:
            # Two locknuts and a bushing at a knockout (common practice, no source).
            parts += [
                Part(group="connector", item=f"{name} locknut", count=2),
                Part(group="bushing", item=f"{name} bushing", count=1),
            ]
        elif is_coupling(joint):
            parts.append(Part(group="coupling", item=f"{name} {joint.kind}", count=1))
            if joint.how == "expands":
                # its barrel is thicker than the conduit and is guided by a strap of its own
                parts.append(Part(group="strap", item=f"{name} strap for the barrel of an expansion fitting", count=1))
        else:
            what = joint.kind if joint.kind == "hub" else f"{joint.kind} connector"
            parts.append(Part(group="connector", item=f"{name} {what}", count=1))
    if plan.checks:
        guides = len(plan.checks.guides_mm)
        kinds = ((f"{name} strap", len(plan.checks.straps_mm) - guides), (f"{name} {GUIDE}", guides))
        parts += [Part(group="strap", item=item, count=count) for item, count in kinds if count]
    return parts


def _fluids(plan: Plan) -> tuple[FluidNeed, ...]:
    """Primer and cement for every socket: one at a box, two at whatever stands between two conduits."""
    conduit = plan.conduit
    depths = []
    for joint in plan.joints:
        if joint.how in ("cemented", "expands"):
            kind = "socket coupling" if is_coupling(joint) else joint.kind
            depths += [find_fitting(kind, conduit).insertion_mm] * (2 if is_coupling(joint) else 1)
    if not depths:
        return ()
    return tuple(
        FluidNeed(
            item=f"{conduit.family} {what}",
            volume_mm3=sum(socket_mm3(what, conduit.outside_diameter_mm, depth) for depth in depths),
        )
        for what in FILM_MM
    )


def _items(items: Sequence[Item]) -> tuple[Part, ...]:
    return tuple(Part(group=_group(item.item), item=item.item, count=item.count) for item in items)


def _group(name: str) -> Group:
    words = name.casefold()
    return next((group for word, group in _GROUP_WORDS if word in words), "other")


def _wires(run: JobRun, plan: Plan, head: JobHead) -> tuple[WireNeed, ...]:
    """The run's own wires, else those of its survey: the run's length and the slack at both ends."""
    slack = run.wire_slack if run.wire_slack is not None else head.wire_slack
    length = plan.developed_length_mm + 2.0 * length_mm(slack, head, f"{run.key}.wire_slack")
    if run.wires:
        named = [(wire_item(w.size, w.insulation, w.colour, w.material), w.count) for w in run.wires]
    elif run.survey.run.wires:
        groups = parse_groups(run.survey.run.wires, load_edition(run.survey.edition))
        named = [(wire_item(group.wire.label, "", group.role), group.count) for group in groups]
    else:
        named = []
    return tuple(WireNeed(item=item, count=count, length_mm=length) for item, count in named)


def wire_item(size: str, insulation: str, colour: str, metal: str = "copper") -> str:
    """'wire 12 THWN-2, black'; a metal other than copper is named."""
    kind = " ".join(part for part in ("wire", size, insulation, "" if metal == "copper" else metal) if part)
    return f"{kind}, {colour}" if colour else kind


def _rules(job: Job, raceway: Raceway, runs: Sequence[JobRun], copies: Copies, effort: int) -> CutRules:
    head = job.head
    there: list[float] = []
    whole: list[int] = []
    for i, stock in enumerate(head.stock):
        if stock_raceway(stock, i).name == raceway.name and (count := on_hand(stock)):
            there += [length_mm(stock.length, head, f"head.stock[{i}].length", allow_zero=False)] * count
            whole += [] if stock.offcut else range(len(there) - count + 1, len(there) + 1)
    bought: set[float] = set()
    for run in runs:  # each is cut from what it is planned from
        written = from_stock(run.survey, head)
        sticks = [float(parse_length(s, written.units, field=f"{run.key}.stock")) for s in written.run.stock]
        bought.update(sticks or [raceway.stock_length_mm])
    return CutRules(
        stock_mm=tuple(sorted(bought, reverse=True)),
        offcuts_mm=tuple(there),
        sticks_on_hand=tuple(whole),
        run_offcuts=tuple(offcut for run in runs for offcut in _run_offcuts(run, _copies(run, copies))),
        kerf_mm=length_mm(head.cutting.kerf, head, "head.cutting.kerf"),
        keep_mm=length_mm(head.cutting.keep, head, "head.cutting.keep"),
        effort=effort,
    )


def _run_offcuts(run: JobRun, copies: Sequence[int]) -> tuple[RunOffcut, ...]:
    written = run.survey
    lengths = [parse_length(v, written.units, field=f"{run.key}.offcuts") for v in written.run.offcuts]
    return tuple(
        RunOffcut(run=run.key, copy=copy, number=n, length_mm=float(mm))
        for copy in copies
        for n, mm in enumerate(lengths, 1)
    )
