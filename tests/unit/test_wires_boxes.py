"""Box fill and pull boxes."""

from typing import Any

import pytest

from racewright.codebook.edition import DEFAULT_EDITION, load_edition
from racewright.errors import InputError, UnknownName
from racewright.wires.box_fill import (
    BoxContents,
    BoxNeed,
    all_boxes,
    box_need,
    boxes_that_hold,
    check_box,
    find_box,
    parse_counted,
)
from racewright.wires.pull_box import PullBox, check_pull_box, parse_pull, pull_box

EDITION = load_edition(DEFAULT_EDITION)


def need(**contents: Any) -> BoxNeed:
    return box_need(BoxContents(**contents), EDITION)


@pytest.mark.parametrize(("grounds", "allowances"), [(1, 1), (4, 1), (5, 1.25), (8, 2), (9, 2.25)])
def test_grounds_from_the_fifth_count_a_quarter(grounds: int, allowances: float) -> None:
    assert need(grounds=((grounds, "12"),)).needed_in3 == pytest.approx(2.25 * allowances, abs=1e-9)


def test_receptacle_with_a_fifth_ground() -> None:
    """Arithmetic only (314.16(B)(5), since 2020): 24.75 + 0.25 x 2.25."""
    found = need(conductors=((8, "12"),), devices=((1, "12"),), grounds=((5, "12"),))
    assert found.needed_in3 == pytest.approx(25.3125, abs=1e-9)
    assert found.needed_cm3 == pytest.approx(25.3125 * 16.387064, rel=1e-9)


def test_clamps_and_supports_take_the_largest_conductor() -> None:
    found = need(conductors=((2, "14"), (2, "10")), clamps=True, supports=1)
    assert found.needed_in3 == pytest.approx(4 + 5 + 2.5 + 2.5, abs=1e-9)


def test_a_wide_device_counts_each_gang_and_its_own_wire() -> None:
    found = need(conductors=((2, "10"), (2, "14")), devices=((2, "10"), (1, "14")))
    assert found.needed_in3 == pytest.approx(5 + 4 + 10 + 4, abs=1e-9)


def test_long_loops_count_twice_and_terminal_blocks_once() -> None:
    assert need(loops=((2, "12"),)).needed_in3 == pytest.approx(9, abs=1e-9)
    assert need(conductors=((1, "12"),), terminal_blocks=((1, "12"),)).needed_in3 == pytest.approx(4.5, abs=1e-9)


def test_boxes_of_a_shape_smallest_first() -> None:
    holding = boxes_that_hold(need(conductors=((8, "12"),)), EDITION, shape="square")
    assert [box.volume_in3 for box in holding] == sorted(box.volume_in3 for box in holding)
    assert holding[0].name == "4 x 1 1/4 square"


@pytest.mark.parametrize("text", ["4 x 1 1/2 square", "4x1-1/2 square", 'Square 4" x 1.5"'])
def test_a_box_in_many_writings(text: str) -> None:
    assert find_box(text, EDITION).volume_in3 == 21.0


def test_every_box_is_found_by_its_own_name() -> None:
    assert [find_box(box.name, EDITION).name for box in all_boxes(EDITION)] == [box.name for box in all_boxes(EDITION)]


def test_a_box_that_is_too_small() -> None:
    found = need(conductors=((10, "12"),))
    assert check_box(found, 22.5, EDITION) == ()
    (finding,) = check_box(found, 21.0, EDITION, name="4 x 1 1/2 square")
    assert (finding.rule, finding.severity, finding.allowed, finding.unit) == ("box.fill", "problem", 21.0, "in3")
    assert finding.measured == pytest.approx(22.5)


@pytest.mark.parametrize(
    ("contents", "error"),
    [
        ({}, InputError),
        ({"clamps": True}, InputError),
        ({"conductors": ((0, "12"),)}, InputError),
        ({"conductors": ((-1, "12"),)}, InputError),
        ({"conductors": ((2, "4"),)}, InputError),
        ({"conductors": ((2, "12"),), "supports": -1}, InputError),
        ({"conductors": ((2, "13"),)}, UnknownName),
    ],
)
def test_contents_that_cannot_be(contents: dict[str, Any], error: type[InputError | UnknownName]) -> None:
    with pytest.raises(error) as caught:
        need(**contents)
    assert caught.value.hint


def test_unknown_boxes_and_shapes() -> None:
    with pytest.raises(UnknownName):
        find_box("5 x 5 round", EDITION)
    with pytest.raises(UnknownName):
        boxes_that_hold(need(conductors=((1, "12"),)), EDITION, shape="star")
    with pytest.raises(InputError):
        check_box(need(conductors=((1, "12"),)), 0, EDITION)


def test_counted() -> None:
    assert parse_counted(["4 x 12", "1/0", "2×14"], "wire") == ((4, "12"), (1, "1/0"), (2, "14"))
    with pytest.raises(InputError):
        parse_counted(["four x 12"], "wire")


def test_pulls_are_read() -> None:
    pull = parse_pull("u top row 2 1-1/2 -> top row 2 1 1/2")
    assert (pull.kind, pull.a.row, pull.a.trade_size, pull.b.trade_size) == ("u", 2, "1-1/2", "1-1/2")
    assert parse_pull("angle: left 3 -> bottom 2").b.label == "bottom 2"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "left 3",
        "bend left 3 -> bottom 3",
        "straight left 3 -> bottom 3",
        "angle left 3 -> right 3",
        "u left 3 -> right 3",
        "angle front 3 -> left 3",
        "angle left three -> top 3",
        "angle left 0 -> top 3",
        "angle left row 0 3 -> top 3",
        "angle left 3/0 -> top 3",
        "angle left 1e9 -> top 3",
        "angle left nan -> top 3",
    ],
)
def test_pulls_that_cannot_be(text: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_pull(text)
    assert caught.value.hint


@pytest.mark.parametrize(
    ("text", "size"), [("1 1/4", "1-1/4"), ('2"', "2"), ("2.5 in", "2-1/2"), ("1/2", "1/2"), ("53", "2")]
)
def test_trade_sizes_in_many_writings(text: str, size: str) -> None:
    assert parse_pull(f"angle left {text} -> top {text}").a.trade_size == size


def box(*pulls: Any, **options: Any) -> PullBox:
    return pull_box([parse_pull(text) for text in pulls], EDITION, **options)


def test_rows_are_figured_apart() -> None:
    """Row 1: 6 x 2 + 2 = 14; row 2: 6 x 3 = 18; the worst row governs, they are not added."""
    found = box("angle left 2 -> top 2", "angle left 2 -> top 2", "angle left row 2 3 -> top row 2 3")
    assert (found.width_in, found.height_in) == pytest.approx((18, 18), abs=1e-9)


def test_straight_and_angle_in_one_row() -> None:
    """A straight 4 in beside an angle 3 in on one wall: the greater of 8 x 4 and 6 x 4 + 3."""
    found = box("straight left 4 -> right 4", "angle left 3 -> bottom 3")
    assert (found.width_in, found.height_in) == pytest.approx((32, 18), abs=1e-9)


def test_thin_conductors_do_not_bind() -> None:
    found = box("straight left 2 -> right 2", largest_conductor="6")
    assert not found.binding
    assert [finding.rule for finding in found.findings] == ["box.pull.scope"]
    assert check_pull_box(found, 10.0, 10.0, EDITION) == ()
    assert box("straight left 2 -> right 2", largest_conductor="4").binding
    assert not box("straight left 2 -> right 2", largest_conductor="4", insulated=False).binding


def test_a_box_too_narrow() -> None:
    found = box("angle left 3 -> bottom 3")
    (finding,) = check_pull_box(found, 17 * 25.4, 18 * 25.4, EDITION)
    assert (finding.rule, finding.where, finding.citation) == ("box.pull", "width", "NFPA 70-2023 314.28(A)(2)")
    assert finding.allowed - finding.measured == pytest.approx(25.4)


def test_the_back_wall_asks_for_a_look_up() -> None:
    found = box("angle bottom 2 -> back 2")
    assert [finding.rule for finding in found.findings] == ["box.pull.depth"]
    assert found.height_in == pytest.approx(12)


def test_no_pulls() -> None:
    with pytest.raises(InputError):
        pull_box([], EDITION)
