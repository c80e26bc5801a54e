"""What joins the pieces of a run: couplings of the kind of its fittings, and an expansion fitting in each straight that
moves more than it may.

An expansion fitting may stand anywhere between the fixed points that it works between (common practice, no source):
near the middle of its straight, or of its share of it, where a stick ends; on a riser near the top. Its two ends are
farther apart than those of a coupling, by its length and by how far its piston is left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import msgspec

from racewright.assembly.joints import Joint
from racewright.catalogue.fittings import Fitting, expansion_fitting, find_fitting, fitting_kinds
from racewright.catalogue.raceways import Raceway, find_raceway
from racewright.codebook.edition import load_edition
from racewright.errors import LimitError
from racewright.geometry.chain import CornerFit, Turn
from racewright.geometry.vector import even
from racewright.inspection.check_run import run_shape
from racewright.inspection.expansion import PistonSetting, StraightMove, expansion_of
from racewright.route.model import Route
from racewright.route.run_line import Coupling
from racewright.sticks.model import HAND_MM, Required, StickRules
from racewright.sticks.sticks import split_run
from racewright.survey.model import Survey
from racewright.tools.benders import BenderProfile

#: More expansion fittings than these are set at the middles, whatever sticks end there (our own choice: each costs a
#: split).
_MOST_ALIGNED = 8


class Expansion(msgspec.Struct, frozen=True):
    """An expansion fitting of the run: its middle, the gap between the two ends in it, its setting, the fitting."""

    at_mm: float
    gap_mm: float
    piston: PistonSetting
    fitting: Fitting


def coupling_kind(survey: Survey, raceway: Raceway) -> str:
    """The coupling of the same kind as the run's fittings, or the first that the raceway has."""
    kinds = [k for k in fitting_kinds(raceway) if k.endswith("coupling") and k != "slip coupling"]
    for end in (survey.start, survey.end):
        kind = find_fitting(end.kind, raceway).kind
        wanted = kind if kind.endswith("coupling") else f"{'threaded' if kind == 'hub' else kind} coupling"
        if wanted in kinds:
            return wanted
    return kinds[0]


def sold_mm(survey: Survey) -> tuple[float, ...]:
    """The lengths of new sticks: the survey's, else the one that its raceway is sold in."""
    return survey.stock_mm or (find_raceway(survey.raceway_type, survey.trade_size).stock_length_mm,)


def longest_mm(survey: Survey) -> float:
    """The longest stick or offcut there is."""
    return max(*sold_mm(survey), *survey.offcuts_mm, 0.0)


def stick_rules(survey: Survey, raceway: Raceway, bender: BenderProfile) -> StickRules:
    """What binds the split of this run."""
    coupling = find_fitting(coupling_kind(survey, raceway), raceway)
    return StickRules(
        hook_need_mm=bender.least_straight_mm,
        grip_mm=bender.grip_mm,
        stock_mm=sold_mm(survey),
        offcuts_mm=survey.offcuts_mm,
        coupling_mm=coupling.length_mm,
        coupling_gap_mm=coupling.gap_mm,
        easy_grip_mm=max(StickRules().easy_grip_mm, bender.grip_mm),
    )


def straight_moves(survey: Survey, raceway: Raceway, route: Route, fit: CornerFit) -> tuple[StraightMove, ...]:
    """The straights of the run that want expansion fittings; none where the survey says nothing of the climate."""
    if survey.climate is None:
        return ()
    moves = expansion_of(run_shape(survey, raceway, route, fit, ()), survey.climate, load_edition(survey.edition))
    return tuple(move for move in moves if move.setting is not None)


def expansions_of(
    moves: Sequence[StraightMove], raceway: Raceway, rules: StickRules, length_mm: float, turns: Sequence[Turn]
) -> tuple[Expansion, ...]:
    """An expansion fitting at each place that wants one and has room for it, in order along the run."""
    out: list[Expansion] = []
    align = sum(move.fittings for move in moves) <= _MOST_ALIGNED
    for move in moves:
        assert move.setting is not None
        fitting = expansion_fitting(raceway, move.setting.travel_mm)
        body = fitting.length_mm + move.setting.open_mm
        gap = fitting.gap_mm + move.setting.open_mm
        # a piece of its own to the run's end, or a hand's room to the bend
        at_end, at_bend = rules.short_piece_mm + 0.5 * gap, HAND_MM + 0.5 * body
        low = move.start_mm + (at_end if move.start_mm <= 0.0 else at_bend)
        high = move.end_mm - (at_end if move.end_mm >= length_mm - 1e-6 else at_bend)
        if high < low:
            continue
        share = (move.end_mm - move.start_mm) / move.fittings
        on_riser = move.fittings == 1 and abs(move.stations_mm[0] - move.start_mm - 0.5 * share) > 1.0
        for ideal in move.stations_mm:
            at = ideal
            if align and not on_riser:
                required = tuple(Required(e.at_mm, e.gap_mm) for e in out)
                known = msgspec.structs.replace(rules, required=required)
                end = _stick_end(ideal, 0.25 * share, known, length_mm, turns)
                at = ideal if end is None else end + 0.5 * gap
            out.append(Expansion(round(min(max(at, low), high), 9), gap, move.setting, fitting))
    return tuple(out)


def _stick_end(
    ideal_mm: float, within_mm: float, rules: StickRules, length_mm: float, turns: Sequence[Turn]
) -> float | None:
    """The end of a piece near a place, where the run is split without what is wanted there; None where none is near."""
    try:
        split = split_run(length_mm, turns, rules)
    except LimitError:
        return None
    required = {r.at_mm for r in rules.required}
    ends = [at - 0.5 * rules.coupling_gap_mm for at in split.joints_mm if at not in required]
    near = [end for end in ends if abs(end - ideal_mm) <= within_mm]
    return min(near, key=lambda end: (even(abs(end - ideal_mm)), end), default=None)


def fitted(joints: Iterable[Joint], raceway: Raceway, kind: str) -> tuple[Coupling, ...]:
    """What joins two pieces, with half its length and what it leaves between them. A union is taken to be as long as
    the coupling of this kind."""
    coupling = find_fitting(kind, raceway)
    out = []
    for joint in joints:
        if joint.before is None or joint.after is None:
            continue
        if joint.piston is None:
            out.append(Coupling(joint.at_mm, 0.5 * coupling.length_mm, coupling.gap_mm))
        else:
            fitting, out_mm = expansion_fitting(raceway, joint.piston.travel_mm), joint.piston.open_mm
            out.append(Coupling(joint.at_mm, 0.5 * (fitting.length_mm + out_mm), fitting.gap_mm + out_mm, expands=True))
    return tuple(out)
