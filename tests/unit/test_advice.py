"""What would work where a piece cannot be bent: in the order of a foreman, with the field to write and the effect."""

from __future__ import annotations

import msgspec
import pytest

from racewright.errors import Finding
from racewright.plan import pipeline
from racewright.plan.handling import cannot_be_bent
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import survey_from_text
from racewright.survey.model import Survey
from racewright.tools.benders import BenderProfile, default_bender
from racewright.units.length import parse_length
from racewright.units.tape import format_length

RIGID = "run:\n  name: pump house, drain valve\n  raceway: RMC 3/4\n  walk:\n"
STEP = "    - leg: {leg}\n      features:\n        - offset: {{rise: 2 7/8, starts_at: 41, angle: 30, name: step}}\n"


def surveyed(text: str) -> Survey:
    return survey_from_text(text).survey


def stuck(survey: Survey) -> Finding:
    return next(f for f in plan_run(survey, choices=False).findings if cannot_be_bent(f))


@pytest.mark.parametrize(("leg", "rule"), [("88", "bend.order"), ("21 ft 6", "run.sticks")])
def test_an_offset_too_steep_for_its_hook_is_told_the_angle_that_works(leg: str, rule: str) -> None:
    problem = stuck(surveyed(RIGID + STEP.format(leg=leg)))
    assert problem.rule == rule
    assert 'What would work: set angle: 22.5 for step (1/8" less conduit)' in problem.message
    assert problem.values["would work 1"] == "run.walk[0].features[0].offset.angle: 22.5"
    # a grip is not the person's to set on a taught shoe, and nothing is told that was not tried
    assert "a grip of" not in problem.message
    assert "Not all was tried" not in problem.message


def test_a_longer_stick_comes_first_then_angle_and_place() -> None:
    walk = "    - leg: 26\n      features:\n        - offset: {rise: 3 3/4, starts_at: 12 1/2, angle: 22.5}\n"
    problem = stuck(surveyed(RIGID + walk))
    order = [problem.message.find(part) for part in ("set cut: after;", "or set angle: 30", "or set starts_at: 11 1/2")]
    assert -1 < order[0] < order[1] < order[2]
    assert len(problem.values) == 3
    assert [problem.values[f"would work {i}"].partition(":")[0] for i in (1, 2, 3)] == [
        "run.cut",
        "run.walk[0].features[0].offset.angle",
        "run.walk[0].features[0].offset.starts_at",
    ]


def test_two_turns_too_near_for_the_handle_are_told_how_far_apart_they_would_do() -> None:
    problem = stuck(surveyed("run:\n  name: workshop\n  raceway: EMT 3/4\n  walk:\n    - leg: 31\n    - turn: left\n"
                             "    - leg: 19 1/2\n    - turn: left\n    - leg: 30\n"))  # fmt: skip
    assert "join it from pieces by a coupling: set coupled: true (pieces of " in problem.message
    assert "for leg 2, if end B can stand " in problem.message
    assert problem.values["would work 1"] == "run.coupled: true"
    assert problem.values["would work 2"].startswith("run.walk[2].leg: ")


def test_a_longer_leg_is_told_last_the_least_of_all_and_with_what_has_to_move() -> None:
    walk = "    - leg: 13\n    - turn: left\n    - leg: 33\n    - turn: left\n    - leg: 31\n    - turn: left\n"
    walk += "    - leg: 20 1/2\n    - turn: left\n    - leg: 11\n"
    ends = "  start: {name: panel, fitting: set-screw}\n  end: {name: fan, fitting: set-screw}\n"
    text = f"run:\n  name: packing shed, fan\n  raceway: EMT 3/4\n{ends}  walk:\n{walk}"
    problem = stuck(surveyed(text))
    told = list(problem.values.values())
    assert told[0] == "run.coupled: true"
    legs = [fields for fields in told if ".leg: " in fields]
    assert legs == told[1:] == ['run.walk[4].leg: 34"']
    assert problem.message.endswith(
        'or set leg: 34" for leg 3, if fan can stand 3" farther along it (3" more conduit).'
    )
    # a longer leg 2 does by nothing but a coupling, which a run has that is longer than its stick: that is told already
    long = plan_run(surveyed(text.replace("leg: 33", "leg: 60")), choices=False)
    assert len(long.pieces) == 2
    assert not any(cannot_be_bent(f) for f in long.findings)


#: A 90 so near its hub that the hook has no straight.
STUB = "  walk:\n    - leg: {leg}\n    - turn: left\n    - leg: {last}\n"


@pytest.mark.parametrize(("raceway", "last"), [("RMC 1", "9 7/8"), ("RMC 3/4", "8 1/2")])
def test_an_end_that_no_die_fits_on_once_it_is_bent_is_not_told_to_be_cut_after_bending(
    raceway: str, last: str
) -> None:
    ends = "  start: {name: trough, fitting: threaded}\n  end: {name: pump, fitting: hub}\n"
    head = f"run:\n  name: pump house, pump\n  raceway: {raceway}\n{ends}"
    walk = STUB.format(leg=47, last=last)
    after = plan_run(surveyed(f"{head}  cut: after\n{walk}"), choices=False)
    assert not any(cannot_be_bent(f) for f in after.findings)  # it could be bent so
    (thread,) = (f for f in after.findings if f.rule == "assembly.thread" and f.severity != "info")
    none = "none fits on there after bending, and no bending order was found with that end cut before"
    assert none in thread.message or "the thread alone is" in thread.message
    problem = stuck(surveyed(head + walk))
    assert "cut: after" not in problem.message
    (fields,) = problem.values.values()
    assert fields.startswith("run.walk[2].leg: ")


def test_the_same_end_without_a_thread_is_cut_after_bending() -> None:
    problem = stuck(surveyed(f"run:\n  name: pump house\n  raceway: EMT 1\n{STUB.format(leg=47, last='7 1/4')}"))
    assert list(problem.values.values()) == ["run.cut: after"]  # a longer last leg would do what the longer stick does
    assert "bend it from a stick " in problem.message


@pytest.mark.parametrize(("at", "bends"), [("15", []), ("16", ["run.walk[0].features[0].saddle.bends: 3"])])
def test_what_one_field_makes_is_not_told_again_with_two(at: str, bends: list[str]) -> None:
    """Nearer to the end the flatter saddle has three bends by itself; farther away three do at its own angle."""
    walk = (
        "    - leg: 41\n      features:\n        - saddle: {{center: {at}, height: 3 1/4, width: 3 1/4, angle: 30}}\n"
    )
    problem = stuck(surveyed(f"run:\n  name: workshop, duct\n  raceway: IMC 1\n  walk:\n{walk.format(at=at)}"))
    assert "run.walk[0].features[0].saddle.angle: 22.5" in problem.values.values()
    assert [fields for fields in problem.values.values() if "bends" in fields] == bends


@pytest.mark.parametrize("cut", ["before", "after"])
def test_a_stick_that_nobody_sells_is_a_problem_with_what_would_work(cut: str) -> None:
    head = f"run:\n  name: packing shed, sorter\n  raceway: EMT 1\n  cut: {cut}\n"
    problem = stuck(surveyed(head + STUB.format(leg="114 3/4", last="7")))
    assert problem.rule == ("run.sticks" if cut == "after" else "bend.order")
    if cut == "after":
        assert 'bent from a stick of 121 3/4"; the longest there is is 120".' in problem.message
        assert (problem.where, problem.measured, problem.allowed) == (
            "piece 1",
            pytest.approx(121.75 * 25.4, abs=1.6),
            3048.0,
        )
    longer = surveyed(f"{head.replace('before', 'after')}  stock: [10 ft, 123]\n{STUB.format(leg='114 3/4', last='7')}")
    plan = plan_run(longer, choices=False)
    assert not [f for f in plan.findings if f.severity == "problem"]
    assert plan.pieces[0].stock_mm == pytest.approx(123 * 25.4)
    told = problem.values["would work 1"]
    assert told == ("run.cut: after; " if cut == "before" else "") + 'run.stock: + 121 3/4"'


def test_an_offcut_that_is_long_enough_is_taken_where_no_stick_is() -> None:
    head = "run:\n  name: packing shed, sorter\n  raceway: EMT 1\n  cut: after\n  offcuts: [124]\n"
    plan = plan_run(surveyed(head + STUB.format(leg="114 3/4", last="7")), choices=False)
    assert not [f for f in plan.findings if f.severity == "problem"]
    assert (plan.pieces[0].offcut, plan.pieces[0].stock_mm) == (1, pytest.approx(124 * 25.4))


def test_a_split_that_fails_from_the_start_names_the_end() -> None:
    walk = "    - leg: 15\n      features:\n        - kick: {rise: 5, angle: 30}\n    - turn: right\n    - leg: 19 ft\n"
    problem = stuck(surveyed(RIGID + walk))
    assert "there is no split: from end A on (" in problem.message


#: A flat saddle so near end A that no coupling and no hook has room there.
FLAT = "    - leg: {leg}\n      features:\n        - saddle: {{center: {at}, height: 2 5/8, width: 2 1/2, angle: 15}}\n"


def test_no_pull_fitting_stands_in_place_of_a_saddle() -> None:
    walk = FLAT.format(leg="24 ft", at="12") + "    - turn: left\n    - leg: 44\n"
    problem = stuck(surveyed(RIGID + walk))
    assert problem.rule == "run.sticks"
    assert "pull fitting" not in problem.message
    assert problem.message.count("would work") <= 1


def test_a_pull_fitting_is_told_by_its_turn_and_makes_two_runs_that_can_be_bent() -> None:
    def survey(first: str, rest: str) -> Survey:
        return surveyed(f"run:\n  name: packing shed, fan\n  raceway: EMT 3/4\n  walk:\n{first}{rest}")

    near = "    - leg: 31\n      features:\n        - saddle: {center: 15, height: 1 3/4, width: 1 3/4, angle: 15}\n"
    far = "    - leg: 15 ft\n      features:\n        - offset: {shift: 3, middle_at: 38}\n"
    first, turn = "    - leg: 38\n", "    - turn: away\n"
    rest = f"{near}{turn}{far}{turn}    - leg: 24\n"
    problem = stuck(survey(first + turn, rest))
    assert "put a pull fitting in place of turn 1, a run of its own before it and one behind it" in problem.message
    assert "run.walk[1]: two runs" in problem.values.values()
    for run in (survey(first, ""), survey("", rest)):
        assert not [f for f in plan_run(run, choices=False).findings if cannot_be_bent(f)]


NEAR_A = "    - leg: {leg}\n      features:\n        - saddle: {{height: 2 3/8, width: 2 3/8, center: 10, angle: 15}}\n"
TIGHT = (
    "    - turn: left\n      angle: 30\n    - leg: 24\n    - turn: right\n    - leg: 38\n      features:\n"
    "        - offset: {rise: 6 1/2, starts_at: 18 1/2}\n    - turn: left\n    - leg: 41 1/2\n"
)


@pytest.mark.parametrize(
    ("cut", "walk", "fields"),
    [
        ("before", NEAR_A.format(leg=28) + TIGHT, 'run.stock: + 132"; run.cut: after'),
        ("after", NEAR_A.format(leg=127), 'run.stock: + 132"'),
    ],
)
def test_of_longer_sticks_the_least_in_whole_feet_that_is_bent_is_told(cut: str, walk: str, fields: str) -> None:
    def text(more: str) -> str:
        return f"run:\n  name: workshop, lamp\n  raceway: EMT 3/4\n{more}  walk:\n{walk}"

    problem = stuck(surveyed(text(f"  cut: {cut}\n")))
    assert problem.rule == "run.sticks"
    assert ("What cut: after leaves on is not counted in a split." in problem.message) == (cut == "after")
    assert fields in problem.values.values()
    assert 'take a stick 132" long: add 132" to stock' in problem.message
    bought = surveyed(text("  cut: after\n  stock: [10 ft, 11 ft]\n"))
    assert not [f for f in plan_run(bought, choices=False).findings if cannot_be_bent(f)]


def test_no_stick_is_told_that_is_longer_than_any_sold() -> None:
    walk = FLAT.format(leg="38 ft", at="12")
    assert "run.stock" not in str(stuck(surveyed(RIGID + walk)).values)


def test_a_run_without_a_split_on_a_bender_of_ones_own_is_told_the_grip_that_works() -> None:
    survey = surveyed(RIGID + "    - leg: 18\n    - turn: left\n    - leg: 15\n    - turn: left\n    - leg: 12 ft\n")
    stiff = msgspec.structs.replace(default_bender("RMC", "3/4"), name="stiff", grip_mm=24 * 25.4)

    def planned(bender: BenderProfile) -> list[Finding]:
        plan = plan_run(survey, bender_name="stiff", find={"stiff": bender}.__getitem__, choices=False)
        return [f for f in plan.findings if cannot_be_bent(f)]

    (problem,) = planned(stiff)
    grip = next(fields for fields in problem.values.values() if fields.startswith("bender.grip: "))
    grip_mm = float(parse_length(grip.removeprefix("bender.grip: "), "in"))
    assert f'bend it with a grip of {grip.removeprefix("bender.grip: ")} instead of 24"' in problem.message
    assert planned(msgspec.structs.replace(stiff, grip_mm=grip_mm)) == []
    assert planned(msgspec.structs.replace(stiff, grip_mm=grip_mm + 12.7)) != []


def test_an_end_that_no_die_fits_on_once_it_is_bent_is_cut_before_where_it_can_be_bent_so() -> None:
    ends = "  start: {name: trough, fitting: threaded}\n  end: {name: pump, fitting: hub}\n"
    head = f"run:\n  name: pump house, pump\n  raceway: RMC 3/4\n  cut: after\n{ends}"
    near, far = (plan_run(surveyed(head + STUB.format(leg=47, last=last)), choices=False) for last in ("9 1/2", "12"))
    (note,) = (f for f in near.findings if f.rule == "assembly.thread")
    assert note.severity == "info"
    assert "is cut before it is bent, not after as the survey has it: no die fits on at end B" in note.message
    assert [near.pieces[0].trim_after, far.pieces[0].trim_after] == [False, True]
    assert [[s.kind for s in plan.steps].count("trim") for plan in (near, far)] == [0, 1]
    assert "assembly.thread" not in [f.rule for f in far.findings]


def test_a_run_that_is_to_be_coupled_is_joined_from_pieces_though_one_stick_would_do() -> None:
    walk = "    - leg: 52\n    - turn: left\n    - leg: 31\n"
    whole, coupled = (
        plan_run(surveyed(f"run:\n  name: packing shed\n  raceway: EMT 1/2\n{line}  walk:\n{walk}"), choices=False)
        for line in ("", "  coupled: true\n")
    )
    assert (len(whole.pieces), len(coupled.pieces)) == (1, 2)
    assert [j.kind for j in coupled.joints if not j.run_end] == ["set-screw coupling"]
    assert not [f for f in coupled.findings if f.severity == "problem"]
    assert coupled.developed_length_mm == whole.developed_length_mm


def test_a_run_that_is_too_short_to_be_coupled_says_so() -> None:
    walk = "    - leg: 9\n    - turn: left\n    - leg: 9\n"
    problem = stuck(surveyed(f"run:\n  name: packing shed\n  raceway: EMT 1/2\n  coupled: true\n  walk:\n{walk}"))
    assert "to be joined from pieces, and there is no split" in problem.message


def test_a_saddle_too_near_the_first_turn_is_told_a_longer_leg() -> None:
    walk = "    - leg: 39\n      features:\n        - saddle: {center: 26, height: 2 1/8, width: 2 1/8}\n"
    walk += "    - turn: left\n    - leg: 23\n    - turn: away\n      angle: 30\n    - leg: 35\n"
    walk += "    - turn: left\n    - leg: 40\n"
    problem = stuck(surveyed(f"run:\n  name: packing shed\n  raceway: EMT 1/2\n  walk:\n{walk}"))
    assert "for leg 1, if end B can stand " in problem.message
    assert any(text.startswith("run.walk[0].leg: ") for text in problem.values.values())


def test_where_no_single_change_does_two_are_told_together() -> None:
    walk = "    - leg: 178\n      features:\n        - offset: {rise: 2 1/4, middle_at: 26, angle: 22.5, name: jog}\n"
    walk += "    - turn: right\n      angle: 45\n    - leg: 16\n    - turn: right\n    - leg: 32\n"
    problem = stuck(surveyed(f"run:\n  name: workshop, compressor\n  raceway: IMC 1\n  walk:\n{walk}"))
    assert "set angle: 15 for jog and set leg: " in problem.message
    assert problem.values["would work 1"].startswith("run.walk[0].features[0].offset.angle: 15; run.walk[2].leg: ")


def test_another_bender_of_the_shop_is_told_by_its_name() -> None:
    survey = surveyed(RIGID + "    - leg: 31\n    - turn: left\n    - leg: 12 1/2\n")
    short = msgspec.structs.replace(default_bender("RMC", "3/4"), name="bench-34", grip_mm=60.0, hook_reach_mm=10.0)
    stiff = msgspec.structs.replace(default_bender("RMC", "3/4"), name="stiff", grip_mm=2000.0)
    plan = plan_run(survey, bender_name="stiff", find={"stiff": stiff}.__getitem__, choices=False, shop=[stiff, short])
    problem = next(f for f in plan.findings if f.rule == "bend.order")
    assert "bend it on bench-34: set bender: bench-34" in problem.message


def test_a_kick_that_was_placed_is_told_an_angle_in_place_of_where_it_starts() -> None:
    def kicked(reading: str) -> Survey:
        walk = f"    - leg: 30\n      features:\n        - kick: {{rise: 4, {reading}}}\n"
        walk += "    - turn: right\n    - leg: 26\n"
        return surveyed(f"run:\n  name: packing shed\n  raceway: EMT 3/4\n  walk:\n{walk}")

    problem = stuck(kicked("starts_at: 21"))
    assert "set angle: 22.5 for kick 1 in place of starts_at" in problem.message
    kick = "run.walk[0].features[0].kick"
    assert list(problem.values.values()) == [
        f"{kick}.angle: 22.5; {kick}.starts_at: ",
        f'{kick}.starts_at: 20"',
        'run.walk[0].leg: 31"',
    ]
    told, planned = (plan_run(kicked(reading), choices=False) for reading in ("angle: 22.5", "starts_at: 21"))
    assert not [f for f in told.findings if cannot_be_bent(f)]
    less = format_length(planned.developed_length_mm - told.developed_length_mm, told.tape)
    assert f"in place of starts_at ({less} less conduit)" in problem.message


def test_what_is_cut_short_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pipeline, "ADVICE", 50)
    problem = stuck(surveyed(RIGID + STEP.format(leg="88")))
    assert problem.message.endswith("Not all was tried.")
    assert "22.5" not in problem.message


def many_turns(count: int, leg: str, last: str) -> Survey:
    walk = "    - leg: 19\n" + "".join(
        f"    - turn: {('left', 'right')[k % 2]}\n    - leg: {leg}\n" for k in range(count)
    )
    return surveyed(f"run:\n  name: packing shed\n  raceway: EMT 1/2\n  stock: [150 ft]\n  walk:\n{walk}{last}")


@pytest.mark.parametrize("count", [14, 24, 32])
def test_of_many_bends_those_that_bind_are_looked_at_and_the_run_is_planned_whole(count: int) -> None:
    steep = "      features:\n        - offset: {rise: 5, starts_at: 11, angle: 60}\n"
    problem = stuck(many_turns(count, "27", steep))
    assert "set angle: 45 for offset 1" in problem.message
    assert problem.values["would work 1"] == f"run.walk[{2 * count}].features[0].offset.angle: 45"
    flatter = plan_run(many_turns(count, "27", steep.replace("60", "45")), choices=False)
    assert not any(cannot_be_bent(f) for f in flatter.findings)


def test_a_run_of_many_bends_is_told_that_not_all_was_tried() -> None:
    problem = stuck(many_turns(50, "11", ""))
    assert problem.message.endswith("Not all was tried.")
