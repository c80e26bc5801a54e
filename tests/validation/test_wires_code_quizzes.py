"""EC&M, 'Quizzes on the Code' and code columns (2000 to 2008 editions of the code), read in reprints.

Pull boxes: Art. 370 quiz, September 2000 (answers 1 and 2 seen; 3, 4, 5 inputs and choices seen, answer worked with
the rule). Boxes: quiz on box fill (answers 1 and 2 seen; 3, 4 inputs and choices seen). Ampacity: Art. 310 quiz and a
quiz on cellular floor raceways. Voltage drop: 'the basics of calculating voltage drop'. Exact but where a tolerance
stands.
"""

from typing import Any

import pytest

from racewright.codebook.edition import DEFAULT_EDITION, load_edition
from racewright.wires.ampacity import find_ampacity
from racewright.wires.box_fill import BoxContents, box_need, boxes_that_hold, find_box
from racewright.wires.impedance import Circuit
from racewright.wires.pull_box import parse_pull, pull_box
from racewright.wires.voltage_drop import size_for_drop, voltage_drop

EDITION = load_edition(DEFAULT_EDITION)


def least(*pulls: Any) -> tuple[float, float]:
    found = pull_box([parse_pull(text) for text in pulls], EDITION)
    return found.width_in, found.height_in


def test_straight_pull_2_in() -> None:
    assert least("straight left 2 -> right 2")[0] == pytest.approx(16, abs=1e-9)


def test_straight_pull_only_the_largest_counts() -> None:
    found = least(
        "straight left 2-1/2 -> right 2-1/2", "straight left 2 -> right 2", "straight left 1-1/2 -> right 1-1/2"
    )
    assert found == pytest.approx((20, 0), abs=1e-9)


def test_angle_pull_one_2_in() -> None:
    assert least("angle left 2 -> bottom 2") == pytest.approx((12, 12), abs=1e-9)


def test_angle_pull_4_3_2_in() -> None:
    found = least("angle left 4 -> bottom 4", "angle left 3 -> bottom 3", "angle left 2 -> bottom 2")
    assert found == pytest.approx((29, 29), abs=1e-9)


def test_u_pull_2_in() -> None:
    assert least("u top 2 -> top 2")[1] == pytest.approx(14, abs=1e-9)


def test_no_spacing_between_raceways_without_common_conductors() -> None:
    """Code quiz on a 32 in box: 4 in straight across, 2 in from below to the back; no distance between those two."""
    pulls = [parse_pull("straight left 4 -> right 4"), parse_pull("angle bottom 2 -> back 2")]
    found = pull_box(pulls, EDITION, largest_conductor="250")
    assert [spacing.between for spacing in found.spacings] == ["bottom 2 and back 2"]
    assert found.width_in == pytest.approx(32, abs=1e-9)


def test_octagonal_box_with_stud_and_hickey() -> None:
    need = box_need(BoxContents(conductors=((4, "14"), (2, "14")), grounds=((2, "14"),), supports=2), EDITION)
    assert need.allowances == 9
    assert boxes_that_hold(need, EDITION, shape="octagonal")[0].trade_size == "4 x 2 1/8"


def test_octagonal_box_with_clamps_and_18_awg_fixture_wires() -> None:
    contents = BoxContents(conductors=((4, "12"), (2, "18")), grounds=((2, "12"),), supports=1, clamps=True)
    need = box_need(contents, EDITION)
    assert need.needed_in3 == pytest.approx(18.75, abs=1e-9)
    assert boxes_that_hold(need, EDITION, shape="octagonal")[0].trade_size == "4 x 2 1/8"


def test_square_box_with_eight_cables() -> None:
    """36.25 in3 in the quiz's edition; four grounds beyond four add 2.25 in3 since 2020. The same box holds both."""
    contents = BoxContents(conductors=((8, "14"), (8, "12")), grounds=((4, "14"), (4, "12")))
    need = box_need(contents, EDITION)
    assert need.needed_in3 == pytest.approx(36.25 + 2.25, abs=1e-9)
    assert boxes_that_hold(need, EDITION, shape="square")[0].trade_size == "4 11/16 x 2 1/8"


def test_device_box_with_one_receptacle() -> None:
    contents = BoxContents(conductors=((4, "14"),), grounds=((2, "14"),), clamps=True, devices=((1, "14"),))
    need = box_need(contents, EDITION)
    assert need.needed_in3 == pytest.approx(16, abs=1e-9)
    choices = ["3 x 2 x 1 1/2 device", "3 x 2 x 3 1/2 device", "4 x 2 1/8 x 1 1/2 device", "4 x 2 1/8 x 2 1/8 device"]
    assert [text for text in choices if find_box(text, EDITION).volume_in3 >= need.needed_in3] == [choices[1]]


@pytest.mark.parametrize(
    ("size", "ambient_c", "carrying", "amps"),
    [
        ("12", 30, 9, 21),
        ("14", (105 - 32) / 1.8, 6, 17.4),
        ("12", 30, 8, 21),  # sixteen with half of them carrying: inputs and choices seen
        ("12", 30, 30, 13.5),
    ],
)
def test_thhn_in_company(size: str, ambient_c: float, carrying: int, amps: float) -> None:
    found = find_ampacity(size, "THHN", EDITION, ambient_c=ambient_c, carrying=carrying)
    assert found.corrected_a == pytest.approx(amps, abs=0.05)


def test_drop_of_10_awg_over_200_ft() -> None:
    """Three phase, 480 V, 20 A, 1.1 ohm per 1000 ft (Table 9, steel): 7621 / 1000 V."""
    found = voltage_drop("10", Circuit(20, 60.96, 480, system="three", resistance=1.1), EDITION)
    assert found.drop_v == pytest.approx(7.621, abs=0.002)
    assert not found.findings


def test_size_for_200_ft() -> None:
    """The text's 6207 circular mils use sqrt(3) = 1.732 and 1.73: to 2 circular mils."""
    found = size_for_drop(Circuit(20, 60.96, 480, system="three"), 3, EDITION)
    assert found.needed_circular_mils == pytest.approx(6207, abs=2)
    assert found.k_size == found.size == "12"
