"""How hard one wire pull is, both ways round, and which end to feed from."""

from __future__ import annotations

from typing import Annotated

import msgspec

from racewright.cards.text.wires import friction_words, pull_facts, pull_head, pull_rows, pull_title
from racewright.catalogue.raceways import find_raceway
from racewright.cautions import cautions_for
from racewright.codebook.edition import Metal, load_edition, metal_name
from racewright.errors import told_of
from racewright.inspection.check_run import pull_findings
from racewright.operations.common import Answer, Known, Part, Table, TapeUnit
from racewright.operations.wires_common import CodeRequest, MetalName, RacewayType, TradeSize, Wires, within
from racewright.units.factors import LBF_N, LBF_PER_FT
from racewright.units.length import is_metric
from racewright.units.said import said_in
from racewright.units.tape import TapeStyle
from racewright.wires.conductors import parse_groups
from racewright.wires.pull_path import parse_path
from racewright.wires.pulling import Pull, PullComparison, PullSettings, compare_pulls, greatest_friction, pull_wires


class PullRequest(CodeRequest, frozen=True, kw_only=True):
    """`wires` as '3 x 4/0 XHHW', pulled through `raceway` of trade size `size` along `path`, told from end A: 'straight
    200, bend 90 r 24, straight 30 up' (feet; radii in inches). `sidewall_limit_lb_per_ft`: the wire maker's (300 where
    not given); `feed_tension_lb`: drag of the reel; `grip`: one basket grip instead of a pulling eye; `capstan`: leave
    the weight out of the bends."""

    raceway: RacewayType
    size: TradeSize
    wires: Annotated[Wires, msgspec.Meta(description="what is pulled: '3 x 4/0 XHHW, 1 x 4 THHN'")]
    path: Annotated[
        str,
        msgspec.Meta(
            max_length=8000,
            title="The way from end A",
            description="the run from end A: 'straight 200, bend 90 r 24, straight 30 up' (feet; radii in inches)",
            extra={"of": "parts"},
        ),
    ]
    friction: Annotated[
        float, msgspec.Meta(title="Friction", description="coefficient of friction (0.5, dry, where nothing is said)")
    ] = 0.5
    metal: MetalName = "copper"
    sidewall_limit_lb_per_ft: Annotated[
        float | None,
        msgspec.Meta(
            title="Sidewall limit",
            description="the wire maker's limit in lb/ft (300 where nothing is said)",
            extra={"unit": "lb/ft"},
        ),
    ] = None
    feed_tension_lb: Annotated[
        float, msgspec.Meta(title="Drag of the reel", description="drag of the reel in lb", extra={"unit": "lb"})
    ] = 0.0
    grip: Annotated[bool, msgspec.Meta(title="Basket grip", description="one basket grip instead of a pulling eye")] = (
        False
    )
    capstan: Annotated[
        bool,
        msgspec.Meta(
            title="Without weight in the bends", description="leave the weight out of the bends (plain capstan rule)"
        ),
    ] = False


class PullTold(Part, frozen=True, kw_only=True):
    """One pull in words: `title` ('' where there is only one), and part by part, fed at A and fed at B."""

    title: str
    ways: tuple[Table, Table]


class PullAnswer(Answer, frozen=True, kw_only=True):
    """Every section between pull points, fed at either end (N, mm, N/mm). `unit`: which the words speak in, as the path
    is written. `greatest_friction`: up to which it stays within its limits, fed at the better end; `bears`: that in
    words. `from_memory`: which figures were not read in print. `facts`: what is pulled and its limits in words; `told`:
    `pulls` as they are shown."""

    raceway: str
    wires: tuple[str, ...]
    metal: Metal
    unit: TapeUnit
    settings: PullSettings
    pulls: tuple[PullComparison, ...]
    greatest_friction: float
    bears: str
    facts: tuple[str, ...]
    told: tuple[PullTold, ...]
    edition: str
    from_memory: tuple[str, ...]


def pull(request: PullRequest, _known: Known) -> PullAnswer:
    """In feet and lb, or in m and N where the path is written so. Raises InputError, UnknownName, LimitError (wires
    that do not go in)."""
    tape = TapeStyle("mm", 1) if is_metric(request.path) else TapeStyle()
    with said_in(tape), told_of({"insulation": "wires", "cable": "wires"}):
        settings = _settings(request)
        book = load_edition(request.edition)
        raceway = find_raceway(request.raceway, request.size)
        metal = metal_name(request.metal)
        with told_of({"size": "wires"}):
            groups = parse_groups(request.wires, book)
            wires = pull_wires(groups, book, metal)
        shape = parse_path(request.path, raceway)
        pairs = compare_pulls(shape, wires, settings)
        several, metric = len(pairs) > 1, tape.unit == "mm"
        bears = greatest_friction(shape, wires, settings)
        findings = [f for pair in pairs for f in pull_findings(pair, settings, several=several, tape=tape)]
        return PullAnswer(
            raceway=raceway.name,
            wires=tuple(group.label for group in groups),
            metal=metal,
            unit=tape.unit,
            settings=settings,
            pulls=pairs,
            greatest_friction=bears,
            bears=friction_words(bears),
            facts=pull_facts(pairs[0].wires, settings, book, metric=metric),
            told=tuple(
                PullTold(
                    title=pull_title(number, pair, metric=metric) if several else "",
                    ways=(_way(pair.fed_at_a, metric=metric), _way(pair.fed_at_b, metric=metric)),
                )
                for number, pair in enumerate(pairs, 1)
            ),
            edition=book.name,
            from_memory=pairs[0].wires.from_memory,
            findings=tuple(findings),
            cautions=cautions_for("pull"),
        )


def _way(pull: Pull, *, metric: bool) -> Table:
    return Table(
        title=f"Feed at {pull.feed}, pull from {pull.pulled_from}",
        head=pull_head(metric=metric),
        rows=pull_rows(pull, metric=metric),
    )


def _settings(request: PullRequest) -> PullSettings:
    """The settings in N and mm. Raises InputError for figures that no pull has."""
    less = "0.5 is usual for dry wire; a lubricant's maker gives less"
    within(request.friction, "friction", 0.0, 2.0, hint=less)
    within(request.sidewall_limit_lb_per_ft, "sidewall_limit_lb_per_ft", 1.0, 1e6, " lb/ft")
    within(request.feed_tension_lb, "feed_tension_lb", 0.0, 1e6, " lb")
    limit = request.sidewall_limit_lb_per_ft
    return PullSettings(
        friction=request.friction,
        sidewall_limit_n_per_mm=None if limit is None else limit * LBF_PER_FT,
        feed_tension_n=request.feed_tension_lb * LBF_N,
        basket_grip=request.grip,
        weight_in_bends=not request.capstan,
    )
