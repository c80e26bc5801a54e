"""From the bent run to the pieces that it is cut into, and what joins them: no mark and no bending order yet."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil
from typing import NamedTuple

import msgspec

from racewright.assembly.between import Expansion, coupling_kind, expansions_of, longest_mm, sold_mm, stick_rules
from racewright.assembly.joints import Between, Joint, fitting_name, joints_of
from racewright.assembly.part import Part
from racewright.bends.model import Bend, BentPiece
from racewright.budget import CAN_BE_BENT, RUN, SPLITTING, Budget
from racewright.catalogue.fittings import find_fitting
from racewright.catalogue.raceways import Raceway
from racewright.errors import Finding, LimitError
from racewright.geometry.chain import Centreline, CornerFit, Turn
from racewright.geometry.vector import Frame
from racewright.inspection.expansion import StraightMove
from racewright.plan.model import MOST_PIECES
from racewright.route.model import Route
from racewright.sequence.order import can_be_bent
from racewright.sticks.model import SAME_MM, Required, RunPiece, StickRules
from racewright.sticks.refusal import NoSplit
from racewright.sticks.sticks import split_run
from racewright.survey.model import EndFitting, Survey
from racewright.tools.benders import BenderProfile
from racewright.units.said import said


class CutRun(NamedTuple):
    """The parts of a run and its joints; where no stick is long enough and no split was found, why."""

    parts: tuple[Part, ...]
    joints: tuple[Joint, ...]
    too_long: Finding | None


def bent_run(raceway: Raceway, route: Route, fit: CornerFit) -> BentPiece:
    """The whole run as one bent piece: its arcs, each with the shape and the role of its corner."""
    bends = tuple(
        Bend(
            arc_start_mm=turn.arc_start_mm,
            angle_rad=turn.angle_rad,
            roll_rad=turn.roll_rad,
            radius_mm=turn.radius_mm,
            shape=corner.shape,
            role=corner.role,
        )
        for turn, corner in zip(fit.turns, route.corners, strict=True)
    )
    return BentPiece(cut_length_mm=fit.length_mm, outside_diameter_mm=raceway.outside_diameter_mm, bends=bends)


def cut_run(
    survey: Survey,
    raceway: Raceway,
    bender: BenderProfile,
    run: BentPiece,
    frame: Frame,
    inserts_mm: tuple[float, float],
    moves: Sequence[StraightMove] = (),
    work: Budget | None = None,
) -> CutRun:
    """The run as it is cut. `moves`: the straights that want expansion fittings. `work`: what its searches may take.
    Raises LimitError for more pieces than
    are planned at once."""
    ends = (_name(survey.start, raceway), _name(survey.end, raceway))
    sticks, longest = sold_mm(survey), longest_mm(survey)
    stock_mm, offcut = source_of(run.cut_length_mm, sticks, survey.offcuts_mm)
    work = work or Budget(RUN)
    whole = Part(
        piece=run,
        frame=frame,
        start_mm=0.0,
        first_bend=0,
        ends=ends,
        inserts_mm=inserts_mm,
        stock_mm=stock_mm,
        offcut=offcut,
    )
    _check_count(run.cut_length_mm, longest)
    rules = stick_rules(survey, raceway, bender)
    kinds = (find_fitting(survey.start.kind, raceway).kind, find_fitting(survey.end.kind, raceway).kind)

    def joined(split: tuple[list[Part], list[Between]]) -> CutRun:
        return CutRun(tuple(split[0]), joints_of(run.cut_length_mm, kinds, split[1]), None)

    expansions = expansions_of(moves, raceway, rules, run.cut_length_mm, _turns(run))
    if expansions:
        try:
            return joined(_split(survey, raceway, bender, whole, rules, expansions, work.share(2)))
        except NoSplit:
            # no piece to either side that can be made: what the checks say of the straight stays said
            pass
    fits = run.cut_length_mm <= longest + 1e-6
    if fits and not survey.coupled:
        return joined(([whole], []))
    try:
        return joined(_split(survey, raceway, bender, whole, rules, (), work))
    except NoSplit as err:
        late = " What cut: after leaves on is not counted in a split." if survey.cut_after_bending else ""
        found = Finding(
            rule="run.sticks",
            severity="problem",
            message=(
                f"The run is {said(run.cut_length_mm)} long,"
                f" {'to be joined from pieces' if fits else 'longer than a stick'}, and {err.message}{late}"
            ),
            citation="geometry and the bender's own limits",
            measured=run.cut_length_mm,
            allowed=max(sticks),
            unit="mm",
        )
        return joined(([whole], []))._replace(too_long=found)


def source_of(length_mm: float, sticks_mm: Sequence[float], offcuts_mm: Sequence[float]) -> tuple[float, int]:
    """The shortest stick or offcut that has this length, of equal ones what is on hand, and which of the offcuts it is
    (from 1; 0: a new stick). A length of 0 where there is none."""
    on_hand = [(mm, 0, number) for number, mm in enumerate(offcuts_mm, 1)]
    there = [*on_hand, *((mm, 1, 0) for mm in sticks_mm)]
    length, _, offcut = min((one for one in there if one[0] >= length_mm - SAME_MM), default=(0.0, 1, 0))
    return length, offcut


def _check_count(length_mm: float, stick_mm: float) -> None:
    """Raises LimitError for a run of more pieces than are planned at once."""
    least = ceil(length_mm / stick_mm)
    if least > MOST_PIECES:
        raise LimitError(
            f"the run is {said(length_mm)} long: {least} sticks at least; the most that is planned at once is"
            f" {MOST_PIECES}.",
            hint="split it where a box stands and plan each part as a run of its own",
            quantity="sticks",
            asked=least,
            limit=MOST_PIECES,
            unit="",
            field="run.walk",
        )


def _split(
    survey: Survey,
    raceway: Raceway,
    bender: BenderProfile,
    whole: Part,
    rules: StickRules,
    expansions: Sequence[Expansion],
    work: Budget,
) -> tuple[list[Part], list[Between]]:
    """The parts and what joins them: by the split search, whose pieces the order search has to bend."""
    run = whole.piece
    turns = _turns(run)
    kind = coupling_kind(survey, raceway)
    depth = find_fitting(kind, raceway).insertion_mm
    asked, sweeps = work.parts(CAN_BE_BENT, SPLITTING)
    known: dict[tuple[int, ...], bool | None] = {}

    def bent(bends: tuple[Bend, ...], length_mm: float) -> bool | None:
        """Whether an order bends it; None where the budget does not tell. The whole run is not asked for."""
        if length_mm >= run.cut_length_mm - SAME_MM:
            return False
        key = (round(length_mm * 10), *(round(b.arc_start_mm * 10) for b in bends))
        if key not in known:
            known[key] = can_be_bent(bends, length_mm, run.outside_diameter_mm, bender, budget=asked.share(8))
        return known[key]

    rules = msgspec.structs.replace(rules, required=tuple(Required(e.at_mm, e.gap_mm) for e in expansions))
    split = split_run(run.cut_length_mm, turns, rules, bendable=bent, work=sweeps)
    there = {e.at_mm: e for e in expansions}
    joins = [
        (Between(at, there[at].fitting.kind, there[at].piston), there[at].fitting.insertion_mm)
        if at in there
        else (Between(at, kind), depth)
        for at in split.joints_mm
    ]
    faces = [(whole.ends[0], whole.inserts_mm[0]), *((b.kind, insert) for b, insert in joins)]
    faces.append((whole.ends[1], whole.inserts_mm[1]))
    line = Centreline.from_turns(run.cut_length_mm, turns, whole.frame)
    parts: list[Part] = []
    first = 0
    for piece, at_a, at_b in zip(split.pieces, faces, faces[1:], strict=False):
        parts.append(
            Part(
                piece=_tagged(piece, run, first),
                frame=_piece_frame(line, piece),
                start_mm=piece.start_mm,
                first_bend=first,
                ends=(at_a[0], at_b[0]),
                inserts_mm=(at_a[1], at_b[1]),
                stock_mm=piece.stock_mm,
                offcut=piece.offcut,
            )
        )
        first += len(piece.bends)
    return parts, [between for between, _ in joins]


def _turns(run: BentPiece) -> list[Turn]:
    return [Turn(b.arc_start_mm, b.angle_rad, b.roll_rad, b.radius_mm) for b in run.bends]


def _tagged(piece: RunPiece, run: BentPiece, first: int) -> BentPiece:
    """The piece's bends with the shape and role that they have in the run."""
    bends = tuple(
        msgspec.structs.replace(b, shape=run.bends[first + i].shape, role=run.bends[first + i].role)
        for i, b in enumerate(piece.bends)
    )
    return BentPiece(cut_length_mm=piece.cut_length_mm, outside_diameter_mm=run.outside_diameter_mm, bends=bends)


def _piece_frame(line: Centreline, piece: RunPiece) -> Frame:
    frame = line.frame_at(piece.start_mm)
    return Frame(frame.origin, frame.axis, frame.toward(piece.roll_rad)) if piece.bends else frame


def _name(end: EndFitting, raceway: Raceway) -> str:
    return "" if end.kind == "none" else fitting_name(find_fitting(end.kind, raceway).kind, end)
