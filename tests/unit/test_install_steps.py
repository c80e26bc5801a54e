"""The words of putting a run up: each step can be followed as it stands."""

from __future__ import annotations

import re
from typing import Any

import pytest

from racewright.assembly.joints import Assembly
from racewright.catalogue.raceways import find_raceway
from racewright.codebook.edition import DEFAULT_EDITION, load_edition
from racewright.inspection.check_run import RunCheck
from racewright.inspection.supports import SupportPlan, support_rule
from racewright.plan.install_steps import install_steps, order_words
from racewright.plan.model import Plan, Step
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import survey_from_text
from racewright.units.tape import format_length

OFFSET = "    - leg: 83\n      features:\n        - offset: {rise: 4, starts_at: 27}\n"
CORNER = "    - {leg: 195, to: back}\n    - turn: left\n    - leg: 37\n"


def planned(walk: str, raceway: str, start: str, end: str, **run: Any) -> Plan:
    head = {"name": "packing shed feed", "raceway": raceway, "start": start, "end": end} | run
    fields = "".join(f"  {key}: {value}\n" for key, value in head.items())
    return plan_run(survey_from_text(f"run:\n{fields}  walk:\n{walk}").survey)


def up(plan: Plan) -> list[Step]:
    return [s for s in plan.steps if s.kind in ("insert", "loosen", "strap")]


def test_a_hub_that_is_turned_on_first_is_fastened_to_its_box_last() -> None:
    plan = planned(OFFSET, "RMC 3/4", "{fitting: hub}", "{fitting: hub}")
    backs = [s.detail for s in up(plan) if s.kind == "loosen"]
    closes = [s.detail for s in up(plan) if s.title.startswith(("Then", "Last"))]
    assert len(backs) == len(closes) == 2
    assert all("until it is wrench tight, about" in text for text in backs)
    assert all("fasten the hub in it" in text and "thread is in" not in text for text in closes)


def test_a_last_joint_at_a_knockout_has_all_its_locknuts() -> None:
    plan = planned(OFFSET, "RMC 3/4", "{fitting: threaded}", "{fitting: threaded}")
    (back,) = [s.detail for s in up(plan) if s.kind == "loosen"]
    assert back.startswith("Outer locknut onto the thread.")
    close = up(plan)[-1].detail
    assert "the outer locknut against the box, the inner locknut and the bushing" in close


def test_a_knockout_of_a_fixed_box_stays_a_knockout_and_the_other_end_gives_way() -> None:
    for free, fixed in (("start", "end"), ("end", "start")):
        ends = {free: "{name: loft box, fitting: threaded}", fixed: "{name: sorter, fitting: threaded, fixed: true}"}
        plan = planned(OFFSET, "IMC 3/4", ends["start"], ends["end"])
        assert plan.assembly is not None
        assert plan.assembly.possible
        assert {j.kind for j in plan.joints} == {"threaded"}
        (back,) = [s.detail for s in up(plan) if s.kind == "loosen"]
        assert "loft box" in back
        assert not any("Loosen the box at sorter" in s.detail for s in up(plan))


def test_a_run_that_cannot_go_up_says_why_first_and_has_no_steps_on_the_wall() -> None:
    stays = "{name: sorter, fitting: set-screw, fixed: true}"
    plan = planned(OFFSET, "EMT 3/4", stays, stays)
    assert plan.assembly is not None
    assert not plan.assembly.possible
    assert up(plan) == []
    assert not any(joint.last for joint in plan.joints)
    stop = plan.steps[0]
    assert stop.title.startswith("Stop: this run cannot be put up")
    assert "Piece 1 is trapped between its fittings and cannot go in: neither gives way." in stop.detail
    assert "let the fitting at end A give way (not fixed there)" in stop.detail
    assert "join it with a slip coupling, its middle" in stop.detail
    assert [s.kind for s in plan.steps[1:]] == ["cut", "lay-out", "bend", "bend", "check", "ream"]
    # what straps and ends ask to take care of stays told: the places of both are on the card
    assert {"height", "drill", "enclosure"} <= set(stop.care)


@pytest.mark.parametrize(
    ("raceway", "end", "says"),
    [
        (
            "EMT 3/4",
            "set-screw",
            "Push the set-screw coupling onto end B of piece 1 first, to its stop, and tighten it.",
        ),
        ("RMC 3/4", "threaded", "Turn the threaded coupling onto end B of piece 1 first, wrench tight."),
        ("PVC-40 3/4", "socket", "Prime and cement the socket coupling onto end B of piece 1 first, to its stop."),
    ],
)
def test_a_coupling_goes_onto_the_piece_that_stands(raceway: str, end: str, says: str) -> None:
    plan = planned("    - leg: 170\n", raceway, f"{{fitting: {end}}}", "{fitting: none}")
    (joining,) = [s.detail for s in up(plan) if "coupling" in s.title]
    assert joining.startswith(says)
    assert sum("coupling onto" in s.detail for s in up(plan)) == 1


def test_between_free_ends_the_straps_alone_hold_it() -> None:
    plan = planned(OFFSET, "EMT 3/4", "{fitting: none}", "{fitting: none}")
    (hold,) = [s.detail for s in up(plan) if s.title.startswith("Hold")]
    assert hold == "Its straps alone hold it. Ends A and B stay open: nothing is made there."


@pytest.mark.parametrize(
    ("walk", "start", "end"),
    [
        ("    - leg: 83\n", "none", "set-screw"),
        ("    - leg: 310\n", "none", "set-screw, fixed: true"),
        ("    - leg: 310\n", "set-screw", "none"),
        ("    - leg: 310\n", "none", "none"),
    ],
)
def test_which_end_of_which_piece_stays_open_is_told_once_as_it_comes(walk: str, start: str, end: str) -> None:
    plan = planned(walk, "EMT 3/4", f"{{fitting: {start}}}", f"{{fitting: {end}}}")
    wanted = [
        f"End {letter}{f' of piece {number}' if len(plan.pieces) > 1 else ''} stays open: nothing is made there."
        for number, piece in enumerate(plan.pieces, 1)
        for letter, stands in (("A", piece.end_a), ("B", piece.end_b))
        if not stands.fitting
    ]
    assert len(wanted) == [start, end].count("none")
    told = [(s, words) for s in plan.steps for words in re.findall(r"Ends? [AB][^.:]* open: [^.]*\.", s.detail)]
    assert sorted(words for _, words in told) == sorted(wanted)
    for step, words in told:
        assert step.kind == "insert"
        assert len(plan.pieces) == 1 or f"piece {step.piece} " in words


def test_a_piece_that_stands_first_with_an_open_end_says_so() -> None:
    """Its bend lets it not be pushed in from the far end: it is held there, and the next comes onto it."""
    walk = (
        "    - leg: 40\n      features:\n        - offset: {rise: 4, starts_at: 12}\n    - turn: left\n    - leg: 26\n"
    )
    plan = planned(
        walk + "    - {turn: away, angle: 45}\n    - leg: 25\n", "EMT 3/4", "{fitting: none}", STAYS, coupled="true"
    )
    (hold,) = [s for s in up(plan) if s.title.startswith("Hold it in place")]
    assert hold.detail.endswith(f"End A of piece {hold.piece} stays open: nothing is made there.")
    assert all("stays open" not in s.detail for s in up(plan) if s is not hold)


STAYS = "{fitting: set-screw, fixed: true}"


def slip_steps(stations_mm: tuple[float, ...]) -> tuple[Plan, list[Step]]:
    """The steps of a run with a slip coupling, its straps where the test wants them."""
    plan = planned("    - leg: 187\n", "EMT 3/4", STAYS, STAYS)
    survey = survey_from_text(f"run:\n  name: x\n  raceway: EMT 3/4\n  walk:\n{OFFSET}").survey
    rule = support_rule(find_raceway("EMT", "3/4"), load_edition(DEFAULT_EDITION))
    assert plan.assembly is not None
    assert rule is not None
    supports = SupportPlan(rule=rule, stations_mm=stations_mm, shortfalls=())
    checks = RunCheck(findings=(), supports=supports, pulls=())
    return plan, list(install_steps(survey, plan.pieces, plan.joints, plan.assembly, checks))


def test_a_slip_coupling_waits_where_no_strap_stands() -> None:
    plan, steps = slip_steps((900.0, 2900.0, 4000.0))
    (joint,) = [j for j in plan.joints if j.kind == "slip coupling"]
    assert plan.assembly is not None
    assert (joint.before, joint.after, plan.assembly.order) == (1, 2, (2, 1))
    (back,) = [s.detail for s in steps if s.title.startswith("Slide the slip")]
    # of two free ends the one that stands
    assert "onto end A of piece 2" in back
    # the coupling is 1.685 in long: a strap 30 mm from the joint is in its way, and the other piece takes it
    _, steps = slip_steps((900.0, joint.at_mm + 31.0, 4000.0))
    (back,) = [s.detail for s in steps if s.title.startswith("Slide the slip")]
    assert "onto end B of piece 1" in back
    assert "No strap" not in back
    assert not any("after the slip coupling" in s.detail for s in steps)


def test_straps_on_both_sides_of_a_slip_coupling_wait_for_it() -> None:
    plan, _ = slip_steps(())
    (joint,) = [j for j in plan.joints if j.kind == "slip coupling"]
    _, steps = slip_steps((900.0, joint.at_mm - 31.0, joint.at_mm + 31.0))
    (back,) = [s.detail for s in steps if s.title.startswith("Slide the slip")]
    # onto the piece that comes: none of its straps is set yet
    at = format_length(joint.at_mm - 31.0 - plan.pieces[0].run_start_mm, plan.tape)
    assert "onto end B of piece 1" in back
    assert f"No strap at {at} of that piece before it is back" in back
    straps = {s.piece: s.detail for s in steps if s.kind == "strap"}
    assert f"That at {at} after the slip coupling is back in its place." in straps[1]
    assert "after the slip coupling" not in straps[2]
    assert steps[-1].detail.endswith(f"Then the strap at {at} of piece 1.")


def test_a_piece_that_no_strap_reaches_is_not_said_to_be_held_by_others() -> None:
    """An offset brings the run off its wall for good: behind it no strap stands."""
    plan = planned(CORNER.replace("back}", "back, features: [{offset: {rise: 3, starts_at: 40}}]}"), "EMT 3/4",
                   "{fitting: set-screw}", "{fitting: set-screw}")  # fmt: skip
    (last,) = [s.detail for s in up(plan) if s.kind == "strap" and s.piece == len(plan.pieces)]
    assert "none beside it is near enough" in last
    assert "those beside it hold it" not in last


def test_the_barrel_of_an_expansion_fitting_has_a_strap_of_its_own() -> None:
    climate = "{lowest: -3 F, highest: 97 F, install: 58 F, sun: true}"
    plan = planned("    - leg: 310\n", "PVC-40 3/4", "{fitting: socket}", "{fitting: socket}", climate=climate)
    told = [s.detail for s in up(plan) if "barrel" in s.detail]
    assert told
    assert all(
        "in a strap of its own, beside those listed for the conduit: a guide, not tight" in text for text in told
    )


U = "    - leg: 27\n    - turn: left\n    - leg: 41\n    - turn: left\n    - leg: 27\n"


BOTH = "Line the piece up in front of both fittings and bring both ends in with one straight push:"


@pytest.mark.parametrize(
    ("raceway", "start", "end", "says"),
    [
        (
            "IMC 3/4",
            "threaded",
            "compression, insertion: 1 1/8",
            f'Outer locknut onto end A first. Draw a line 1 1/8" from end B. {BOTH} end A goes 9/16" through its hole'
            " and end B to its stop. The inner locknut and the bushing hold it there.",
        ),
        (
            "IMC 3/4",
            "threaded",
            "threaded",
            f'Outer locknuts onto ends A and B first. {BOTH} end A goes 9/16" through its hole and end B goes 9/16"'
            " through its hole. An inner locknut and a bushing hold each.",
        ),
        (
            "EMT 3/4",
            "set-screw, insertion: 7/8",
            "set-screw, insertion: 1 3/8",
            f'Draw a line 7/8" from end A and one 1 3/8" from end B. {BOTH} each to its stop.',
        ),
        (
            "EMT 3/4",
            "set-screw, insertion: 7/8",
            "compression, insertion: 7/8",
            f'Draw a line 7/8" from ends A and B. {BOTH} each to its stop.',
        ),
        (
            "PVC-40 3/4",
            "socket, insertion: 7/8",
            "socket, insertion: 1 1/4",
            'Fit it dry first and draw a line 7/8" from end A and one 1 1/4" from end B. Prime and cement ends A and B'
            " and both sockets, push it in to the lines with as much of a quarter turn as its bends allow",
        ),
    ],
)
def test_one_push_into_two_fittings_says_of_each_end_how_deep_and_how_it_is_held(
    raceway: str, start: str, end: str, says: str
) -> None:
    radius = {"bend_radius": 7} if raceway.startswith("PVC") else {}
    plan = planned(U, raceway, f"{{fitting: {start}, fixed: true}}", f"{{fitting: {end}, fixed: true}}", **radius)
    (push,) = [s.detail for s in up(plan) if s.kind == "insert"]
    assert push.startswith(says)
    assert plan.assembly is not None
    (move,) = plan.assembly.moves
    # the piece moves by the deeper of the two
    assert move.by_mm == max(plan.pieces[0].end_a.insertion_mm, plan.pieces[0].end_b.insertion_mm)


def test_a_name_that_sounds_like_a_fitting_stays_as_it_was_written() -> None:
    stays = "{name: dryer, fitting: set-screw, fixed: true}"
    plan = planned(
        "    - leg: 66\n", "EMT 3/4", "{name: the set-screw coupling by the silo, fitting: set-screw coupling}", stays
    )
    assert plan.pieces[0].end_a.fitting == "the set-screw coupling by the silo (slip coupling)"


@pytest.mark.parametrize(
    ("order", "says"),
    [
        ((5, 4, 3, 1, 2), "pieces 5 to 3, 1, 2."),
        ((1, 2, 3, 4, 7), "pieces 1 to 4, 7."),
        ((2, 1), "pieces 2, 1."),
        ((3, 4, 5, 2, 1), "pieces 3 to 5, 2, 1."),
    ],
)
def test_the_order_counts_down_as_well_as_up(order: tuple[int, ...], says: str) -> None:
    assert order_words([], Assembly(order=order, trapped=(), possible=True, moves=())).endswith(says)


def test_every_step_with_cement_and_only_such_a_step_asks_for_the_care_of_cement() -> None:
    """A socket that is brought over its end last, and an expansion fitting between two pieces, are cemented too."""
    climate = "{lowest: -3 F, highest: 97 F, install: 58 F, sun: true}"
    seen = set()
    for leg, end, more in (
        (88, "socket", {}),
        (310, "socket", {"climate": climate}),
        (310, "none", {"climate": climate}),
    ):
        plan = planned(f"    - leg: {leg}\n", "PVC-40 3/4", "{fitting: socket}", f"{{fitting: {end}}}", **more)
        assert plan.assembly is not None
        steps = [s for s in up(plan) if s.kind in ("insert", "loosen")]
        for step, move in zip(steps, plan.assembly.moves, strict=True):
            assert ("cement" in step.care) == ("cement" in step.detail.lower()), step.title
            seen |= {(move.act, plan.joints[j - 1].how) for j in move.joints if "cement" in step.care}
    assert {("cement", "cemented"), ("cement", "expands"), ("close", "cemented")} <= seen


def test_a_bent_piece_that_is_turned_in_sweeps_a_circle_and_a_straight_one_does_not() -> None:
    for walk, sweeps in ((OFFSET, True), ("    - leg: 83\n", False)):
        plan = planned(walk, "RMC 3/4", "{fitting: hub, fixed: true}", "{fitting: none}", stand_off="8")
        (turn,) = [s.detail for s in up(plan) if "wrench tight" in s.detail]
        assert ("Its far part sweeps a circle: keep it clear." in turn) == sweeps


def test_every_move_of_the_assembly_has_its_step() -> None:
    plan = planned(CORNER, "EMT 1/2", "{fitting: set-screw}", "{fitting: set-screw}")
    assert plan.assembly is not None
    moved = [step for step in up(plan) if step.move is not None]
    assert [step.move for step in moved] == list(range(1, len(plan.assembly.moves) + 1))
    for step, move in zip(moved, plan.assembly.moves, strict=True):
        assert (step.kind == "loosen") == (move.act == "slide back")
        assert step.piece in (None, move.piece)
    assert all(step.move is None for step in plan.steps if step.kind not in ("insert", "loosen"))
