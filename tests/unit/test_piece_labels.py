"""Labels for pieces: what stands on each, and that it stands within its own place on the sheet."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from racewright.cards.label_sheets import Grid, label_sheets
from racewright.cards.layout import find_paper
from racewright.cli.main import main
from racewright.drawing.metrics import MM_PER_PT, text_width_mm
from racewright.drawing.scene import Box, Page, Text
from racewright.errors import LimitError
from racewright.job.piece_labels import PieceLabel

ONE = PieceLabel(
    label="RM-1-2#14",
    run="RM-1",
    goes="Pump house, disconnect to starter",
    area="Rooms",
    piece=2,
    pieces=3,
    copy=14,
    copies=20,
    raceway="EMT 1/2",
    length='58 7/8"',
    ends_later="",
    plan="WHJAZG",
)
LETTER = find_paper("letter")


def grid(rows: int = 10, columns: int = 3, wide: float = 63.5, high: float = 25.4, **more: Any) -> Grid:
    figures: dict[str, Any] = {"left_mm": 12.7, "top_mm": 12.7, "across_mm": 0.0, "down_mm": 0.0, "lines": True} | more
    return Grid(paper=LETTER, rows=rows, columns=columns, width_mm=wide, height_mm=high, **figures)


def texts(page: Page, box: Box) -> list[str]:
    """What stands in a place, each within it."""
    inside = []
    for item in page.items:
        if not isinstance(item, Text):
            continue
        x, y = item.at
        width = text_width_mm(item.text, item.size_pt, item.weight)
        left, right = (x - width, x) if item.anchor == "end" else (x, x + width)
        high = box.top <= y - 0.7 * item.size_pt * MM_PER_PT and y <= box.bottom
        if high and box.left - 0.01 <= left and right <= box.right + 0.01:
            inside.append(item.text)
    return inside


@settings(max_examples=80, deadline=None)
@given(
    st.integers(1, 20),
    st.integers(1, 5),
    st.text("Wil-0", min_size=1, max_size=40),
    st.text("Woi ", max_size=120),
    st.integers(1, 70),
    st.integers(0, 99),
)
def test_each_label_stands_in_its_own_place_with_all_that_tells_it(
    rows: int, columns: int, key: str, goes: str, count: int, skip: int
) -> None:
    wide, high = 190.0 / columns, min(254.0 / rows, 60.0)
    made = grid(rows, columns, wide, high)
    label = msgspec.structs.replace(ONE, label=f"{key}-2#14", run=key, goes=goes, area=goes[:20])
    skip %= rows * columns
    scene = label_sheets("Orchard cooperative", [label] * count, made, skip)
    assert len(scene.pages) == -(-(skip + count) // (rows * columns))
    seen = 0
    for number, page in enumerate(scene.pages):
        in_places = 0
        for at in range(rows * columns):
            found = texts(page, made.box(at))
            in_places += len(found)
            if number * rows * columns + at < skip or seen == count:
                assert found == []
                continue
            seen += 1
            said = " | ".join(found)
            for wanted in (label.label, "EMT 1/2", 'cut 58 7/8"', "piece 2 of 3, copy 14 of 20", "plan WHJAZG"):
                assert wanted in said
        assert in_places == sum(isinstance(item, Text) for item in page.items)  # none stands across two
    assert seen == count


def test_a_name_goes_on_in_further_lines_where_a_label_is_high_enough() -> None:
    goes = "Pump house, from the disconnect behind the filter along the north wall and over the tank to the starter"
    label = msgspec.structs.replace(ONE, goes=goes, area="Rooms of the packing shed")
    made = grid(2, 2, 95.0, 127.0)
    page = label_sheets("Orchard cooperative, everything that is new", [label], made).pages[0]
    drawn = [item for item in page.items if isinstance(item, Text)]
    said = " ".join(item.text for item in drawn)
    assert f"Rooms of the packing shed, {goes}" in said
    assert "Orchard cooperative, everything that is new" in said.replace("plan WHJAZG ", "")
    assert "…" not in said
    assert {item.size_pt for item in drawn if item.weight == "regular"} == {15.0}
    assert len(texts(page, made.box(0))) == len(drawn)
    tight = label_sheets("Orchard", [msgspec.structs.replace(label, goes=goes * 20)], made).pages[0]
    assert any(item.text.endswith("…") for item in tight.items if isinstance(item, Text))
    assert len(texts(tight, made.box(0))) == sum(isinstance(item, Text) for item in tight.items)


def test_what_cannot_stand_on_the_paper_is_refused_with_its_limit() -> None:
    for made, field, limit in (
        (grid(columns=4), "columns", LETTER.width_mm),
        (grid(rows=11), "rows", LETTER.height_mm),
        (grid(rows=25, high=9.0), "rows", None),
        (grid(columns=8, wide=23.0), "columns", 25.0),
    ):
        with pytest.raises(LimitError) as refused:
            label_sheets("x", [ONE], made)
        assert refused.value.field == field
        assert limit is None or refused.value.limit == limit


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Path:
    monkeypatch.setenv("RACEWRIGHT_SHOP", str(tmp_path / "jobs.rwshop"))
    for words in (
        ["new", "orchard", "--area", "Rooms"],
        ["add", "examples/pump-house-saddle.yaml", "--area", "Rooms", "--key", "RM", "--times", "20"],
        ["add", "examples/packing-shed-long-run.yaml", "--key", "PS"],
        ["set", "bent", "RM", "--copy", "1-14"],
    ):
        assert main(["job", *words]) == 0
    capsys.readouterr()
    return tmp_path


def said(capsys: pytest.CaptureFixture[str], *words: str, code: int = 0) -> str:
    assert main(["job", "labels", *words]) == code
    told = capsys.readouterr()
    assert told.out == ""
    return told.err


def test_a_table_has_a_row_for_each_piece_that_is_to_be_cut(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = shop / "labels.csv"
    assert "labels written to" in said(capsys, str(out))
    rows = list(csv.DictReader(out.read_text(encoding="utf-8-sig").splitlines()))
    assert [row["label"] for row in rows[:6]] == [f"RM#{n}" for n in range(15, 21)]
    assert {row["cut"] for row in rows[:6]} == {'58 7/8"'}
    long = rows[6:]
    assert len(long) > 1
    assert [row["label"] for row in long] == [f"PS-{n}" for n in range(1, len(long) + 1)]
    assert {row["of"] for row in long} == {str(len(long))}
    assert main(["job", "cut", "--all", "--out", str(shop / "cut.csv")]) == 0
    cut = (shop / "cut.csv").read_text(encoding="utf-8-sig")
    for row in rows:  # what is written on a piece is what the cut list calls it, of the same length
        length = row["cut"].removesuffix('"')
        assert f",{row['label']},{row['run']},{length}," in cut


def test_sheets_are_written_and_used_up_places_left(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pypdf = pytest.importorskip("pypdf")
    pytest.importorskip("reportlab")
    out = shop / "labels.pdf"
    assert "6 labels on 1 sheet written to" in said(capsys, str(out), "--area", "Rooms", "--skip", "3")
    (page,) = pypdf.PdfReader(out).pages
    words = page.extract_text()
    assert words.count("plan ") == 6
    assert "RM#15" in words
    assert "RM#14" not in words
    told = said(
        capsys, str(shop / "many.svg"), "--rows", "2", "--columns", "2", "--status", "bent", "--status", "planned"
    )
    assert f"many-1.svg to many-{_count(told)}.svg" in told
    assert (shop / "many-1.svg").exists()
    assert "hint" in said(capsys, str(out), "--rows", "60", code=3)
    assert "nothing written" in said(capsys, str(shop / "none.pdf"), "--status", "wired")
    assert not (shop / "none.pdf").exists()


def _count(told: str) -> int:
    return int(told.partition(" sheets")[0].rpartition(" ")[2])
