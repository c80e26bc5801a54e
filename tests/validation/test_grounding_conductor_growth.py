"""Equipment grounding conductors grown with the circuit (250.122(B)).

- NEC Handbook, commentary example to 250.122(B) (250 kcmil grown to 350 kcmil, 300 A device), read in a reprint.
- Answers of engineers and inspectors on the same rule in question-and-answer texts, read in reprints.
Circular mils to 0.5 percent (one source rounds the ratio to 2.97 first); sizes exact.
"""

import pytest

from racewright.codebook.edition import DEFAULT_EDITION, load_edition
from racewright.wires.protection import ground_size

EDITION = load_edition(DEFAULT_EDITION)


def test_250_kcmil_grown_to_350() -> None:
    found = ground_size(300, EDITION, needed_size="250", used_size="350")
    assert found.tabled_size == "4"
    assert found.needed_circular_mils == pytest.approx(58436, abs=1)
    assert found.size == "2"


@pytest.mark.parametrize(
    ("device_a", "needed", "used", "mils", "size"),
    [
        (200, "3/0", "500", 77932.8, "1"),  # tabled 6 AWG
        (20, "12", "1/0", 105600, "1/0"),
        (50, "8", "1", 52617, "3"),
        (40, "8", "4", 26242, "4"),  # 6 AWG has 26240: two circular mils short, the strict reading
    ],
)
def test_question_and_answer_texts(device_a: int, needed: str, used: str, mils: float, size: str) -> None:
    found = ground_size(device_a, EDITION, needed_size=needed, used_size=used)
    assert found.needed_circular_mils == pytest.approx(mils, rel=5e-3)
    assert found.size == size


def test_two_circular_mils_short_is_named() -> None:
    found = ground_size(40, EDITION, needed_size="8", used_size="4")
    assert [finding.rule for finding in found.findings] == ["ground.near"]
