"""An expansion fitting that a straight wants is a joint of the plan: its place, its cut, its setting, its bill."""

from __future__ import annotations

import re
from itertools import pairwise

import msgspec
import pytest

from racewright.assembly.joints import Joint
from racewright.cards.text.bend_card import text_card
from racewright.errors import InputError
from racewright.job.materials import GUIDE, run_materials
from racewright.plan.from_json import read_plan
from racewright.plan.model import Plan
from racewright.plan.plan_run import plan_run
from racewright.records.model import Job, JobHead, JobRun
from racewright.store.survey_file import survey_from_text
from racewright.units.tape import format_length

#: -8 F to 94 F, put up at 58 F.
SHED = "{lowest: -8 F, highest: 94 F, install: 58 F}"
WALL = "    - leg: 47 ft\n"


def text(walk: str, climate: str = SHED, *, raceway: str = "PVC-40 1-1/4", going: str = "right") -> str:
    weather = f"  climate: {climate}\n" if climate else ""
    return (
        f"run:\n  name: Packing shed, north wall\n  raceway: {raceway}\n  bend_radius: 8\n  going: {going}\n{weather}"
        "  start: {name: shed panel, fitting: socket}\n  end: {name: dock box, fitting: socket}\n  walk:\n" + walk
    )


def planned(walk: str, climate: str = SHED, **more: str) -> Plan:
    return plan_run(survey_from_text(text(walk, climate, **more)).survey)


def expansions(plan: Plan) -> list[Joint]:
    return [j for j in plan.joints if j.how == "expands"]


def test_it_stands_near_the_middle_where_a_stick_ends_and_cuts_the_run() -> None:
    plan = planned(WALL)
    (joint,) = expansions(plan)
    assert joint.kind == "expansion fitting"
    assert (joint.before, joint.after) == (2, 3)
    # the two sticks before it are whole
    assert [p.cut_length_mm for p in plan.pieces[:2]] == pytest.approx([3048.0, 3048.0])
    share = 0.25 * plan.developed_length_mm
    assert abs(joint.at_mm - 0.5 * plan.developed_length_mm) < share


def test_the_pieces_and_what_stands_between_them_make_the_run() -> None:
    """Cut lengths and gaps: a coupling's stop between the others, the fitting's closed length less its sockets, and its
    piston as far out as it is set, between the two at the expansion fitting."""
    plan = planned(WALL)
    (joint,) = expansions(plan)
    assert joint.piston is not None
    for (a, b), between in zip(pairwise(plan.pieces), (j for j in plan.joints if j.before and j.after), strict=True):
        gap = b.run_start_mm - a.run_start_mm - a.cut_length_mm
        middle = 0.5 * (b.run_start_mm + a.run_start_mm + a.cut_length_mm)
        assert middle == pytest.approx(between.at_mm, abs=1e-6)
        if between is joint:
            assert gap == pytest.approx(joint.piston.travel_mm + 25.4 + joint.piston.open_mm)
        else:
            assert gap < 5.0
    last = plan.pieces[-1]
    assert last.run_start_mm + last.cut_length_mm == pytest.approx(plan.developed_length_mm)


def test_the_piston_is_set_for_the_day_and_the_step_and_finding_say_so() -> None:
    plan = planned(WALL)
    (joint,) = expansions(plan)
    assert joint.piston is not None
    # 36 of 102 degrees are still to come: that share of the 4 in of travel stays open, 1 7/16 in
    assert joint.piston.open_mm == pytest.approx(4 * 25.4 * 36 / 102)
    (told,) = [f for f in plan.findings if f.rule == "run.expansion"]
    assert told.severity == "info"
    assert "1 7/16" in told.message
    steps = [s for s in plan.steps if "expansion fitting" in s.title and "piston" in s.detail]
    assert any('piston 1 7/16" out of its 4" of travel with the conduit at 58 °F' in s.detail for s in steps)
    # what it takes up, 102 degrees' worth, by the ten: one figure moves the setting and its bounds alike
    assert joint.piston.day_c == pytest.approx((58 - 32) / 1.8)
    by_ten = (
        f"{format_length(joint.piston.takes_mm * 10 / 102, plan.tape)} less; colder, as much more. Measure the conduit"
    )
    assert sum(f"For each 10 °F that the conduit is warmer, {by_ten}" in s.detail for s in plan.steps) == 1
    assert "with the conduit at 58 °F" in told.message
    taken = [s for s in plan.steps if s.kind in ("stock", "cut") and "expansion fitting" in s.detail]
    assert [(s.piece, s.care) for s in taken] == [(2, ("cut",))]
    assert 'its piston 1 7/16" out (conduit at 58 °F). Set yours and measure it first' in taken[0].detail
    assert "Expansion fitting (middle) at" in " ".join(text_card(plan).split())


def test_a_tape_in_mm_is_told_degrees_celsius() -> None:
    read = "units: mm\n" + text("    - leg: 14000\n", "{lowest: -15, highest: 35, install: 12.5}")
    plan = plan_run(survey_from_text(read.replace("bend_radius: 8", "bend_radius: 203")).survey)
    (joint,) = expansions(plan)
    assert joint.piston is not None
    told = [s.detail for s in plan.steps if "with the conduit at 12.5 °C" in s.detail]
    assert len(told) == 1
    assert "For each 10 °C that the conduit is warmer, 9 mm less" in told[0]
    assert joint.piston.per_kelvin_mm * 10 == pytest.approx(14000 * 6.084e-4, rel=0.01)


def test_a_temperature_is_said_in_the_scale_that_it_is_written_in() -> None:
    """58 F are 14.4 C: with a tape in inches either way, and the setting is the same."""
    plan = planned(WALL, "{lowest: -20 C, highest: 35 C, install: 12.5 °C}")
    told = " ".join([*(s.detail for s in plan.steps), *(f.message for f in plan.findings)])
    assert told.count("with the conduit at 12.5 °C") == 2
    assert told.count("(conduit at 12.5 °C)") == 1
    assert "For each 10 °C that the conduit is warmer" in told
    assert "°F" not in told
    plain = planned(WALL, "{lowest: -4, highest: 95 F, install: 54.5}")
    assert any("with the conduit at 54.5 °F" in s.detail for s in plain.steps)
    (one,), (two,) = expansions(plan := planned(WALL, "{lowest: -4, highest: 95, install: 12.5 C}")), expansions(plain)
    assert one.piston is not None
    assert two.piston is not None
    assert one.piston.open_mm == pytest.approx(two.piston.open_mm)
    assert (one.piston.day_in, two.piston.day_in) == ("C", "F")
    in_mm = "units: mm\n" + text("    - leg: 14000\n", "{lowest: 5 F, highest: 95 F, install: 54.5 F}")
    plan = plan_run(survey_from_text(in_mm.replace("bend_radius: 8", "bend_radius: 203")).survey)
    assert any("with the conduit at 54.5 °F" in s.detail for s in plan.steps)


def test_a_setting_that_does_on_its_day_does_on_another_moved_by_the_degrees() -> None:
    """Whatever is set from least to most and moves with the conduit has room on the hottest and the coldest day."""
    (joint,) = expansions(planned(WALL))
    piston = joint.piston
    assert piston is not None
    for day_f in (-8.0, 33.0, 94.0):
        warmer = (day_f - 58.0) / 1.8
        least, most = (at - piston.per_kelvin_mm * warmer for at in (piston.least_mm, piston.most_mm))
        (same,) = expansions(planned(WALL, SHED.replace("58 F", f"{day_f:g} F")))
        assert same.piston is not None
        assert (same.piston.least_mm, same.piston.most_mm) == pytest.approx((least, most), abs=0.1)


def test_no_strap_stands_on_its_body() -> None:
    plan = planned(WALL)
    (joint,) = expansions(plan)
    assert joint.piston is not None
    assert plan.checks is not None
    body = 0.5 * (joint.piston.travel_mm + 25.4 + joint.piston.open_mm)
    assert min(abs(s - joint.at_mm) for s in plan.checks.straps_mm) > body


def test_every_strap_guides_but_the_one_that_holds_fast_between_two() -> None:
    plan = planned("    - leg: 190 ft\n")
    assert plan.checks is not None
    straps, (fast,) = plan.checks.straps_mm, plan.checks.fast_mm
    # both fittings take the same: the strap stands in the middle of the run
    assert fast == pytest.approx(0.5 * plan.developed_length_mm)
    guides = [s for s in straps if s != fast]
    assert list(plan.checks.guides_mm) == guides
    for piece in plan.pieces:
        number = int(piece.label.split()[1])
        (told,) = [s.detail for s in plan.steps if s.kind == "strap" and s.piece == number]
        assert bool(re.search("guides?, not tight", told)) == bool(piece.on_it_mm(guides))
        assert ("tight; it alone holds" in told) == (piece.run_start_mm < fast < piece.run_end_mm)
    assert sum("guides, not tight" in line for line in plan.along) == 2
    first, second = expansions(plan)
    assert first.after is not None
    held = f"tight; it alone holds pieces {first.after} to {second.before} fast."
    assert sum(held in line for line in plan.along) == 1
    assert sum(held in s.detail for s in plan.steps) == 1
    assert sum("A guide is a support" in line for line in plan.along) == 1
    card = " ".join(text_card(plan).split())
    assert "(guide)" in card
    assert "(all guides) from its end A" in card


def test_a_strap_beside_the_bend_mounts_it_and_a_box_needs_none() -> None:
    corner = planned("    - {leg: 41 ft, to: back}\n    - turn: right\n    - {leg: 33 ft, from: back}\n")
    assert corner.checks is not None
    (bend,) = [(p.run_start_mm + b.arc_start_mm, p.run_start_mm + b.arc_end_mm) for p in corner.pieces for b in p.bends]
    straps, (fast,) = corner.checks.straps_mm, corner.checks.fast_mm
    nearest = min(straps, key=lambda s: min(abs(s - bend[0]), abs(s - bend[1])))
    assert fast == nearest
    assert list(corner.checks.guides_mm) == [s for s in straps if s != fast]
    riser = planned("    - leg: 22 ft\n", going="up")
    assert riser.checks is not None
    assert riser.checks.fast_mm == ()
    assert riser.checks.guides_mm == riser.checks.straps_mm
    still = planned(WALL, "").checks
    assert still is not None
    assert still.guides_mm == ()


def test_a_straight_that_moves_less_than_the_limit_stays_strapped_tight_and_holds_its_part() -> None:
    plan = planned("    - {leg: 41 ft, to: back}\n    - turn: right\n    - {leg: 46, from: back}\n")
    assert plan.checks is not None
    (bend,) = [p.run_start_mm + b.arc_end_mm for p in plan.pieces for b in p.bends]
    assert plan.checks.fast_mm == ()
    assert plan.checks.guides_mm == tuple(s for s in plan.checks.straps_mm if s < bend)
    beyond = [s for s in plan.checks.straps_mm if s > bend]
    at = [format_length(s, plan.tape) for s in beyond]
    assert (f"Strap at {at[0]}: tight." if len(at) == 1 else f"Straps from {at[0]} to {at[-1]}: tight.") in plan.along


def test_no_strap_is_told_as_tight_where_there_is_none() -> None:
    """Every strap of one straight with fittings guides, or holds its part alone."""
    assert not any(line.endswith(": tight.") for line in planned("    - leg: 190 ft\n").along)
    one = planned("    - leg: 76\n", SHED.replace("58 F", "40 F"))
    assert one.checks is not None
    assert len(one.checks.guides_mm) < 4
    for step in (s for s in one.steps if s.kind == "strap"):
        assert (" It: a guide, not tight" in step.detail) == (
            len(one.pieces[(step.piece or 1) - 1].on_it_mm(one.checks.guides_mm)) == 1
        )
        assert "All: guides" not in step.detail or ", " in step.detail.split("All")[0]


def test_a_fitting_is_told_what_it_takes_and_its_barrel_is_not_clamped() -> None:
    plan = planned("    - leg: 190 ft\n")
    pistons = [j.piston for j in expansions(plan) if j.piston is not None]
    change = plan.developed_length_mm * 3.38e-5 * 102
    assert [p.takes_mm for p in pistons] == pytest.approx([change / 2, change / 2])
    steps = [s.detail for s in plan.steps if "Its barrel toward end A" in s.detail]
    assert len(steps) == 2
    assert all('It takes up 3 15/16" over the year' in told for told in steps)
    assert all("a guide, not tight, for the barrel moves with the conduit" in told for told in steps)
    assert not any("held fast by a strap of its own" in s.detail for s in plan.steps)


def test_a_run_of_one_stick_that_moves_too_much_is_cut_for_it() -> None:
    plan = planned("    - leg: 112\n")
    assert len(plan.pieces) == 2
    assert abs(expansions(plan)[0].at_mm - 0.5 * plan.developed_length_mm) < 30.0


def test_each_straight_has_its_own_and_a_long_one_several() -> None:
    corner = "    - {leg: 41 ft, to: back}\n    - turn: right\n    - {leg: 33 ft, from: back}\n"
    plan = planned(corner)
    assert len(expansions(plan)) == 2
    arc = plan.pieces
    assert sum(len(p.bends) for p in arc) == 1
    long = planned("    - leg: 190 ft\n")
    assert len(expansions(long)) == 2
    shares = [j.at_mm / long.developed_length_mm for j in expansions(long)]
    assert shares == pytest.approx([0.25, 0.75], abs=0.07)


def test_on_a_riser_it_stands_near_the_top_with_its_barrel_up() -> None:
    (up,) = expansions(planned("    - leg: 22 ft\n", going="up"))
    (down,) = expansions(planned("    - leg: 22 ft\n", going="down"))
    assert up.piston is not None
    assert down.piston is not None
    assert (up.piston.barrel, down.piston.barrel) == ("B", "A")
    assert up.at_mm > 0.8 * 22 * 304.8
    assert down.at_mm < 0.2 * 22 * 304.8


def test_the_travel_of_the_fittings_in_hand_counts() -> None:
    """190 ft wants two fittings of 4 in, and one of 8 in, which is longer by its travel."""
    (joint,) = expansions(planned("    - leg: 190 ft\n", SHED.replace("}", ", travel: 8}")))
    assert joint.piston is not None
    assert joint.piston.travel_mm == pytest.approx(8 * 25.4)
    with pytest.raises(InputError, match="travels 1/8"):
        planned(WALL, SHED.replace("}", ", travel: 1/8}"))


def test_where_there_is_no_room_for_it_the_finding_stays_a_caution_and_nothing_is_cut() -> None:
    plan = planned("    - leg: 80\n", SHED.replace("}", ", travel: 60}"))
    assert len(plan.pieces) == 1
    (told,) = [f for f in plan.findings if f.rule == "run.expansion"]
    assert told.severity == "caution"
    assert "wanted at" in told.message


def test_on_the_hottest_day_its_piston_is_in_and_gives_no_room_to_put_the_run_up() -> None:
    """Then another joint closes last: the piston cannot go in farther."""
    cool, hot = (planned(WALL, SHED.replace("58 F", day)) for day in ("20 F", "94 F"))
    assert [j.how for j in cool.joints if j.last] == ["expands"]
    assert [j.how for j in hot.joints if j.last] != ["expands"]
    assert hot.assembly is not None
    assert hot.assembly.possible


def test_a_piston_that_is_in_between_two_ends_that_stay_is_a_problem() -> None:
    """Two pieces, and their only joint is the expansion fitting."""

    def two(day: str) -> Plan:
        read = text("    - leg: 112\n", SHED.replace("58 F", day)).replace("socket}", "socket, fixed: true}")
        return plan_run(survey_from_text(read).survey)

    cold, hot = two("20 F"), two("92 F")
    assert cold.assembly is not None
    assert hot.assembly is not None
    assert (cold.assembly.possible, hot.assembly.possible) == (True, False)
    (told,) = [f for f in hot.findings if f.rule == "assembly.trapped"]
    assert told.severity == "problem"
    assert "colder day" in told.message


def test_without_a_climate_nothing_is_cut_and_steel_has_none() -> None:
    plan = planned(WALL, "")
    assert expansions(plan) == []
    assert [f.severity for f in plan.findings if f.rule == "run.expansion"] == ["info"]
    steel = text(WALL, raceway="RMC 1-1/4").replace("socket", "hub")
    assert expansions(plan_run(survey_from_text(steel).survey)) == []


def test_a_temperature_is_read_by_its_letter_and_without_one_by_the_files_unit() -> None:
    """-20 C, 35 C and 15 C are -4 F, 95 F and 59 F."""
    written = (
        "{lowest: -20 C, highest: 35 C, install: 15 C}",
        "{lowest: -4 F, highest: 95 °f, install: 15c}",
        "{lowest: -4, highest: 95, install: 59}",
    )
    one, *others = (planned(WALL, climate) for climate in written)
    for other in others:
        assert [msgspec.structs.replace(j, piston=None) for j in other.joints] == [
            msgspec.structs.replace(j, piston=None) for j in one.joints
        ]
        for a, b in zip(expansions(other), expansions(one), strict=True):
            assert a.piston is not None
            assert msgspec.structs.replace(a.piston, day_in="C") == b.piston
    in_mm = "units: mm\n" + text(
        f"    - leg: {round(47 * 304.8)}\n", "{lowest: -20, highest: 35, install: 15}"
    ).replace("bend_radius: 8", "bend_radius: 203")
    (there,), (here,) = expansions(one), expansions(plan_run(survey_from_text(in_mm).survey))
    assert there.piston is not None
    assert here.piston is not None
    assert here.piston.open_mm == pytest.approx(there.piston.open_mm, abs=0.1)


def test_the_plans_json_is_read_back_with_it() -> None:
    plan = planned(WALL)
    assert read_plan(msgspec.to_builtins(plan)).joints == plan.joints


def test_it_is_on_the_bill_with_a_strap_for_its_barrel() -> None:
    file = survey_from_text(text(WALL))
    plan = plan_run(file.survey)
    parts = run_materials(JobRun(key="PS-3", survey=file.written), plan, Job(head=JobHead(name="Shed"))).parts

    def count(item: str) -> int:
        return sum(p.count for p in parts if p.item == f"PVC-40 1-1/4 {item}")

    assert count("expansion fitting") == count("strap for the barrel of an expansion fitting") == 1
    assert count("socket coupling") + count("slip coupling") + 1 == len(plan.pieces) - 1


@pytest.mark.parametrize(("feet", "tight"), [(47, 0), (190, 1)])
def test_straps_that_guide_are_another_part_of_the_bill(feet: int, tight: int) -> None:
    """Between two boxes with one fitting all guide; between two fittings one is tight."""
    file = survey_from_text(text(f"    - leg: {feet} ft\n"))
    plan = plan_run(file.survey)
    parts = run_materials(JobRun(key="PS-3", survey=file.written), plan, Job(head=JobHead(name="Shed"))).parts
    assert plan.checks is not None
    straps = {part.item: part.count for part in parts if part.group == "strap" and "barrel" not in part.item}
    wanted = {"PVC-40 1-1/4 strap": tight, f"PVC-40 1-1/4 {GUIDE}": len(plan.checks.straps_mm) - tight}
    assert straps == {item: count for item, count in wanted.items() if count}
