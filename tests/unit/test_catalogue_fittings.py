"""Fittings: names, outlines, the free end."""

import pytest

from racewright.catalogue.fittings import all_fittings, find_fitting, fitting_kinds
from racewright.catalogue.raceways import find_raceway
from racewright.errors import UnknownName


def test_free_end_takes_nothing() -> None:
    raceway = find_raceway("EMT", "1/2")
    free = find_fitting("none", raceway)
    assert (free.insertion_mm, free.length_mm) == (0.0, 0.0)
    assert free.outside_diameter_mm == raceway.outside_diameter_mm
    assert find_fitting("", raceway) == free


@pytest.mark.parametrize(
    ("kind", "family", "found"),
    [("Set Screw", "EMT", "set-screw"), ("locknut", "RMC", "threaded"), ("socket", "PVC-40", "socket")],
)
def test_kinds_by_their_usual_names(kind: str, family: str, found: str) -> None:
    assert find_fitting(kind, find_raceway(family, "3/4")).kind == found


def test_every_fitting_is_larger_than_its_conduit_and_says_its_standing() -> None:
    for fitting in all_fittings():
        raceway = find_raceway(fitting.raceway_type, fitting.trade_size)
        assert 0 < fitting.insertion_mm < 100
        assert fitting.outside_diameter_mm > raceway.outside_diameter_mm
        if "coupling" in fitting.kind:
            assert fitting.length_mm >= 2 * fitting.insertion_mm - 1.0 or fitting.kind == "threaded coupling"
        assert fitting.source
        assert fitting.standing


def test_a_kind_that_does_not_fit_says_which_do() -> None:
    raceway = find_raceway("EMT", "1/2")
    with pytest.raises(UnknownName, match="threaded") as caught:
        find_fitting("threaded", raceway)
    assert caught.value.expected == ", ".join(fitting_kinds(raceway))
