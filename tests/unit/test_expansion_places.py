"""Where expansion fittings are put along a run, and with what its pieces are joined besides."""

from __future__ import annotations

import pytest

from racewright.assembly.between import Expansion, coupling_kind, expansions_of, fitted
from racewright.assembly.joints import Between, joints_of
from racewright.catalogue.fittings import find_fitting
from racewright.catalogue.raceways import find_raceway
from racewright.inspection.expansion import PistonSetting, StraightMove
from racewright.sticks.model import HAND_MM, SHORT_MM, StickRules
from racewright.store.survey_file import survey_from_text

PVC = find_raceway("PVC-40", "1")
SET = PistonSetting(
    travel_mm=101.6, takes_mm=40.0, open_mm=44.0, least_mm=20.0, most_mm=80.0, day_c=15.0, day_in="C", per_kelvin_mm=0.7
)
SOCKET_MM = find_fitting("socket coupling", PVC).insertion_mm
#: Barrel and piston pushed together: two sockets, the travel, and an inch for seal and collar; then 44 mm out.
BODY_MM = 2.0 * SOCKET_MM + 101.6 + 25.4 + 44.0
GAP_MM = BODY_MM - 2.0 * SOCKET_MM
STICK_MM = 3048.0
RULES = StickRules(stock_mm=(STICK_MM,), coupling_mm=47.0, coupling_gap_mm=2.5)


def put(start: float, end: float, length: float, *stations: float) -> tuple[Expansion, ...]:
    """The fittings of one straight of a run without bends; `stations`: where they are wanted."""
    move = StraightMove(
        start_mm=start,
        end_mm=end,
        change_mm=20.0,
        fitting_at_mm=6.35,
        fittings=len(stations),
        stations_mm=stations,
        setting=SET,
    )
    return expansions_of([move], PVC, RULES, length, ())


def test_it_stands_where_a_stick_ends_when_that_is_near_the_middle() -> None:
    """The first stick ends 452 mm from the middle of 7 m: a quarter of the straight is 1.75 m."""
    (one,) = put(0.0, 7000.0, 7000.0, 3500.0)
    assert one.at_mm - 0.5 * one.gap_mm == pytest.approx(STICK_MM)
    assert one.gap_mm == pytest.approx(GAP_MM)


def test_it_stands_in_the_middle_when_no_stick_ends_near_enough() -> None:
    """3.9 m in two pieces: the stick ends 1.1 m from the middle, and a quarter of the straight is 0.98 m."""
    (one,) = put(0.0, 3900.0, 3900.0, 1950.0)
    assert one.at_mm == pytest.approx(1950.0)


def test_on_a_riser_it_stands_near_the_top_whatever_stick_ends_there() -> None:
    (one,) = put(0.0, 7000.0, 7000.0, 6200.0)
    assert one.at_mm == pytest.approx(6200.0)


@pytest.mark.parametrize(
    ("start", "end", "length"),
    [
        # between two bends: a hand's width on both sides of its body
        (2000.0, 2000.0 + BODY_MM + 2.0 * HAND_MM, 6000.0),
        # at the run's own ends: a piece as short as it may be cut
        (0.0, 0.5 * (BODY_MM + GAP_MM) + SHORT_MM + HAND_MM, 6000.0),
        (6000.0 - 0.5 * (BODY_MM + GAP_MM) - SHORT_MM - HAND_MM, 6000.0, 6000.0),
    ],
)
def test_it_wants_a_hands_width_to_a_bend_and_a_piece_of_its_own_at_the_runs_end(
    start: float, end: float, length: float
) -> None:
    middle = 0.5 * (start + end)
    for more, fits in ((1.0, True), (-1.0, False)):
        longer = (start, end + more) if end < length else (start - more, end)
        assert (put(*longer, length, middle) != ()) == fits


def test_its_body_is_as_long_as_its_piston_stands_out() -> None:
    joints = joints_of(
        4000.0, ("socket", "none"), [Between(1500.0, "expansion fitting", SET), Between(3000.0, "socket coupling")]
    )
    expansion, coupling = fitted(joints, PVC, "socket coupling")
    assert expansion.half_mm == pytest.approx(0.5 * BODY_MM)
    assert expansion.gap_mm == pytest.approx(GAP_MM)
    assert (expansion.expands, coupling.expands) == (True, False)
    assert coupling.half_mm == pytest.approx(0.5 * find_fitting("socket coupling", PVC).length_mm)


@pytest.mark.parametrize(
    ("end", "kind"),
    [("slip coupling", "set-screw coupling"), ("compression", "compression coupling"), ("none", "set-screw coupling")],
)
def test_pieces_are_joined_by_couplings_like_the_ends_and_never_by_slip_couplings(end: str, kind: str) -> None:
    head = f"run:\n  name: x\n  raceway: EMT 3/4\n  start: {{fitting: {end}}}\n  end: {{fitting: none}}\n"
    text = f"{head}  walk:\n    - leg: 190\n"
    assert coupling_kind(survey_from_text(text).survey, find_raceway("EMT", "3/4")) == kind
