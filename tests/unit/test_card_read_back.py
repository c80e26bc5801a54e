"""Whole plans read back as a person gets them: the card's text, its drawing, the JSON."""

import json
import re
from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from math import radians
from pathlib import Path
from typing import Any

import msgspec
import pytest

from racewright.cards.text.bend_card import text_card
from racewright.cli.main import main
from racewright.plan.plan_run import plan_run
from racewright.printable import plain_json
from racewright.store.survey_file import survey_from_text
from racewright.tools.benders import default_bender

IN = 25.4


def survey(features: list[str], leg: str = "90", **run: Any) -> str:
    head = {"name": "cold store", "raceway": "EMT 1/2"} | run
    fields = "".join(f"  {key}: {value}\n" for key, value in head.items())
    lines = "".join(f"        - {feature}\n" for feature in features)
    return f"run:\n{fields}  walk:\n    - leg: {leg}\n      features:\n{lines}"


def as_json(text: str) -> dict[str, Any]:
    return dict(json.loads(plain_json(plan_run(survey_from_text(text).survey))))


@pytest.mark.parametrize(
    ("feature", "arcs"),
    [
        ("offset: {rise: 1 5/8, starts_at: 20}", 2),
        ("box_offset: {rise: 3/8, starts_at: 20}", 2),
        ("saddle: {rise: 1 3/8, centre: 40, bends: '3'}", 3),
        ("saddle: {rise: 1 3/8, centre: 40, bends: '4'}", 4),
    ],
)
def test_where_the_angle_is_left_open_the_hook_has_its_straight_between_two_arcs(feature: str, arcs: int) -> None:
    plan = as_json(survey([feature]))
    bends, bender = plan["pieces"][0]["bends"], plan["bender"]
    assert len(bends) == arcs
    for before, after in pairwise(bends):
        straight = after["arc_start_mm"] - before["arc_end_mm"]
        assert straight >= bender["arrow_lead_mm"] + bender["hook_reach_mm"] - 1e-6


def test_a_box_offset_toward_the_surface_brings_the_run_nearer_to_it_and_one_away_takes_it_off() -> None:
    near = as_json(survey(["box_offset: {rise: 3/8, toward: toward, starts_at: 20}"], stand_off=1))
    off = as_json(survey(["box_offset: {rise: 3/8, toward: away, starts_at: 20}"], stand_off=1))
    lie = (1 + 0.706 / 2) * IN
    # x along the leg, z off its surface
    assert near["corners_mm"][-1][2] == pytest.approx(lie - 3 / 8 * IN, abs=1e-6)
    assert off["corners_mm"][-1][2] == pytest.approx(lie + 3 / 8 * IN, abs=1e-6)


def card(text: str) -> str:
    return text_card(plan_run(survey_from_text(text).survey), width=100)


def test_a_piece_cut_after_bending_is_told_to_be_trimmed_and_where() -> None:
    # 12 in from the box to the middle of the offset: the hook or the hands need more, so the stick is longer
    text = survey(["offset: {rise: 2 1/8, middle_at: 5, angle: 30}"], leg="10", cut="after")
    piece = as_json(text)["pieces"][0]
    assert piece["least_stock_mm"] > piece["cut_length_mm"] + 1
    said = " ".join(card(text).split())
    marking, _, steps = said.partition(" STEPS ")
    # a pencil line among the marks, at the developed length from end A: it is drawn while the conduit is straight
    assert f'(B) {piece["cut_length_tape"]}"' in marking.partition("MARK IT")[2].partition("BEND IT")[0]
    drawn = re.search(r"cut line B at ([\d /'-]+)\"", steps)
    assert drawn is not None, steps
    assert drawn.group(1) == piece["cut_length_tape"]
    bends = [m.start() for m in re.finditer(r"\d\. \d(?:st|nd|rd|th) bend, mark \d", steps)]
    assert len(bends) == 2
    assert drawn.end() < bends[0] < bends[1] < steps.index("Cut it on line B")


def test_the_card_says_how_to_turn_the_conduit_between_two_bends() -> None:
    """An offset's bends stand half way round from each other; a turn aside a quarter, to the hand its roll tells."""
    text = survey(["offset: {rise: 4, starts_at: 20, angle: 30}"], leg="60")
    text += "    - turn: left\n    - leg: 30\n"
    piece = as_json(text)["pieces"][0]
    made = sorted(piece["bends"], key=lambda b: b["order"])
    said = " ".join(card(text).split())
    blocks = re.split(r"\b(?:1st|2nd|3rd) \(", said)[1:4]
    assert len(blocks) == len(made) == 3
    for (before, now), block in zip(pairwise(made), blocks[1:], strict=True):
        # to bring the next bend's plane to where the last one stood, the conduit turns back by the roll between them;
        # the inside of a bend faces up on the floor and down over a bender that stands upside down
        turned_over = 180.0 * (before["stance"] != now["stance"])
        turn = (before["roll_deg"] - now["roll_deg"] + turned_over + 180.0) % 360.0 - 180.0
        if abs(turn) < 0.1:
            assert re.search(r"Do not rotate", block)
        elif abs(turn) > 179.9:
            assert re.search(r"Rotate 180°", block)
        else:
            assert abs(turn) == pytest.approx(90)
            assert re.search(r"Rotate 90°", block)
            assert ("counterclockwise" in block) == (turn < 0)
    turns = [abs((b["roll_deg"] - a["roll_deg"] + 180) % 360 - 180) for a, b in pairwise(made)]
    assert any(t > 179 for t in turns)
    assert any(80 < t < 100 for t in turns)


def bent_to(said: str) -> list[tuple[str, str]]:
    """Each 'bend to' of a card's text: the angle, and what is left, where the card tells it."""
    degrees = r"(\d+(?:\.\d+)?(?: \d/\d)?)°"
    return re.findall(rf"bend to {degrees}, (?:while bending; leaves {degrees}|read after letting go)", said)


def in_degrees(text: str) -> float:
    return float(sum(Fraction(part) for part in text.split()))


def test_the_card_bends_to_the_bends_own_angle_where_it_is_read_after_letting_go() -> None:
    text = survey(["saddle: {rise: 3 1/8, centre: 41, bends: '3', angle: 22 1/2}"])
    said = " ".join(card(text).split())
    assert [in_degrees(angle) for angle, _ in bent_to(said)] == [
        bend["angle_deg"] for bend in sorted(as_json(text)["pieces"][0]["bends"], key=lambda b: b["order"])
    ]
    assert sorted(in_degrees(angle) for angle, _ in bent_to(said)) == [22.5, 22.5, 45]


def test_on_a_shoe_with_springback_the_card_bends_past_the_angle_and_says_what_is_left() -> None:
    """A shoe that lets 1 degree go at once and a tenth of the bend with it: 30 is bent to 34."""
    springy = msgspec.structs.replace(default_bender("EMT", "1/2"), springback_b0_rad=radians(1), springback_b1=0.1)
    text = survey(["offset: {rise: 4 1/4, starts_at: 23, angle: 30}"], bender="springy")
    plan = plan_run(survey_from_text(text).survey, find=lambda _: springy)
    assert bent_to(" ".join(text_card(plan, width=100).split())) == [("34", "30")] * 2
    assert {b.pointer_basis for b in plan.pieces[0].bends} == {"under load"}


def dimension_lines(svg: str) -> Iterator[Any]:
    """Each dimension of the side view: its text, and the line drawn just before it, as ((x1, y1), (x2, y2))."""
    item = re.compile(r"<line ([^>]*)/>|<text [^>]*>([^<]*)</text>")
    lines = []
    for match in item.finditer(svg):
        if match.group(2) is None:
            numbers = dict(re.findall(r'(\S+)="([^"]*)"', match.group(1)))
            ends = [float(numbers[k]) for k in ("x1", "y1", "x2", "y2")]
            if numbers["stroke-width"] == "0.22":
                lines.append(ends)
        elif lines and re.match(r"[\d /-]+&quot; to ", match.group(2)):
            yield match.group(2).replace("&quot;", '"'), lines[-1]


@pytest.mark.parametrize(
    ("feature", "told"),
    [
        ("box_offset: {name: it, rise: 1/2, starts_at: 21}", (21, "start of it")),
        ("offset: {name: it, rise: 3, starts_at: 22}", (22, "start of it")),
        ("offset: {name: it, rise: 3, middle_at: 37}", (37, "middle of it")),
        ("offset: {name: it, rise: 3, done_by: 55}", (55, "end of it")),
        ("saddle: {name: it, rise: 2, centre: 46}", (46, "middle of it")),
        ("keep_clear: {name: it, centre: 43, height: 1/2, width: 2, side: 14}", (43, "middle of it")),
        ("kick: {name: it, rise: 4, starts_at: 70}", (70, "start of it")),
    ],
)
def test_each_reading_is_drawn_from_the_tapes_zero_the_way_the_tape_runs(
    feature: str, told: tuple[int, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file, out = tmp_path / "run.yaml", tmp_path / "card.svg"
    file.write_text(survey([feature], leg="104"), encoding="utf-8")
    main(["plan", str(file), "--svg", str(out)])
    capsys.readouterr()
    drawn = {}
    for text, ends in dimension_lines(out.read_text(encoding="utf-8")):
        reading, _, name = text.partition('" to ')
        drawn[name] = float(reading), ends
    leg_in, (zero, y1, end, y2) = drawn.pop("face")
    assert y1 == y2
    assert end > zero
    reading_in, (x1, _, x2, _) = drawn[told[1]]
    assert reading_in == told[0]
    assert x1 == pytest.approx(zero, abs=0.01)
    assert (x2 - zero) * leg_in / (end - zero) == pytest.approx(reading_in, abs=0.05)
