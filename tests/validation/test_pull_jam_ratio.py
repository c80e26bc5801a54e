"""Published jam ratio, cable makers' form 1.05 D/d (an engineer's worked case, read in a reprint): three cables 2.11 in
across in a bore of 6.03 in give 3.00. NFPA 70-2023 Chapter 9 Table 1 informational note: 2.8 to 3.2."""

from __future__ import annotations

import pytest

from racewright.wires.pulling import PullWire, gather


def test_three_cables_in_a_six_inch_bore() -> None:
    cable = PullWire(name="750", count=3, diameter_mm=2.11 * 25.4, weight_n_per_mm=0.04, circular_mils=750000.0)
    ratio = gather([cable], 6.03 * 25.4).jam_ratio
    assert ratio is not None
    assert 1.05 * ratio == pytest.approx(3.00, abs=0.005)
