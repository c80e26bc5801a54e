"""One run against all rules of the run: raceway, supports, expansion, wire pulling. Findings, and the figures behind.

A check never raises for what it finds and never promises approval: local code, the authority having jurisdiction and
a licensed person decide.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil, tan

import msgspec

from racewright.catalogue.fittings import find_fitting
from racewright.catalogue.raceways import Raceway
from racewright.codebook.edition import FROM_MEMORY, Cited, Edition, cited, load_edition, marked
from racewright.errors import Finding, LimitError, RacewrightError, about
from racewright.geometry.chain import CornerFit
from racewright.geometry.vector import Frame, Vec
from racewright.inspection.anchors import StrapHolds, anchor_findings, strap_holds, wanted_straps
from racewright.inspection.expansion import PistonSetting, expansion_findings, settings_between, swept_bodies
from racewright.inspection.raceway_rules import PRACTICE, check_raceway
from racewright.inspection.supports import Shortfall, SupportPlan, bodies_of, plan_supports
from racewright.route.model import Route
from racewright.route.run_line import Coupling, EndKind, RunShape, parts_of, slope_rad
from racewright.survey.model import Climate, EndFitting, Survey
from racewright.units.factors import LBF_N
from racewright.units.said import said_force, said_press
from racewright.units.tape import MM_PER_INCH, TapeStyle
from racewright.units.tape import format_length as _show
from racewright.wires.conductors import parse_group
from racewright.wires.pull_path import length_words, path_words
from racewright.wires.pulling import Pull, PullComparison, PullSettings, PullWire, compare_pulls, pull_wires
from racewright.wires.wire_fill import check_fill

GUIDE = "ICEA-based pulling guides"
_RISER_RAD = 1.3
#: Straps are placed at most as often for what moves beside them (seen: three times).
_ROUNDS = 6
#: A pull lighter than this goes by hand from either end, and nobody asks which (our own choice): 10 lb.
_WORTH_SAYING_N = 10.0 * LBF_N


class RunCheck(msgspec.Struct, frozen=True, kw_only=True):
    """What the checks say and the figures they rest on. `supports` None: no tabled spacing for this raceway; `pulls`
    empty: no wires were given, or they do not go in. `holds`: how the straps hold where there are expansion fittings;
    `pistons`: how these are set, in order along the run; `path`: the run in the words that a pull is told by,
    `length`: how long it is, as the length of a circuit is told."""

    findings: tuple[Finding, ...]
    supports: SupportPlan | None
    pulls: tuple[PullComparison, ...]
    holds: StrapHolds = StrapHolds()
    pistons: tuple[PistonSetting, ...] = ()
    path: str = ""
    length: str = ""


def check_run(
    shape: RunShape,
    wires: Sequence[PullWire] | None = None,
    *,
    edition: Edition,
    climate: Climate | None = None,
    tape: TapeStyle = TapeStyle(),  # noqa: B008
    pulling: PullSettings = PullSettings(),  # noqa: B008
) -> RunCheck:
    """Every check on one run. `climate` None: expansion is not worked, and PVC gets a reminder instead. `tape`: how
    messages write lengths. Raises LimitError for a shape that is no run at all (arcs that overlap)."""
    supports, holds = _straps(shape, climate, edition)
    pistons = settings_between(shape, climate, edition, holds.reaches)
    pulls: tuple[PullComparison, ...] = ()
    findings = list(check_raceway(shape, tape, edition=edition))
    findings += _support_findings(shape, supports, holds, tape, edition)
    findings += expansion_findings(shape, climate, tape, edition, tuple(zip(holds.reaches, pistons, strict=False)))
    findings += anchor_findings(holds)
    if wires:
        try:
            pulls = compare_pulls(shape, wires, pulling)
        except LimitError as refusal:
            findings.append(
                Finding(
                    rule="pull.fit",
                    severity="problem",
                    message=refusal.message,
                    citation="geometry of the bore",
                    measured=refusal.asked,
                    allowed=refusal.limit,
                    unit="mm",
                )
            )
        for pull in pulls:
            findings += pull_findings(pull, pulling, several=len(pulls) > 1, tape=tape)
    metric = tape.unit == "mm"
    return RunCheck(
        findings=tuple(findings),
        supports=supports,
        pulls=pulls,
        holds=holds,
        pistons=pistons,
        path=path_words(shape, metric=metric),
        length=length_words(shape.length_mm, metric=metric),
    )


def _straps(shape: RunShape, climate: Climate | None, edition: Edition) -> tuple[SupportPlan | None, StrapHolds]:
    """The straps and how they hold. What a coupling moves hangs on which strap holds its part, and where straps may
    stand on what it moves: the room beside it grows, by whole mm, until what moves stays within it."""
    wanted, room = wanted_straps(shape), bodies_of(shape)
    for _ in range(_ROUNDS):
        supports = plan_supports(shape, edition=edition, wanted=wanted, swept=room)
        holds = strap_holds(shape, supports.stations_mm if supports else ())
        swept = swept_bodies(shape, climate, edition, holds.reaches)
        grown = tuple(
            (a - max(0, ceil(a - c - 1e-6)), b + max(0, ceil(d - b - 1e-6)))
            for (a, b), (c, d) in zip(room, swept, strict=True)
        )
        if grown == room:
            break
        room = grown
    return supports, holds


def _support_findings(
    shape: RunShape, plan: SupportPlan | None, holds: StrapHolds, tape: TapeStyle, book: Edition
) -> Iterator[Finding]:
    if plan is None:
        yield Finding(
            rule="run.supports",
            severity="caution",
            message=f"No support spacing is stored for {shape.raceway.name}: look it up.",
            citation=book.name,
        )
        return
    for short in plan.shortfalls:
        mild = _off_surface(shape, short) or short.kind == "short" or _over_fitting(shape, short)
        article = cited(f"{book.name} {_article(plan, short)}", plan.rule.standing)
        yield Finding(
            rule="run.supports",
            severity="caution" if mild else "problem",
            message=_shortfall_words(short, tape) + " " + _what_would_work(shape, plan, short, holds, tape),
            **cited(PRACTICE) if short.kind == "short" else article,
            where=f"{_show(short.from_mm, tape)} to {_show(short.to_mm, tape)}",
            measured=short.to_mm - short.from_mm,
            allowed=short.allowed_mm,
            unit="mm",
        )
    if "coupling" in (shape.start, shape.end):
        yield Finding(
            rule="run.supports",
            severity="info",
            message="The run goes on past a coupling: measure the spacing on to the next run's strap.",
            **cited(f"{book.name} {plan.rule.article}", plan.rule.standing),
        )
    if shape.raceway.family in ("RMC", "IMC") and any(
        not part.is_bend
        and abs(slope_rad(part.axis, shape.down)) > _RISER_RAD
        and part.length_mm > plan.rule.spacing_mm
        for part in parts_of(shape)
    ):
        yield Finding(
            rule="run.supports",
            severity="info",
            message="A riser in the open that comes from machinery or fixed equipment, with threaded couplings, held "
            "at its top and foot and with nothing between to fix it to, may go 20 ft between supports.",
            **cited(f"{book.name} {plan.rule.article.split('(')[0]}(B)(3)", plan.rule.standing),
        )


def _article(plan: SupportPlan, short: Shortfall) -> str:
    """The first and last support stand in part (A) of each article, the spacing where the table says."""
    return plan.rule.article if short.kind == "gap" else f"{plan.rule.article.split('(')[0]}(A)"


def _off_surface(shape: RunShape, short: Shortfall) -> tuple[float, float] | None:
    """From where to where, within a shortfall, the conduit does not lie on its surface (bends between included)."""
    spans = [(max(a, short.from_mm), min(b, short.to_mm)) for a, b in shape.off_surface_mm]
    spans = [(a, b) for a, b in spans if b - a > 1e-6]
    return (spans[0][0], spans[-1][1]) if spans else None


def _over_fitting(shape: RunShape, short: Shortfall) -> bool:
    """Whether an expansion fitting lies in a shortfall: its barrel has a strap of its own."""
    return any(c.expands and short.from_mm < c.at_mm < short.to_mm for c in shape.couplings)


def _guided_words(holds: StrapHolds, off: tuple[float, float], tape: TapeStyle) -> str:
    """Where what holds the conduit off its surface is to guide; '' where it does not slide."""
    words = ""
    for low, high in ((max(a, off[0]), min(b, off[1])) for a, b in holds.slides):
        if high <= low:
            continue
        words += (
            f" From {_show(low, tape)} to {_show(high, tape)} what holds it is to guide, not tight: it slides there"
        )
        words += " as it grows and shrinks"
        near = [f"near {_show(part.near_mm, tape)}" for part in holds.unheld if low <= part.near_mm <= high]
        words += f"; tight only {' and '.join(near)}." if near else "."
    return words


def _shortfall_words(short: Shortfall, tape: TapeStyle) -> str:
    have, most = _show(short.to_mm - short.from_mm, tape), _show(short.allowed_mm, tape)
    if short.kind == "short":
        return f"The {have} from {_show(short.from_mm, tape)} to {_show(short.to_mm, tape)} has no room for a strap."
    if short.kind == "gap":
        at = _show(short.from_mm, tape)
        return f"No place for a strap within {most} of the one at {at}; the next is {have} on."
    end = short.from_mm if short.kind == "first" else short.to_mm
    return f"No strap can stand within {most} of the termination at {_show(end, tape)}; the nearest leaves {have}."


def _what_would_work(shape: RunShape, plan: SupportPlan, short: Shortfall, holds: StrapHolds, tape: TapeStyle) -> str:
    if short.kind == "short":
        return "Whether so short a length between two terminations needs one is for the inspector to say."
    off = _off_surface(shape, short)
    if off is not None:
        low, high = (_show(s, tape) for s in off)
        return (
            f"From {low} to {high} the conduit does not lie on its surface, so no strap reaches it: hold it there on"
            " strut, a hanger or a spacer, or bring it back to the surface." + _guided_words(holds, off, tape)
        )
    if _over_fitting(shape, short):
        return (
            "The strap of the expansion fitting's barrel stands between: set it within"
            f" {_show(short.allowed_mm, tape)} of both, or take a fitting with less travel."
        )
    relaxed = plan.rule.first_relaxed_mm
    gap = short.to_mm - short.from_mm
    if short.kind != "gap" and relaxed is not None and gap <= relaxed:
        return (
            f"Where structure does not allow a nearer one, an unbroken length may go {_show(relaxed, tape)} "
            f"({marked(plan.rule.relaxed_article, plan.rule.standing)})."
        )
    if any(short.from_mm <= s <= short.to_mm for s, *_ in shape.couplings):
        return "Move the coupling, or hold the conduit on the bend."
    return "Hold the conduit on the bend (strut and clamp), or leave more straight for a strap."


def pull_findings(
    pair: PullComparison,
    settings: PullSettings,
    *,
    several: bool,
    tape: TapeStyle = TapeStyle(),  # noqa: B008
) -> Iterator[Finding]:
    """Findings on one pull: tension, sidewall pressure, holding back, and which end to feed from. `several`: say
    which section is meant."""
    pull = pair.chosen
    recalled = pair.wires.from_memory
    guide = cited(f"{GUIDE}; {', '.join(recalled)}", FROM_MEMORY) if recalled else cited(GUIDE)
    where = f"{_show(pair.start_mm, tape)} to {_show(pair.end_mm, tape)}" if several else ""
    if pull.greatest_tension_n > pair.wires.limit_n:
        yield Finding(
            rule="pull.tension",
            severity="problem",
            message=f"Pulling takes {said_force(pull.greatest_tension_n)}; {pair.wires.limit_reason} allow "
            f"{said_force(pair.wires.limit_n)}. A pull point in between, lubricant or flatter bends would bring it "
            "down.",
            **guide,
            where=where,
            measured=pull.greatest_tension_n,
            allowed=pair.wires.limit_n,
            unit="N",
        )
    if pull.sidewall_n_per_mm > settings.sidewall_limit:
        given = settings.sidewall_limit_n_per_mm is not None
        yield Finding(
            rule="pull.sidewall",
            severity="problem" if given else "caution",
            message=f"A bend presses {said_press(pull.sidewall_n_per_mm)} on the wires; "
            f"{said_press(settings.sidewall_limit)} is the limit"
            + ("." if given else " where the maker gives none. Ask the maker, or take a larger radius."),
            **guide,
            where=where,
            measured=pull.sidewall_n_per_mm * 1000.0,
            allowed=settings.sidewall_limit * 1000.0,
            unit="N/m",
        )
    if any(step.slack for step in pull.steps):
        yield Finding(
            rule="pull.hold_back",
            severity="caution",
            message=f"Fed at end {pull.feed} the wires run down by their own weight: hold the reel back.",
            citation=PRACTICE,
            where=where,
        )
    if max(pair.fed_at_a.greatest_tension_n, pair.fed_at_b.greatest_tension_n) >= _WORTH_SAYING_N:
        yield _direction(pair, where, guide)


def _direction(pair: PullComparison, where: str, guide: Cited) -> Finding:
    def words(pull: Pull) -> str:
        return f"{said_force(pull.tension_n)}, {said_press(pull.sidewall_n_per_mm)} in the worst bend"

    if pair.better:
        other = pair.fed_at_b if pair.better == "A" else pair.fed_at_a
        text = (
            f"Feed at end {pair.better}, pull from end {pair.chosen.pulled_from}: {words(pair.chosen)}. "
            f"The other way: {words(other)}."
        )
    else:
        text = f"Either end may feed: {words(pair.chosen)}."
    return Finding(rule="pull.direction", severity="info", message=text, **guide, where=where)


#: Which way is down in room coordinates (x along the first leg, y to its left, z off the surface).
_DOWN: dict[str, Vec] = {
    "floor": (0.0, 0.0, -1.0),
    "ceiling": (0.0, 0.0, 1.0),
    "right": (0.0, -1.0, 0.0),
    "left": (0.0, 1.0, 0.0),
    "up": (-1.0, 0.0, 0.0),
    "down": (1.0, 0.0, 0.0),
}


#: Ends of a run that is joined by threads.
_THREADED = ("threaded", "hub")


def run_shape(
    survey: Survey,
    raceway: Raceway,
    route: Route,
    fit: CornerFit,
    couplings: tuple[Coupling, ...],
    bend_names: tuple[str, ...] = (),
) -> RunShape:
    """What the rules need of a run: its centreline, ends, couplings, where straps hold it, and which way is down."""
    return RunShape(
        raceway=raceway,
        length_mm=fit.length_mm,
        turns=fit.turns,
        frame=Frame(*fit.frame),
        start=_end_kind(survey.start),
        end=_end_kind(survey.end),
        couplings=couplings,
        off_surface_mm=off_surface_spans(route, fit),
        bend_names=bend_names,
        threaded_couplings=all(find_fitting(end.kind, raceway).kind in _THREADED for end in (survey.start, survey.end)),
        down=_DOWN[survey.going if survey.surface == "wall" else survey.surface],
    )


def off_surface_spans(route: Route, fit: CornerFit) -> tuple[tuple[float, float], ...]:
    """The stretches of the straights (stations, mm) where the run does not lie at strap height on its surface."""
    spans: list[tuple[float, float]] = []
    stop = setback = 0.0
    for lie, turn in zip(route.lies, (*fit.turns, None), strict=True):
        start, stop = stop, fit.length_mm if turn is None else turn.arc_start_mm
        if lie is None:
            spans.append((start, stop))
        else:
            # the straight begins where the arc before it ends: one setback past its corner point
            corner = start - setback
            spans += [(start, corner + lie[0]), (corner + lie[1], stop)]
        if turn is not None:
            setback = turn.radius_mm * tan(turn.angle_rad / 2.0)
            stop = turn.arc_start_mm + turn.radius_mm * turn.angle_rad
    return tuple((a, b) for a, b in spans if b - a > 1e-6)


def check_planned(
    survey: Survey,
    raceway: Raceway,
    route: Route,
    fit: CornerFit,
    couplings: tuple[Coupling, ...],
    bend_names: tuple[str, ...],
) -> RunCheck:
    """All rules on the run by the survey's edition, and on its wires where it names them. `bend_names`: what the card
    calls each bend of the run. Raises InputError for wires
    unknown, UnknownName for an edition that is not here."""
    book = load_edition(survey.edition)
    shape = run_shape(survey, raceway, route, fit, couplings, bend_names)
    if not survey.wires:
        return check_run(shape, edition=book, climate=survey.climate, tape=survey.tape)
    groups = []
    for i, text in enumerate(survey.wires):
        with about(f"run.wires[{i}]"):
            groups.append(parse_group(text, book))
    # Chapter 9 Note 4: a nipple goes from one box or cabinet to the next.
    short = fit.length_mm <= float(book.limit("nipple_longest") * MM_PER_INCH)
    nipple = short and shape.start == shape.end == "box"
    fill = check_fill(raceway, groups, book, nipple=nipple)
    extra: list[Finding] = list(fill.findings)
    try:
        wires = pull_wires(groups, book)
    except RacewrightError as err:
        wires = ()
        extra.append(
            Finding(rule="pull.wires", severity="info", message=err.message, citation="no table for these wires")
        )
    checked = check_run(shape, wires, edition=book, climate=survey.climate, tape=survey.tape)
    return msgspec.structs.replace(checked, findings=(*checked.findings, *extra))


def _end_kind(end: EndFitting) -> EndKind:
    if end.kind == "none":
        return "free"
    return "coupling" if end.kind.endswith("coupling") else "box"
