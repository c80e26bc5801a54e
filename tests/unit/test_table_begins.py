"""A table on paper begins where its head and its whole first row fit, and what stands above it goes with it."""

from racewright.cards.layout import BODY_PT, PAPERS, Writer, line_mm
from racewright.cards.tables import Column, Row, begin_mm, write_table
from racewright.drawing.scene import Text

COLUMNS = (Column("bend", 1.0), Column("then", 2.0))
TALL = Row(("1", "a long way to say what is to be done then, " * 12))


def pages_of(room_mm: float) -> list[list[str]]:
    """A heading and a table below each other, where so much of the first page is left."""
    writer = Writer(PAPERS["letter"], title="pack", footer="", running="pack")
    writer.start_page("batch list", running=True)
    writer.space(writer.room - room_mm)
    writer.need(line_mm(BODY_PT) + 3.0 + begin_mm(writer, COLUMNS, [TALL]))
    writer.body("1. bend to 30", size_pt=BODY_PT, weight="bold")
    write_table(writer, COLUMNS, [TALL])
    return [[one.text for one in page.items if isinstance(one, Text)] for page in writer.scene().pages]


def test_a_heading_never_parts_from_its_first_row() -> None:
    for room_mm in range(8, 120, 4):
        for texts in pages_of(float(room_mm)):
            if "1. bend to 30" in texts:
                assert any(text.startswith("a long way") for text in texts), room_mm
