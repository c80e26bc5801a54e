"""Made bends that are bent on or opened before the rest: steps of their own, and kept with the new marks."""

from math import degrees
from typing import Any

import pytest

from racewright.operations.answer import answer
from racewright.operations.remark import RemarkAnswer

END = {"name": "box", "fitting": "set-screw"}
#: An offset and then a 90, which is bent first.
WALK = [
    {
        "leg": "52 1/4",
        "from": "face",
        "to": "back",
        "features": [{"offset": {"name": "purlin", "rise": "3", "starts_at": "16 1/2", "angle": "22.5"}}],
    },
    {"turn": "left"},
    {"leg": "33", "from": "back", "to": "face"},
]
RUN = {"name": "Workshop, starter to drill press", "raceway": "EMT 3/4", "start": END, "end": END, "walk": WALK}


def remark(*made: dict[str, Any]) -> RemarkAnswer:
    told = answer("remark", {"survey": {"racewright": 1, "units": "in", "run": RUN}, "made": list(made)})
    assert isinstance(told, RemarkAnswer)
    return told


def kept(told: RemarkAnswer) -> list[tuple[int, float]]:
    assert told.keep is not None
    assert told.keep.anew is not None
    return [(mark.number, round(degrees(mark.angle_rad), 6)) for mark in told.keep.anew.marks]


def test_a_bend_that_is_bent_on_is_a_step_with_its_mark_and_how_it_is_held() -> None:
    told = remark({"number": 3, "angle_deg": 86})
    (on,) = told.bent_on
    mark = told.marks[0]
    assert (on.bend.number, on.words.name, on.words.bend_to, on.words.read) == (3, "again, mark 3", "4°", "leaves 90°")
    assert (on.bend.mark_tape, on.bend.hook, on.bend.spin_words) == (mark.mark.tape, mark.hook, mark.spin_words)
    assert "set the shoe on it as when it was bent" in on.bend.look_at
    assert kept(told) == [(3, 90.0), (1, 22.5), (2, 22.5)]


def test_a_bend_that_is_opened_is_told_and_kept_with_the_marks() -> None:
    told = remark({"number": 3, "angle_deg": 94})
    assert told.bent_on == ()
    assert [(one.number, one.to_do, one.leaves) for one in told.opened] == [(3, "open mark 3 by 4°", "leaves 90°")]
    assert kept(told) == [(3, 90.0), (1, 22.5), (2, 22.5)]


@pytest.mark.parametrize("angle_deg", [86, 94])
def test_once_that_is_done_the_rest_is_as_planned_and_nothing_is_asked_for_again(angle_deg: int) -> None:
    first = remark({"number": 3, "angle_deg": angle_deg})
    assert first.anew is not None
    bend = first.anew.bends[2]
    place = bend.all_marks_mm[f"{bend.hook} {bend.reference}"]
    told = remark({"number": 3, "angle_deg": 90, "mark": f"{place:.6f} mm"})
    assert (told.bent_on, told.opened) == ((), ())
    assert [m.mark.mm for m in told.marks] == pytest.approx([m.mark.mm for m in first.marks if m.further_deg == 0.0])
