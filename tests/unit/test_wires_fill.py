"""Reading wires, raceway fill, how many fit, jamming."""

from math import pi
from typing import Any

import pytest

from racewright.catalogue.raceways import all_raceways, find_raceway
from racewright.codebook.edition import DEFAULT_EDITION, load_edition
from racewright.errors import InputError, LimitError, UnknownName
from racewright.wires.conductors import WireGroup, insulated_wire, parse_group, parse_groups
from racewright.wires.wire_fill import Fill, check_fill, how_many_fit, is_nipple, size_raceway

EDITION = load_edition(DEFAULT_EDITION)


def fill(raceway_type: str, trade_size: str, *wires: Any, nipple: bool = False) -> Fill:
    return check_fill(find_raceway(raceway_type, trade_size), parse_groups(wires, EDITION), EDITION, nipple=nipple)


def test_groups_are_read() -> None:
    group = parse_group("3 x 8 thhn neutral", EDITION)
    assert (group.count, group.wire.size, group.wire.insulation, group.role) == (3, "8", "THHN", "neutral")
    assert group.label == "3 x 8 THHN neutral"
    assert parse_group("250 kcmil XHHW-2", EDITION).label == "1 x 250 kcmil XHHW-2"
    assert parse_group("2×12 AWG THWN-2 ground", EDITION).role == "ground"


def test_bare_is_stranded_unless_said() -> None:
    stranded, solid = parse_group("1 x 12 bare", EDITION), parse_group("1 x 12 bare solid", EDITION)
    assert (stranded.wire.area_in2, solid.wire.area_in2) == ("0.006", "0.005")


def test_an_elliptical_cable_counts_by_its_major_diameter() -> None:
    flat, round_one = parse_group("cable 0.25 in by 0.5 in", EDITION), parse_group("cable 1/2 in", EDITION)
    assert flat.wire.area == round_one.wire.area
    assert float(flat.wire.area) == pytest.approx(pi / 16, abs=1e-6)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("0 x 12 THHN", "0 wires"),
        ("-3 x 12 THHN", "-3 wires"),
        ("9999999 x 12 THHN", "9999999 wires"),
        ("9" * 5000 + " x 12 THHN", "No conductor size|cannot be read"),
        ("3 x 12", "cannot be read"),
        ("", "cannot be read"),
        ("3 x", "No insulation"),
        ("12 THHN extra", "cannot be read"),
        ("12 bare tinned", "tinned"),
        ("2 x cable", "cannot be read"),
        ("12 THHN/XHHW", "different thickness"),
    ],
)
def test_unreadable_wires(text: str, words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        parse_group(text, EDITION)
    assert caught.value.hint


def test_no_wires() -> None:
    with pytest.raises(InputError):
        parse_groups([], EDITION)
    with pytest.raises(InputError):
        check_fill(find_raceway("EMT", "1"), [], EDITION)


def test_unknown_names_say_what_exists() -> None:
    with pytest.raises(UnknownName) as size:
        parse_group("3 x 13 THHN", EDITION)
    with pytest.raises(UnknownName) as insulation:
        parse_group("3 x 12 THHM", EDITION)
    with pytest.raises(UnknownName) as trade:
        fill("EMT", "7", "3 x 12 THHN")
    assert "14, 12, 10" in size.value.hint
    assert "THHN" in insulation.value.hint
    assert "1/2" in trade.value.hint


@pytest.mark.parametrize(("count", "percent"), [(1, 53), (2, 31), (3, 40), (30, 40)])
def test_percent_by_count(count: int, percent: int) -> None:
    assert fill("EMT", "4", f"{count} x 12 THHN").limit_percent == percent


def test_a_nipple_takes_60_percent_whatever_the_count() -> None:
    assert {fill("EMT", "4", f"{n} x 12 THHN", nipple=True).limit_percent for n in (1, 2, 3)} == {60}
    assert not fill("EMT", "1/2", "4 x 8 THHN").fits
    assert fill("EMT", "1/2", "4 x 8 THHN", nipple=True).fits


def test_a_nipple_ends_at_24_in() -> None:
    assert is_nipple("24 in", EDITION)
    assert not is_nipple("", EDITION)
    with pytest.raises(LimitError) as caught:
        is_nipple("610 mm", EDITION)
    assert caught.value.field == "nipple"
    assert caught.value.limit == pytest.approx(609.6)


def test_grounds_and_bare_wires_count() -> None:
    without, with_ground = fill("EMT", "1/2", "9 x 12 THHN"), fill("EMT", "1/2", "9 x 12 THHN", "1 x 12 bare")
    assert without.fits
    assert not with_ground.fits
    assert with_ground.findings[0].rule == "wire.fill"
    assert with_ground.findings[0].citation == "NFPA 70-2023 Chapter 9 Table 1"


def test_rounding_up_is_only_for_wires_of_one_size() -> None:
    """7 x 6 THHN in 1 EMT: 0.3549 of 0.346 goes by Note 7; the same area in mixed wires does not."""
    assert fill("EMT", "1", "7 x 6 THHN").fits
    mixed = fill("EMT", "1", "6 x 6 THHN", "1 x 8 THHN", "1 x 12 THHN")
    assert mixed.wires_area_in2 < fill("EMT", "1", "7 x 6 THHN").wires_area_in2
    assert not mixed.fits
    assert mixed.same_size_most is None


def test_an_edge_of_rounding_is_named() -> None:
    found = fill("EMT", "1-1/4", "12 x 6 THHN")
    assert [(finding.rule, finding.severity) for finding in found.findings] == [("wire.edge", "problem")]
    assert (found.same_size_most, found.by_diameter_most) == (11, 12)
    (edge,) = found.findings
    assert (edge.measured, edge.allowed, edge.unit) == (12.0, 11.0, "conductors")


def test_at_an_edge_an_answer_has_one_verdict_and_says_whose() -> None:
    """Every raceway, five sizes of XHHW: the tables decide, the other count stands beside it as such."""
    for raceway in all_raceways():
        for size in ("14", "12", "10", "8", "6"):
            wire = insulated_wire(size, "XHHW", EDITION)
            answer = how_many_fit(raceway, wire, EDITION)
            held = answer.fill_with_more
            if held is None:
                continue
            assert held.same_size_most == answer.more
            differs = held.by_diameter_most != answer.more
            assert ("the diameters without rounding give" in answer.note) == differs
            one_more = check_fill(raceway, [WireGroup(count=answer.more + 1, wire=wire)], EDITION)
            for fill_now, fits in ((held, True), (one_more, False)):
                assert fill_now.fits == fits
                verdicts = [f for f in fill_now.findings if f.rule in ("wire.fill", "wire.edge")]
                assert len(verdicts) == (0 if fits and held.by_diameter_most >= answer.more else 1)
                assert all((f.severity == "problem") != fits for f in verdicts)


def test_size_names_what_was_too_small() -> None:
    found = size_raceway("emt", parse_groups(["3 x 3/0 THHN", "1 x 6 bare"], EDITION), EDITION)
    assert found.trade_size == "2"
    assert found.too_small == ("1/2", "3/4", "1", "1-1/4", "1-1/2")


def test_too_much_for_the_largest() -> None:
    with pytest.raises(LimitError) as caught:
        size_raceway("EMT", parse_groups(["900 x 12 THHN"], EDITION), EDITION)
    assert caught.value.asked > caught.value.limit > 0


def test_more_beside_others() -> None:
    raceway, wire = find_raceway("EMT", "3/4"), insulated_wire("12", "THHN", EDITION)
    beside = parse_groups(["3 x 12 THHN"], EDITION)
    assert how_many_fit(raceway, wire, EDITION, beside=beside).more == 13
    assert how_many_fit(raceway, wire, EDITION).more == 16
    thick = insulated_wire("500", "THHN", EDITION)
    assert how_many_fit(raceway, thick, EDITION).more == 0


def test_a_third_small_wire_can_lift_the_limit_of_two() -> None:
    """Two 1 AWG THHN in 1 EMT: 0.3124 over 31 percent (0.268), within 40 percent (0.346) with a thin third one."""
    assert not fill("EMT", "1", "2 x 1 THHN").fits
    more = how_many_fit(
        find_raceway("EMT", "1"),
        insulated_wire("14", "THHN", EDITION),
        EDITION,
        beside=parse_groups(["2 x 1 THHN"], EDITION),
    )
    assert more.more == 3


@pytest.mark.parametrize(
    ("wires", "rule", "severity"),
    [
        (["3 x 8 THHN"], "wire.jam", "caution"),  # 0.622 / 0.216 = 2.88
        (["3 x 8 THHN", "1 x 14 THHN"], "wire.jam", "info"),
        (["3 x 10 THHN"], "", ""),  # 3.79
        (["4 x 12 THHN"], "", ""),
    ],
)
def test_jamming(wires: list[str], rule: str, severity: str) -> None:
    found = [(f.rule, f.severity) for f in fill("EMT", "1/2", *wires).findings]
    assert found == ([(rule, severity)] if rule else [])


def test_fill_in_mm2_is_fill_in_square_inches() -> None:
    found = fill("EMT", "1", "3 x 8 THHN")
    assert found.wires_area_mm2 == pytest.approx(found.wires_area_in2 * 645.16, rel=1e-12)
    assert found.allowed_area_mm2 == pytest.approx(found.allowed_area_in2 * 645.16, rel=1e-12)
    assert all(step.citation.startswith("NFPA 70-2023") for step in found.steps)
