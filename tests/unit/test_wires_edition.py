"""The edition's tables as data: sources, standings, names, and the tables against each other."""

import json
from importlib.resources import files
from math import pi
from typing import Any

import pytest

from racewright.catalogue.raceways import read_rows
from racewright.cli.main import main
from racewright.codebook.edition import (
    DEFAULT_EDITION,
    STANDINGS,
    Edition,
    RuleStep,
    cited,
    from_memory,
    load_edition,
    metal_name,
)
from racewright.errors import Finding, UnknownName

EDITION = load_edition(DEFAULT_EDITION)
TABLES = [
    "expansion",
    "raceway_articles",
    "supports",
    "ac_resistance",
    "ambient_correction",
    "ampacity",
    "box_allowances",
    "box_volumes",
    "citations",
    "conductor_areas",
    "conductors",
    "count_adjustment",
    "grounding_conductors",
    "insulations",
    "limits",
    "small_conductor_limits",
    "standard_devices",
]


@pytest.mark.parametrize("table", TABLES)
def test_every_row_has_source_and_standing(table: str) -> None:
    rows = EDITION.rows(table)
    assert rows
    assert all("NFPA 70-2023" in row.source or row.source.startswith("no article") for row in rows)
    assert all(row.standing in STANDINGS for row in rows)


def test_every_table_of_the_edition_is_listed_here() -> None:
    found = {each.name for each in files("racewright.codebook").joinpath("data", "nfpa70_2023").iterdir()}
    assert found == {f"{table}.csv" for table in TABLES}


@pytest.mark.parametrize(
    ("table", "columns"), [("raceways.csv", ["standing"]), ("least_radius.csv", ["standing", "other_standing"])]
)
def test_the_code_tables_of_the_catalogue_say_one_standing_a_row(table: str, columns: list[str]) -> None:
    for row in read_rows(table):
        assert all(row[column] in STANDINGS for column in columns), row


def test_a_row_with_two_standings_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    table = b"name,value,source,standing\na,1,here,read in a reprint or from memory\n"
    monkeypatch.setattr("racewright.catalogue.raceways.get_data", lambda *_: table)
    with pytest.raises(ValueError, match="is no standing"):
        Edition("NFPA 70-2023", "nfpa70_2023").rows("limits")


def test_what_is_from_memory_is_named_once() -> None:
    steps = [
        RuleStep(text="a", citation="Table 1", standing="from memory"),
        RuleStep(text="b", citation="Table 1", standing="from memory"),
        RuleStep(text="c", citation="Table 2", standing="read in a reprint"),
        RuleStep(text="d", **cited("Note 3", "from memory")),
        RuleStep(text="e", citation="a book read (from memory)"),
    ]
    assert from_memory(steps) == ("Table 1", "Note 3")


def test_a_finding_from_memory_is_named_by_its_standing_and_not_again_beside_its_steps() -> None:
    step = RuleStep(text="a", **cited("Table 5", "from memory"))
    beside = Finding(rule="wire.fill", severity="problem", message="", **cited("Table 1; Table 5", "from memory"))
    alone = Finding(rule="wire.nipple", severity="info", message="", **cited("Note 4; Note 9", "from memory"))
    printed = Finding(rule="wire.jam", severity="info", message="", **cited("Note 9", "read in a reprint"))
    assert from_memory([step], [beside, alone, printed]) == ("Table 5", "Note 4; Note 9")


@pytest.mark.parametrize(
    "words",
    [
        ["size", "--raceway", "EMT", "3 x 6 RHH"],
        ["fit", "--raceway", "EMT", "--size", "1/2", "9 x 6 RHH"],
        ["fit", "--raceway", "EMT", "--size", "1/2", "--nipple", "20 in", "5 x 12 THHN", "1 x 12 bare"],
        ["ground", "--device", "20"],
        ["ampacity", "12 THHN"],
    ],
)
def test_what_an_answer_marks_as_from_memory_carries_that_standing(
    words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    main(["wires", *words, "--json"])
    told = json.loads(capsys.readouterr().out)
    lines = [*told["steps"], *told["findings"]]
    assert lines
    for line in lines:
        assert line["citation"].endswith("(from memory)") == (line.get("standing") == "from memory")


def test_unknown_edition_says_which_exist() -> None:
    with pytest.raises(UnknownName, match="NFPA 70-1999") as caught:
        load_edition("NFPA 70-1999")
    assert DEFAULT_EDITION in caught.value.hint


@pytest.mark.parametrize("text", ["12", "#12", "12 AWG", "No. 12"])
def test_sizes_in_many_writings(text: str) -> None:
    assert EDITION.size(text) == "12"


def test_large_sizes_in_many_writings() -> None:
    assert [EDITION.size(text) for text in ("250 kcmil", "250 MCM", "1/0", "00")] == ["250", "250", "1/0", "2/0"]


@pytest.mark.parametrize("text", ["13", "", "1/5", "11 AWG", "5/0"])
def test_no_such_size(text: str) -> None:
    with pytest.raises(UnknownName) as caught:
        EDITION.size(text)
    assert "14, 12, 10" in caught.value.hint


def test_metals() -> None:
    assert [metal_name(text) for text in ("Cu", "aluminium", "AL")] == ["copper", "aluminum", "aluminum"]
    with pytest.raises(UnknownName, match="tin"):
        metal_name("tin")


def test_unknown_limit_and_citation() -> None:
    with pytest.raises(UnknownName):
        EDITION.limit("nothing")
    with pytest.raises(UnknownName):
        EDITION.cite("nothing")


def test_no_solid_conductor_of_a_thick_size() -> None:
    with pytest.raises(UnknownName) as caught:
        EDITION.conductor("4/0", "solid")
    assert "stranded" in caught.value.hint


def test_tabled_areas_are_pi_4_d_squared() -> None:
    """Independent of the table's area column: to half a digit of the diameter plus half a digit of the area."""
    for row in EDITION.rows("conductor_areas"):
        diameter, area = float(row.cells["diameter_in"]), float(row.cells["area_in2"])
        slack = pi / 2 * diameter * 0.0005 + 0.00006
        assert abs(pi / 4 * diameter**2 - area) <= slack, row.cells


def test_resistance_times_circular_mils_is_about_k() -> None:
    """R CM / 1000 ft is near 12.9 for copper and 21.2 for aluminium (strand lay and rounding: 3 percent)."""
    for row in EDITION.rows("conductors"):
        mils = float(row.cells["circular_mils"])
        assert float(row.cells["copper_ohm_per_kft"]) * mils / 1000 == pytest.approx(12.9, rel=0.03)
        assert float(row.cells["aluminum_ohm_per_kft"]) * mils / 1000 == pytest.approx(21.2, rel=0.03)


def test_bare_area_is_pi_4_d_squared() -> None:
    """Independent of the area column: half a digit of the diameter plus half a digit of the area, and a bit."""
    for row in EDITION.rows("conductors"):
        diameter, area = float(row.cells["bare_diameter_in"]), float(row.cells["bare_area_in2"])
        assert abs(pi / 4 * diameter**2 - area) <= pi / 2 * diameter * 0.0005 + 0.00065, row.cells


def test_aluminum_resists_as_much_more_than_copper_in_every_size() -> None:
    """The two metals' columns scale together (1.65 within rounding), so a slipped digit in either shows."""
    for row in EDITION.rows("conductors"):
        ratio = float(row.cells["aluminum_ohm_per_kft"]) / float(row.cells["copper_ohm_per_kft"])
        assert ratio == pytest.approx(1.645, abs=0.009), row.cells


def test_ac_resistance_is_dc_and_a_little_more() -> None:
    """Skin effect: nothing up to 2 AWG but rounding, growing with size, most in metal raceways."""
    for row in EDITION.rows("ac_resistance"):
        direct = EDITION.conductor(row.cells["size"])
        for metal in ("copper", "aluminum"):
            dc = float(direct.cells[f"{metal}_ohm_per_kft"])
            ac = [row.cells[f"{metal}_{raceway}"] for raceway in ("pvc", "steel", "aluminum")]
            if not ac[0]:
                assert (metal, row.cells["size"]) == ("aluminum", "14")
                continue
            digit = 10.0 ** -len(ac[0].partition(".")[2])
            pvc, steel, aluminum = map(float, ac)
            assert dc - 0.75 * digit <= pvc <= steel <= aluminum + digit, row.cells
            assert aluminum <= 1.5 * dc + digit, row.cells


def test_reactance_in_steel_is_a_quarter_more_than_in_plastic() -> None:
    for row in EDITION.rows("ac_resistance"):
        pvc, steel = float(row.cells["x_pvc"]), float(row.cells["x_steel"])
        assert row.cells["x_aluminum"] == row.cells["x_pvc"]
        assert steel / pvc == pytest.approx(1.25, abs=0.03), row.cells


def test_reactance_falls_smoothly_with_size() -> None:
    """But for the step at 8 AWG (thicker insulation) and at 250 kcmil a thicker wire has no more reactance."""
    last = None
    for row in EDITION.rows("ac_resistance"):
        x = float(row.cells["x_pvc"])
        if last is not None:
            assert -0.005 < x - last <= (0.0021 if row.cells["size"] in ("8", "1") else 0.0), row.cells
        last = x


def test_ambient_factors_are_the_formula() -> None:
    """310.15(B) formula sqrt((Tc - Ta) / (Tc - 30)) at the upper end of each band, to half the last digit and a bit."""
    for row in EDITION.rows("ambient_correction"):
        for rated in (60, 75, 90):
            factor = row.number(f"factor_{rated}")
            if factor is not None:
                formula = ((rated - float(row.cells["up_to_c"])) / (rated - 30)) ** 0.5
                assert float(factor) == pytest.approx(formula, abs=0.0065), row.cells


def test_ampacity_grows_with_size_and_temperature() -> None:
    last: dict[tuple[str, int], Any] = {}
    for row in EDITION.rows("ampacity"):
        for metal in ("copper", "aluminum"):
            cells = [row.number(f"{metal}_{rated}") for rated in (60, 75, 90)]
            known = [cell for cell in cells if cell is not None]
            assert known == sorted(known)
            for rated, cell in zip((60, 75, 90), cells, strict=True):
                if cell is not None:
                    assert cell > last.get((metal, rated), 0)
                    last[metal, rated] = cell


def test_box_counts_are_volume_over_allowance() -> None:
    """Table 314.16(A) against Table 314.16(B)(1): whole allowances that the volume holds."""
    for row in EDITION.rows("box_volumes"):
        for allowance in EDITION.rows("box_allowances"):
            printed = int(row.cells[f"n{allowance.cells['size']}"])
            volume = row.number("volume_in3") / allowance.number("volume_in3")
            assert printed == int(volume), row.cells
