"""Random surveys: either a plan that holds together or a clear refusal; mirrored surveys mirror."""

from typing import Any

from chain_inverse import is_sound
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from racewright.errors import InputError, LimitError
from racewright.geometry.chain import Centreline, Turn
from racewright.geometry.vector import distance
from racewright.plan.model import Plan
from racewright.plan.pipeline import plan_survey
from racewright.plan.plan_run import choose_bender
from racewright.survey.from_data import survey_from_data
from racewright.survey.read import read_survey

eighths = st.integers(1, 8 * 60).map(lambda n: f"{n}/8")
small = st.integers(1, 8 * 8).map(lambda n: f"{n}/8")
angle = st.sampled_from(["auto", "10", "15", "22.5", "30", "45", "60"])
way = st.sampled_from(["left", "right", "away", "toward"])

saddle = st.fixed_dictionaries(
    {"centre": eighths, "height": small, "width": small, "over": st.sampled_from(["round", "square"])},
    optional={"angle": angle, "bends": st.sampled_from(["auto", "3", "4"]), "clearance": small},
).map(lambda f: {"saddle": f})
offset = st.fixed_dictionaries(
    {"rise": small, "starts_at": eighths},
    optional={"shift": small, "side": st.sampled_from(["left", "right"]), "angle": angle},
).map(lambda f: {"offset": f})
kick = st.fixed_dictionaries(
    {"rise": small, "starts_at": eighths, "toward": st.sampled_from(["left", "right", "away"])}
).map(lambda f: {"kick": f})
leg = st.fixed_dictionaries(
    {"leg": st.integers(40, 8 * 120).map(lambda n: f"{n}/8")},
    optional={"features": st.lists(st.one_of(saddle, offset, kick), max_size=2)},
)
turn = st.fixed_dictionaries({"turn": way}, optional={"angle": st.sampled_from(["30", "45", "90"])})


@st.composite
def surveys(draw: DrawFn) -> Any:
    walk: list[Any] = [draw(leg)]
    for _ in range(draw(st.integers(0, 3))):
        walk += [draw(turn), draw(leg)]
    size = draw(st.sampled_from(["EMT 1/2", "EMT 3/4", "EMT 1", "RMC 1/2", "IMC 3/4"]))
    ends = draw(st.sampled_from([{"fitting": "none"}, {}])) if size.startswith("EMT") else {"fitting": "none"}
    run = {"name": "x", "raceway": size, "start": ends, "end": ends, "walk": walk}
    run["cut"] = draw(st.sampled_from(["before", "after"]))
    return {"units": "in", "run": run}


def planned(data: dict[str, Any]) -> Any:
    survey = read_survey(survey_from_data(data))
    return plan_survey(survey, choose_bender(survey), choices=False)


def plan_or_refusal(
    data: dict[str, Any],
) -> Any:
    try:
        return planned(data)
    except (InputError, LimitError) as err:
        return err


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(surveys())
def test_a_survey_becomes_a_sound_plan_or_a_clear_refusal(
    data: dict[str, Any],
) -> None:
    plan = plan_or_refusal(data)
    if not isinstance(plan, Plan):
        assert plan.message
        assert plan.hint or isinstance(plan, LimitError)
        return
    for piece in plan.pieces:
        bends = piece.piece.bends
        straights = piece.piece.straights_mm()
        assert min(straights) > -1e-6
        arcs = sum(b.arc_length_mm for b in bends)
        assert abs(sum(straights) + arcs - piece.cut_length_mm) < 1e-6
        assert sorted(b.order for b in piece.bends) == list(range(1, len(bends) + 1))
        line = Centreline.from_turns(
            piece.cut_length_mm, [Turn(b.arc_start_mm, b.angle_rad, b.roll_rad, b.radius_mm) for b in bends]
        )
        assert is_sound(line)
    if len(plan.pieces) == 1:
        piece = plan.pieces[0]
        turns = [Turn(b.arc_start_mm, b.angle_rad, b.roll_rad, b.radius_mm) for b in piece.piece.bends]
        span = distance(Centreline.from_turns(piece.cut_length_mm, turns).end_frame.origin, (0.0, 0.0, 0.0))
        assert abs(span - distance(plan.corners_mm[0], plan.corners_mm[-1])) < 1e-5
    for thing in plan.obstacles:
        # a saddle keeps its own clearance; only another part of the run may still touch what it goes over
        told = {f.where for f in plan.findings if f.rule == "run.clearance"}
        assert thing.clearance_mm >= thing.wanted_mm - 1e-5 or thing.name in told


def mirrored(data: Any) -> Any:
    swap = {"left": "right", "right": "left"}

    def walk(value: Any) -> Any:
        if isinstance(value, dict):
            out = {k: walk(v) for k, v in value.items()}
            if "shift" in out and "side" not in out:
                out["side"] = "right"
            return out
        if isinstance(value, list):
            return [walk(v) for v in value]
        return swap.get(value, value) if isinstance(value, str) else value

    return walk(data)


@settings(max_examples=80, deadline=None, suppress_health_check=list(HealthCheck))
@given(surveys())
def test_the_mirrored_survey_gives_the_mirrored_piece(
    data: dict[str, Any],
) -> None:
    plan = plan_or_refusal(data)
    if not isinstance(plan, Plan):
        return
    other = planned(mirrored(data))
    assert len(other.pieces) == len(plan.pieces)
    assert abs(other.developed_length_mm - plan.developed_length_mm) < 1e-6
    for a, b in zip(plan.pieces[:1], other.pieces[:1], strict=True):
        for x, y in zip(a.piece.bends, b.piece.bends, strict=True):
            assert abs(x.arc_start_mm - y.arc_start_mm) < 1e-6
            assert abs(x.angle_rad - y.angle_rad) < 1e-9
            turn = (x.roll_rad + y.roll_rad) % 6.283185307179586
            assert min(turn, 6.283185307179586 - turn) < 1e-6
