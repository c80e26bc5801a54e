"""One run against all rules of the run: raceway, supports, expansion, wire pulling. Findings, and the figures behind.

A check never raises for what it finds and never promises approval: local code, the authority having jurisdiction and
a licensed person decide.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import msgspec

from racewright.catalogue.tables import FROM_MEMORY, marked
from racewright.codebook.edition import Cited, Edition, cited
from racewright.codebook.run_tables import expansion_row, family
from racewright.errors import Finding, LimitError
from racewright.inspection.expansion import Climate, StraightMove, expansion_of
from racewright.inspection.raceway_rules import PRACTICE, RacewaySettings, check_raceway
from racewright.inspection.supports import Shortfall, SupportPlan, SupportSettings, plan_supports
from racewright.route.run_line import RunShape, parts_of, slope_rad
from racewright.units.factors import LBF_N
from racewright.units.said import said_force, said_press
from racewright.units.tape import TapeStyle
from racewright.units.tape import format_length as _show
from racewright.wires.pull_wires import PullWire
from racewright.wires.pulling import Pull, PullComparison, PullSettings, compare_pulls

GUIDE = "ICEA-based pulling guides"
_RISER_RAD = 1.3
#: A pull lighter than this goes by hand from either end, and nobody asks which (our own choice): 10 lb.
_WORTH_SAYING_N = 10.0 * LBF_N


class RunSettings(msgspec.Struct, frozen=True, kw_only=True):
    """Settings of all checks. `climate` None: expansion is not worked, and PVC gets a reminder instead. `tape`: how
    messages write lengths."""

    raceway: RacewaySettings = RacewaySettings()
    supports: SupportSettings = SupportSettings()
    pulling: PullSettings = PullSettings()
    climate: Climate | None = None
    tape: TapeStyle = TapeStyle()


class RunCheck(msgspec.Struct, frozen=True, kw_only=True):
    """What the checks say and the figures they rest on. `supports` None: no tabled spacing for this raceway; `pulls`
    empty: no wires were given, or they do not go in."""

    findings: tuple[Finding, ...]
    supports: SupportPlan | None
    expansion: tuple[StraightMove, ...]
    pulls: tuple[PullComparison, ...]


def check_run(
    shape: RunShape,
    wires: Sequence[PullWire] | None = None,
    settings: RunSettings | None = None,
    *,
    edition: Edition,
) -> RunCheck:
    """Every check on one run. Raises LimitError for a shape that is no run at all (arcs that overlap)."""
    have, book = settings or RunSettings(), edition
    supports = plan_supports(shape, have.supports, edition=book)
    expansion = expansion_of(shape, have.climate, book) if have.climate is not None else ()
    pulls: tuple[PullComparison, ...] = ()
    findings = list(check_raceway(shape, have.raceway, have.tape, edition=book))
    findings += _support_findings(shape, supports, have, book)
    findings += _expansion_findings(shape, expansion, have, book)
    if wires:
        try:
            pulls = compare_pulls(shape, wires, have.pulling)
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
            findings += pull_findings(pull, have.pulling, several=len(pulls) > 1, tape=have.tape)
    return RunCheck(findings=tuple(findings), supports=supports, expansion=expansion, pulls=pulls)


def _support_findings(
    shape: RunShape, plan: SupportPlan | None, settings: RunSettings, book: Edition
) -> Iterator[Finding]:
    if plan is None:
        yield Finding(
            rule="run.supports",
            severity="caution",
            message=f"No support spacing is stored for {shape.raceway.name}: look it up.",
            citation=book.name,
        )
        return
    tape = settings.tape
    for short in plan.shortfalls:
        off = _off_surface(shape, short)
        article = cited(f"{book.name} {_article(plan, short)}", plan.rule.standing)
        yield Finding(
            rule="run.supports",
            severity="caution" if off or short.kind == "short" else "problem",
            message=_shortfall_words(short, tape) + " " + _what_would_work(shape, plan, short, settings),
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
    if family(shape.raceway.type) in ("RMC", "IMC") and any(
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


def _shortfall_words(short: Shortfall, tape: TapeStyle) -> str:
    have, most = _show(short.to_mm - short.from_mm, tape), _show(short.allowed_mm, tape)
    if short.kind == "short":
        return f"The {have} from {_show(short.from_mm, tape)} to {_show(short.to_mm, tape)} has no room for a strap."
    if short.kind == "gap":
        at = _show(short.from_mm, tape)
        return f"No place for a strap within {most} of the one at {at}; the next is {have} on."
    end = short.from_mm if short.kind == "first" else short.to_mm
    return f"No strap can stand within {most} of the termination at {_show(end, tape)}; the nearest leaves {have}."


def _what_would_work(shape: RunShape, plan: SupportPlan, short: Shortfall, settings: RunSettings) -> str:
    if short.kind == "short":
        return "Whether so short a length between two terminations needs one is for the inspector to say."
    off = _off_surface(shape, short)
    if off is not None:
        low, high = (_show(s, settings.tape) for s in off)
        return (
            f"From {low} to {high} the conduit does not lie on its surface, so no strap reaches it: hold it there on"
            " strut, a hanger or a spacer, or bring it back to the surface."
        )
    relaxed = plan.rule.first_relaxed_mm
    gap = short.to_mm - short.from_mm
    if short.kind != "gap" and relaxed is not None and not settings.supports.relaxed_first and gap <= relaxed:
        return (
            f"Where structure does not allow a nearer one, an unbroken length may go {_show(relaxed, settings.tape)} "
            f"({marked(plan.rule.relaxed_article, plan.rule.standing)})."
        )
    if any(short.from_mm <= s <= short.to_mm for s in shape.couplings_mm):
        return "Move the coupling, or hold the conduit on the bend."
    return "Hold the conduit on the bend (strut and clamp), or leave more straight for a strap."


def _expansion_findings(
    shape: RunShape, moves: Sequence[StraightMove], settings: RunSettings, book: Edition
) -> Iterator[Finding]:
    row = expansion_row(shape.raceway, book)
    if row is None:
        return
    plastic = row.fitting_at_mm is not None
    tape = settings.tape
    if settings.climate is None:
        if plastic:
            yield Finding(
                rule="run.expansion",
                severity="info",
                message="Expansion was not worked: give the lowest and highest temperature of the place.",
                **cited(f"{book.name} {row.article}", row.standing),
            )
        return
    for move in moves:
        limit = move.fitting_at_mm
        if limit is not None and move.setting is not None:
            at = ", ".join(_show(s, tape) for s in move.stations_mm)
            set_to = move.setting
            yield Finding(
                rule="run.expansion",
                severity="caution",
                message=f"This straight moves {_show(move.change_mm, tape)} over the year: {move.fittings} expansion "
                f"fitting{'s' if move.fittings > 1 else ''} at {at}, piston left {_show(set_to.open_mm, tape)} out "
                f"(from {_show(set_to.least_mm, tape)} to {_show(set_to.most_mm, tape)} will do).",
                **cited(f"{book.name} {row.article}", row.standing),
                where=f"{_show(move.start_mm, tape)} to {_show(move.end_mm, tape)}",
                measured=move.change_mm,
                allowed=limit,
                unit="mm",
            )
        elif limit is None and move.change_mm >= 6.35:
            yield Finding(
                rule="run.expansion",
                severity="info",
                message=f"This steel straight moves {_show(move.change_mm, tape)} over the year; a fitting is wanted "
                "where it cannot give.",
                **cited(f"{book.name} {row.article}", row.standing),
                where=f"{_show(move.start_mm, tape)} to {_show(move.end_mm, tape)}",
                measured=move.change_mm,
                unit="mm",
            )


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
            message=f"Pulling takes {said_force(pull.greatest_tension_n)}; {pair.wires.limit_reason} bear "
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
