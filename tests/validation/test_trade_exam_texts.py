"""Practice exam questions and trade texts with their answers, read in reprints (figures restated).

SEEN: question and answer seen. INPUT-SEEN: question seen, answer worked with the published rule.
Tolerances: the last digit that the text prints.
"""

from typing import Any

import pytest

from racewright.catalogue.raceways import find_raceway
from racewright.codebook.edition import DEFAULT_EDITION, load_edition
from racewright.wires.ampacity import find_ampacity
from racewright.wires.box_fill import BoxContents, BoxNeed, box_need, check_box, find_box
from racewright.wires.conductors import parse_groups
from racewright.wires.impedance import Circuit
from racewright.wires.pull_box import parse_pull, pull_box
from racewright.wires.voltage_drop import size_for_drop, voltage_drop
from racewright.wires.wire_fill import FillSize, check_fill, size_raceway

EDITION = load_edition(DEFAULT_EDITION)
FT = 0.3048


def sized(raceway_type: str, *wires: Any) -> FillSize:
    return size_raceway(raceway_type, parse_groups(wires, EDITION), EDITION)


# Fill


def test_three_8_and_three_6_thhn() -> None:
    """SEEN, partly wrong: total 0.2619, EMT 1 (its 0.2316 for 3/4 EMT should be 0.213)."""
    found = sized("EMT", "3 x 8 THHN", "3 x 6 THHN")
    assert found.fill.wires_area_in2 == pytest.approx(0.2619, abs=1e-9)
    assert (found.trade_size, found.too_small) == ("1", ("1/2", "3/4"))


def test_seventeen_mixed_wires_in_rigid() -> None:
    """INPUT-SEEN: 4 x 10 THW, 2 x 12 RHW and 2 x 14 RHH without and with covering, 6 x 14 THW, 3 x 12 bare stranded."""
    found = sized("RMC", "4 x 10 THW", "2 x 12 RHW*", "2 x 14 RHH", "6 x 14 THW", "3 x 12 bare stranded")
    assert found.fill.wires_area_in2 == pytest.approx(0.3092, abs=1e-9)
    assert found.fill.allowed_area_in2 == pytest.approx(0.355, abs=1e-9)
    assert found.trade_size == "1"


def test_four_12_three_10_two_6_thhn_in_rigid() -> None:
    """SEEN: 3/4."""
    assert sized("RMC", "4 x 12 THHN", "3 x 10 THHN", "2 x 6 THHN").trade_size == "3/4"


def test_three_6_thhn() -> None:
    """SEEN in a design text: 0.1521 in2, 3/4 EMT."""
    found = sized("EMT", "3 x 6 THHN")
    assert found.fill.wires_area_in2 == pytest.approx(0.1521, abs=1e-9)
    assert found.trade_size == "3/4"


def test_jam_ratio_of_three_2_awg_in_1_in_rigid() -> None:
    """SEEN: 1.063 / 0.384 = 2.76 (2.768, cut off), outside 2.8 to 3.2."""
    fill = check_fill(find_raceway("RMC", "1"), parse_groups(["3 x 2 THHN"], EDITION), EDITION)
    assert fill.jam_ratio == pytest.approx(2.768, abs=0.001)
    assert not fill.findings


# Ampacity


@pytest.mark.parametrize(
    ("size", "insulation", "metal", "ambient_c", "carrying", "amps"),
    [
        ("12", "THHN", "copper", 30, 4, 24),  # INPUT-SEEN
        ("3/0", "THHN", "copper", 30, 4, 180),  # SEEN
        ("3/0", "THWN", "copper", 30, 4, 160),  # SEEN
        ("4", "THHN", "copper", 40, 3, 86.45),  # INPUT-SEEN
        ("10", "THHN", "copper", (120 - 32) / 1.8, 3, 32.8),  # SEEN; the text leaves the count of four out
        ("2", "THWN", "copper", (100 - 32) / 1.8, 3, 101.2),  # SEEN
        ("4/0", "THHN", "copper", 30, 6, 208),  # INPUT-SEEN, 80 percent named
        ("12", "THHN", "copper", 30, 11, 15),  # SEEN: 50 percent
        ("10", "THHN", "copper", 30, 3, 40),  # SEEN
        ("10", "THWN", "copper", 30, 3, 35),  # SEEN
        ("4/0", "THW", "aluminum", 30, 3, 180),  # SEEN, chosen for 166 A
    ],
)
def test_ampacities(size: str, insulation: str, metal: str, ambient_c: float, carrying: int, amps: float) -> None:
    found = find_ampacity(size, insulation, EDITION, metal=metal, ambient_c=ambient_c, carrying=carrying)
    assert found.corrected_a == pytest.approx(amps, abs=0.005)


def test_180_a_of_90_c_insulation_is_below_the_75_c_terminals() -> None:
    """SEEN: 180 A (90 C, 80 percent) stays below 200 A (75 C column)."""
    found = find_ampacity("3/0", "THHN", EDITION, carrying=4, terminal_c=75)
    assert (found.usable_a, found.terminal_a) == (180, 200)


@pytest.mark.parametrize(("size", "amps"), [("12", 20), ("10", 30)])
def test_small_conductors(size: str, amps: int) -> None:
    """SEEN: 12 AWG at most 20 A, 10 AWG at most 30 A, whatever the table's column."""
    assert find_ampacity(size, "THHN", EDITION).protection.largest_a == amps


def test_500_kcmil_between_two_standard_devices() -> None:
    """SEEN in a trade journal's article on 240.4: 500 kcmil THW copper, 380 A in the 75 C column, is no standard
    rating; without the leave of 240.4(B) the largest device would be 350 A. With it: 400 A."""
    found = find_ampacity("500", "THW", EDITION)
    assert found.usable_a == 380
    assert (found.protection.receptacles_a, found.protection.largest_a) == (350, 400)


def test_4_0_aluminum_is_the_thinnest_for_166_a() -> None:
    """SEEN: 200 A x 83 percent = 166 A; 4/0 THW aluminium with 180 A."""
    assert find_ampacity("3/0", "THW", EDITION, metal="al").corrected_a < 166


# Voltage drop


def test_drop_with_given_resistance() -> None:
    """SEEN: 10 AWG, 16 A, 50 ft, 1.2 ohm per 1000 ft: 1.92 V; 12 AWG, 8 A, 100 ft, 2 ohm per 1000 ft: 3.2 V."""
    first = voltage_drop("10", Circuit(16, 50 * FT, 120, resistance=1.2), EDITION)
    second = voltage_drop("12", Circuit(8, 100 * FT, 120, resistance=2.0), EDITION)
    assert (first.drop_v, second.drop_v) == pytest.approx((1.92, 3.2), abs=1e-6)


@pytest.mark.parametrize(
    ("size", "amps", "feet", "volts", "system", "drop_v", "percent"),
    [
        ("12", 20, 100, 120, "single", 7.9, 6.6),  # SEEN
        ("8", 20, 100, 120, "single", 3.1, 2.6),  # SEEN
        ("10", 20, 100, 120, "single", 4.97, 4.1),  # SEEN
        ("2", 50, 100, 208, "three", 1.68, 0.8),  # SEEN (volts)
    ],
)
def test_drop_by_k(size: str, amps: int, feet: int, volts: int, system: str, drop_v: float, percent: float) -> None:
    found = voltage_drop(size, Circuit(amps, feet * FT, volts, system=system), EDITION)
    assert found.k_drop_v == pytest.approx(drop_v, abs=0.06)
    assert found.k_percent == pytest.approx(percent, abs=0.06)


def test_size_for_a_heat_pump() -> None:
    """INPUT-SEEN: 40 A, 240 V, 230 ft, 3 percent, K = 12.9: 2 x 12.9 x 40 x 230 / 7.2 = 32967, so 4 AWG."""
    found = size_for_drop(Circuit(40, 230 * FT, 240), 3, EDITION)
    assert found.needed_circular_mils == pytest.approx(32967, abs=1)
    assert found.k_size == "4"


# Boxes


@pytest.mark.parametrize(
    ("contents", "volume"),
    [
        # SEEN: receptacle, four 12-2 cables with grounds, no clamps: 11 allowances.
        (BoxContents(conductors=((8, "12"),), devices=((1, "12"),), grounds=((4, "12"),)), 24.75),
        # SEEN: 14 AWG, 4 conductors, 1 device, grounds.
        (BoxContents(conductors=((4, "14"),), devices=((1, "14"),), grounds=((2, "14"),)), 14),
        # SEEN: 14 AWG, 2 conductors, 1 ground, switch and outlet.
        (BoxContents(conductors=((2, "14"),), devices=((2, "14"),), grounds=((1, "14"),)), 14),
        # SEEN: three 12 AWG, two grounds, one clamp, one device.
        (BoxContents(conductors=((3, "12"),), devices=((1, "12"),), grounds=((2, "12"),), clamps=True), 15.75),
        # INPUT-SEEN: two 12, two 14, grounds, one yoke on 12, one clamp: 8.5 + 2.25 + 4.5 + 2.25.
        (
            BoxContents(
                conductors=((2, "12"), (2, "14")), devices=((1, "12"),), grounds=((1, "12"), (1, "14")), clamps=True
            ),
            17.5,
        ),
        # INPUT-SEEN, a residential wiring text: two 12-2, two 14-2, receptacle on 12, switch on 14, clamps.
        (
            BoxContents(
                conductors=((4, "12"), (4, "14")),
                devices=((1, "12"), (1, "14")),
                grounds=((2, "12"), (2, "14")),
                clamps=True,
            ),
            30.0,
        ),
    ],
)
def test_box_volumes(contents: BoxContents, volume: float) -> None:
    assert box_need(contents, EDITION).needed_in3 == pytest.approx(volume, abs=1e-9)


def test_box_look_up() -> None:
    """First SEEN in a residential wiring text, the others from the table itself: 12 AWG."""
    names = ("4 x 1 1/2 octagonal", "4 11/16 x 1 1/2 square", "3 x 2 x 3 1/2 device")
    held = [
        [n for n in range(1, 20) if not check_box(twelves(n), find_box(name, EDITION).volume_in3, EDITION)]
        for name in names
    ]
    assert [max(counts) for counts in held] == [6, 13, 8]


def twelves(count: int) -> BoxNeed:
    return box_need(BoxContents(conductors=((count, "12"),)), EDITION)


# Pull boxes


@pytest.mark.parametrize(
    ("sizes", "inches"),
    [
        (("3", "2", "1"), 21),  # SEEN, article in a county newspaper's copy
        (("3", "2"), 20),  # SEEN, same
        (("4", "4", "4"), 32),  # SEEN, forum text
        (("4", "2"), 26),  # SEEN
    ],
)
def test_angle_pulls(sizes: tuple[str, ...], inches: int) -> None:
    found = pull_box([parse_pull(f"angle left {size} -> bottom {size}") for size in sizes], EDITION)
    assert (found.width_in, found.height_in) == pytest.approx((inches, inches), abs=1e-9)


@pytest.mark.parametrize(("size", "inches"), [("4", 32), ("3", 24), ("2", 16)])
def test_straight_pulls(size: str, inches: int) -> None:
    """SEEN: eight times the largest."""
    found = pull_box([parse_pull(f"straight left {size} -> right {size}")], EDITION)
    assert found.width_in == pytest.approx(inches, abs=1e-9)


def test_spacing_of_a_u_pull() -> None:
    """SEEN: 3 in pair, 18 in between the entries."""
    found = pull_box([parse_pull("u top 3 -> top 3")], EDITION)
    assert found.spacings[0].least_mm / 25.4 == pytest.approx(18, abs=1e-9)


def test_splice_row_3_2_2() -> None:
    """SEEN: 22 in."""
    pulls = [
        parse_pull("splice left 3 -> top 3"),
        parse_pull("splice left 2 -> top 2"),
        parse_pull("splice left 2 -> top 2"),
    ]
    assert pull_box(pulls, EDITION).width_in == pytest.approx(22, abs=1e-9)
