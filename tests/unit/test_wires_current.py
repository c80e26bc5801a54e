"""Ampacity, grounding conductor, voltage drop."""

from fractions import Fraction
from math import sqrt
from typing import Any

import pytest

from racewright.codebook.edition import DEFAULT_EDITION, load_edition
from racewright.errors import InputError, LimitError, UnknownName
from racewright.wires.ampacity import check_load, count_carrying, find_ampacity, least_carrying
from racewright.wires.impedance import Circuit
from racewright.wires.protection import check_device, ground_size, protection_for
from racewright.wires.voltage_drop import size_for_drop, voltage_drop

EDITION = load_edition(DEFAULT_EDITION)


@pytest.mark.parametrize(
    ("circuits", "count"),
    [
        ([(1, "2-wire")], 2),
        ([(1, "3-wire")], 2),
        ([(2, "2 phases and neutral of wye")], 6),
        ([(1, "3 phases")], 3),
        ([(1, "wye 4-wire")], 3),
        ([(1, "wye 4-wire nonlinear")], 4),
        ([(2, "2-wire"), (1, "wye 4-wire nonlinear")], 8),
    ],
)
def test_which_conductors_count(circuits: list[tuple[int, str]], count: int) -> None:
    total, steps = count_carrying(circuits, EDITION)
    assert total == count
    assert any("310.15(E)" in step.citation for step in steps)


@pytest.mark.parametrize("circuit", [(1, "5-wire"), (0, "2-wire")])
def test_no_such_circuit(circuit: tuple[int, str]) -> None:
    with pytest.raises(InputError) as caught:
        count_carrying([circuit], EDITION)
    assert all(kind in caught.value.hint for kind in ("2-wire", "3 phases", "wye 4-wire nonlinear"))


@pytest.mark.parametrize(
    ("carrying", "factor"),
    [
        (1, 1),
        (3, 1),
        (4, 0.8),
        (6, 0.8),
        (7, 0.7),
        (9, 0.7),
        (10, 0.5),
        (20, 0.5),
        (21, 0.45),
        (31, 0.4),
        (41, 0.35),
        (99, 0.35),
    ],
)
def test_count_factors(carrying: int, factor: float) -> None:
    assert find_ampacity("12", "THHN", EDITION, carrying=carrying).count_factor == pytest.approx(factor, abs=1e-12)


def test_a_nipple_is_not_adjusted() -> None:
    assert find_ampacity("12", "THHN", EDITION, carrying=12, nipple=True).count_factor == 1


@pytest.mark.parametrize(
    ("ambient_c", "factor"), [(-20, 1.15), (10, 1.15), (10.1, 1.12), (30, 1.0), (30.5, 0.96), (85, 0.29)]
)
def test_ambient_bands(ambient_c: float, factor: float) -> None:
    assert find_ampacity("12", "THHN", EDITION, ambient_c=ambient_c).ambient_factor == pytest.approx(factor, abs=1e-12)


def test_terminals_bind() -> None:
    marked = find_ampacity("8", "THHN", EDITION, terminal_c=75)
    unmarked = find_ampacity("8", "THHN", EDITION)
    thick = find_ampacity("1/0", "THHN", EDITION)
    assert (marked.usable_a, unmarked.usable_a, thick.usable_a) == (50, 40, 150)
    assert marked.findings[0].rule == "wire.terminals"
    assert any("nothing marked" in step.text for step in unmarked.steps)


@pytest.mark.parametrize(
    ("size", "options", "ampacity", "largest", "receptacles"),
    [
        ("12", {"carrying": 33}, 12, 15, None),  # 30 x 0.40: 10 A feeds no receptacles
        ("12", {"carrying": 14}, 15, 15, 15),  # a standard rating as it stands: nothing is rounded up
        ("14", {"carrying": 45}, 8.75, 10, None),  # 10 A is a standard rating since 2023
        ("12", {"terminal_c": 75}, 25, 20, 20),  # the cap of 12 AWG
        ("10", {"terminal_c": 75, "metal": "al"}, 30, 25, 25),
        ("6", {"terminal_c": 75}, 65, 70, 60),
        ("350", {"metal": "al"}, 250, 250, 250),
        ("18", {}, 14, 7, None),  # 7 A by a listed device, whatever stands above
    ],
)
def test_device_follows_the_ampacity_and_the_cap_only_lowers_it(
    size: str, options: dict[str, Any], ampacity: float, largest: int, receptacles: int | None
) -> None:
    found = find_ampacity(size, "XHHW-2" if size != "18" else "THHN", EDITION, **options)
    assert found.usable_a == pytest.approx(ampacity, abs=1e-12)
    assert (found.protection.largest_a, found.protection.receptacles_a) == (largest, receptacles)


def test_no_rounding_up_beyond_800_a() -> None:
    """820 A of wire: 800 A, not 1000; exactly at 800 stays. Above 800 the device may not exceed the ampacity."""
    for ampacity, largest in ((790, 800), (800, 800), (820, 800), (1150, 1000), (1200, 1200)):
        assert protection_for("1000", "copper", Fraction(ampacity), EDITION).largest_a == largest


def test_a_small_control_wire_is_held_to_its_cap_with_the_conditions() -> None:
    steps = find_ampacity("16", "THHN", EDITION).protection.steps
    assert "only a device listed and marked for that size, continuous loads up to 8 A" in steps[-1].text


@pytest.mark.parametrize(
    ("device_a", "told"),
    [(60, []), (60.1, ["caution"]), (70, ["caution"]), (70.1, ["problem"])],
)
def test_a_device_just_as_large_as_is_permitted_is_permitted(device_a: float, told: list[str]) -> None:
    """6 AWG copper at 75 C carries 65 A: 70 A by the next rating up, 60 A where that may not be taken."""
    found = find_ampacity("6", "XHHW-2", EDITION, terminal_c=75)
    findings = check_device(found.wire, device_a, found.protection, found.usable_a, EDITION)
    assert [f.severity for f in findings] == told


@pytest.mark.parametrize("device_a", [0, -15, float("nan")])
def test_no_such_device(device_a: float) -> None:
    found = find_ampacity("8", "THHN", EDITION)
    with pytest.raises(InputError):
        check_device(found.wire, device_a, found.protection, found.usable_a, EDITION)


def test_a_60_c_wire_does_not_go_to_the_terminals_of_a_large_circuit() -> None:
    """110.14(C)(1)(b): unmarked terminals over 100 A, or beyond 1 AWG, are for wire of 75 C or more."""
    thick, large = find_ampacity("2/0", "TW", EDITION), find_ampacity("1", "TW", EDITION, circuit_a=110)
    small, marked = find_ampacity("1", "TW", EDITION, circuit_a=100), find_ampacity("2/0", "TW", EDITION, terminal_c=60)
    for found, problem in ((thick, True), (large, True), (small, False), (marked, False)):
        assert any(f.rule == "wire.terminals" and f.severity == "problem" for f in found.findings) == problem


def test_wet_and_dry() -> None:
    assert find_ampacity("12", "XHHW", EDITION).insulation_c == 90
    assert find_ampacity("12", "XHHW", EDITION, wet=True).insulation_c == 75
    assert find_ampacity("12", "THHN/THWN-2", EDITION, wet=True).insulation_c == 90
    with pytest.raises(InputError) as caught:
        find_ampacity("12", "THHN", EDITION, wet=True)
    assert "THWN-2" in caught.value.hint


@pytest.mark.parametrize(
    ("size", "insulation", "options", "error"),
    [
        ("13", "THHN", {}, UnknownName),
        ("12", "ABC", {}, UnknownName),
        ("12", "THHN", {"metal": "gold"}, UnknownName),
        ("12", "THHN", {"carrying": 0}, InputError),
        ("12", "THHN", {"carrying": -4}, InputError),
        ("12", "THHN", {"terminal_c": 65}, InputError),
        ("12", "THHN", {"ambient_c": float("nan")}, InputError),
        ("12", "THHN", {"ambient_c": 86}, LimitError),
        ("12", "TW", {"ambient_c": 56}, LimitError),
        ("14", "THHN", {"metal": "aluminum"}, LimitError),
    ],
)
def test_what_cannot_be(size: str, insulation: str, options: dict[str, Any], error: type[Any]) -> None:
    with pytest.raises(error) as caught:
        find_ampacity(size, insulation, EDITION, **options)
    assert caught.value.hint


def test_load_against_ampacity() -> None:
    found = find_ampacity("12", "THHN", EDITION, carrying=4, terminal_c=75)
    assert check_load(found, 24, EDITION) == ()
    with pytest.raises(InputError):
        check_load(found, float("nan"), EDITION)
    (finding,) = check_load(found, 25, EDITION)
    assert (finding.rule, finding.severity, finding.measured, finding.allowed) == ("wire.ampacity", "problem", 25, 24)


@pytest.mark.parametrize(
    ("device_a", "copper", "aluminum"),
    [
        (15, "14", "12"),
        (16, "12", "10"),
        (20, "12", "10"),
        (60, "10", "8"),
        (61, "8", "6"),
        (200, "6", "4"),
        (6000, "800", "1250"),
    ],
)
def test_grounding_conductor_by_device(device_a: int, copper: str, aluminum: str) -> None:
    assert ground_size(device_a, EDITION).size == copper
    assert ground_size(device_a, EDITION, metal="al").size == aluminum


def test_grounding_conductor_is_never_thicker_than_the_circuit() -> None:
    found = ground_size(20, EDITION, needed_size="14", used_size="10")
    assert found.size == "10"
    assert any("250.122(A)" in step.citation for step in found.steps)


@pytest.mark.parametrize(
    ("device_a", "options", "error"),
    [
        (0, {}, InputError),
        (-20, {}, InputError),
        (float("nan"), {}, InputError),
        (6001, {}, LimitError),
        (20, {"needed_size": "12"}, InputError),
        (20, {"used_size": "12"}, InputError),
        (20, {"needed_size": "8", "used_size": "12"}, InputError),
        (20, {"needed_size": "13", "used_size": "12"}, UnknownName),
    ],
)
def test_grounding_conductor_refusals(device_a: float, options: dict[str, Any], error: type[Any]) -> None:
    with pytest.raises(error) as caught:
        ground_size(device_a, EDITION, **options)
    assert caught.value.hint


def test_drop_is_the_circuit_law() -> None:
    """Independent: two wires of 1.98 ohm per 1000 ft over 100 ft carry 20 A; three phase is sqrt(3) / 2 of it."""
    single = voltage_drop("12", Circuit(20, 30.48, 240), EDITION)
    three = voltage_drop("12", Circuit(20, 30.48, 240, system="three"), EDITION)
    assert single.drop_v == pytest.approx(2 * 0.1 * 1.98 * 20, rel=1e-12)
    assert three.drop_v == pytest.approx(sqrt(3) * 0.1 * 1.98 * 20, rel=1e-12)
    assert single.load_v == pytest.approx(240 - 7.92, rel=1e-12)
    assert single.resistance_ohm_per_km == pytest.approx(1.98 / 0.3048, rel=1e-12)


def test_table_and_k_agree_within_3_percent() -> None:
    for size in ("14", "10", "6", "2", "4/0", "500", "1000"):
        for metal in ("copper", "aluminum"):
            found = voltage_drop(size, Circuit(10, 50, 240, metal=metal), EDITION)
            assert found.k_drop_v == pytest.approx(found.drop_v, rel=0.03)


def test_power_factor_and_reactance() -> None:
    found = voltage_drop(
        "2", Circuit(50, 304.8, 480, system="three", power_factor=0.8, resistance=0.2, reactance=0.05), EDITION
    )
    assert found.drop_v == pytest.approx(sqrt(3) * 50 * (0.2 * 0.8 + 0.05 * 0.6), rel=1e-12)


def test_parallel_sets_share() -> None:
    one, two = (
        voltage_drop("1/0", Circuit(200, 60, 480), EDITION),
        voltage_drop("1/0", Circuit(200, 60, 480, sets=2), EDITION),
    )
    assert two.drop_v == pytest.approx(one.drop_v / 2, rel=1e-12)
    assert sum("/ 2 sets" in step.text for step in two.steps) == 2
    assert not any("sets" in step.text for step in one.steps)


def test_recommendation_of_3_and_5_percent() -> None:
    branch = voltage_drop("12", Circuit(20, 20, 120), EDITION)
    whole = voltage_drop("12", Circuit(20, 20, 120, total=True), EDITION)
    assert 3 < branch.percent < 5
    assert [(f.rule, f.severity) for f in branch.findings] == [("wire.drop", "caution")]
    assert whole.findings == ()


def test_smallest_size_keeps_the_limit_and_the_next_thinner_does_not() -> None:
    found = size_for_drop(Circuit(30, 60, 240), 3, EDITION)
    assert found.drop.percent <= 3
    thinner = EDITION.sizes()[EDITION.rank(found.size) - 1]
    assert voltage_drop(thinner, Circuit(30, 60, 240), EDITION).percent > 3


def test_parallel_sets_are_no_thinner_than_1_0_however_little_drops() -> None:
    found = size_for_drop(Circuit(60, 6, 480, sets=2), 3, EDITION)
    assert (found.size, found.k_size) == ("1/0", "1/0")
    assert size_for_drop(Circuit(60, 6, 480, sets=2, power_factor=0.9), 3, EDITION).size == "1/0"
    assert size_for_drop(Circuit(10, 6, 480), 3, EDITION).size == "14"


def test_no_aluminum_14() -> None:
    assert size_for_drop(Circuit(1, 1, 240, metal="al"), 3, EDITION).size == "12"


def test_no_size_carries_so_much_in_one_set() -> None:
    found = size_for_drop(Circuit(900, 10, 480), 3, EDITION)
    assert found.carrying is None
    assert found.take == found.drop


def test_thinnest_that_carries_goes_by_the_circuits_column() -> None:
    """100 A or less: 60 C column; more: 75 C column, so 115 A on 2 AWG; parallel sets from 1/0 on."""
    sizes = [least_carrying(amps, "copper", EDITION) for amps in (15, 15.1, 95, 100, 101, 115, 116)]
    assert [each.size for each in sizes] == ["14", "12", "2", "1", "2", "2", "1"]
    assert least_carrying(230, "copper", EDITION, sets=2).size == "1/0"


def test_own_resistance_and_the_tables_reactance() -> None:
    """A maker's ac resistance keeps the reactance of the table: 0.05 x 0.9 + 0.055 x sqrt(0.19), 1/0 in steel."""
    found = voltage_drop("1/0", Circuit(100, 304.8, 480, power_factor=0.9, resistance=0.05), EDITION)
    assert found.drop_v == pytest.approx(2 * 100 * (0.05 * 0.9 + 0.055 * sqrt(0.19)), rel=1e-12)
    assert "resistance as given" in found.basis


def test_no_size_is_thick_enough() -> None:
    with pytest.raises(LimitError) as caught:
        size_for_drop(Circuit(1000, 3000, 120), 1, EDITION)
    assert caught.value.limit == pytest.approx(1.2)


@pytest.mark.parametrize(
    "options",
    [
        {"current_a": 0},
        {"current_a": -5},
        {"length_m": 0},
        {"source_v": float("inf")},
        {"system": "two"},
        {"sets": 0},
        {"power_factor": 0},
        {"power_factor": 1.2},
        {"reactance": -1},
        {"resistance": 0},
    ],
)
def test_drop_refusals(options: dict[str, Any]) -> None:
    values: dict[str, Any] = {"current_a": 10, "length_m": 10, "source_v": 120} | options
    with pytest.raises(InputError) as caught:
        voltage_drop("12", Circuit(**values), EDITION)
    assert caught.value.hint
