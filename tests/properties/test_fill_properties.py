"""Properties of fill, ampacity, drop and boxes that must hold for every input."""

from hypothesis import given, settings
from hypothesis import strategies as st

from racewright.catalogue.raceways import Raceway, all_raceways, trade_sizes
from racewright.codebook.edition import DEFAULT_EDITION, load_edition
from racewright.errors import LimitError, RacewrightError
from racewright.wires.ampacity import find_ampacity
from racewright.wires.box_fill import BoxContents, box_need
from racewright.wires.conductors import Wire, WireGroup, insulated_wire, parse_group
from racewright.wires.impedance import Circuit
from racewright.wires.protection import ground_size
from racewright.wires.pull_box import parse_pull, pull_box
from racewright.wires.voltage_drop import voltage_drop
from racewright.wires.wire_fill import check_fill, how_many_fit, size_raceway

EDITION = load_edition(DEFAULT_EDITION)
INSULATIONS = ["THHN", "THWN-2", "XHHW", "RHH", "RHH*", "THW"]
SIZES = ["14", "12", "10", "8", "6", "4", "2", "1/0", "4/0", "250", "500"]
TYPES = ["EMT", "IMC", "RMC", "PVC-40", "PVC-80"]
wires = st.builds(
    lambda size, name: insulated_wire(size, name, EDITION), st.sampled_from(SIZES), st.sampled_from(INSULATIONS)
)
groups = st.builds(lambda count, wire: WireGroup(count=count, wire=wire), st.integers(1, 8), wires)
sets = st.lists(groups, min_size=1, max_size=4)
quiet = settings(max_examples=60, deadline=None)


@quiet
@given(st.sampled_from(TYPES), sets, wires)
def test_more_wire_never_needs_a_smaller_raceway(raceway_type: str, some: list[WireGroup], extra: Wire) -> None:
    """From three wires on (two have the lower 31 percent, so a third can help)."""
    if sum(group.count for group in some) < 3:
        some = [*some, WireGroup(count=3, wire=extra)]
    order = trade_sizes(raceway_type)
    try:
        more = size_raceway(raceway_type, [*some, WireGroup(count=1, wire=extra)], EDITION)
    except LimitError:
        return
    try:
        less = size_raceway(raceway_type, some, EDITION)
    except LimitError:
        raise AssertionError("fewer wires were refused where more fitted") from None
    if less.fill.same_size_most is None and more.fill.same_size_most is None:
        assert order.index(less.trade_size) <= order.index(more.trade_size)


@quiet
@given(st.sampled_from(all_raceways()), wires)
def test_the_count_that_fits_fits_and_one_more_does_not(raceway: Raceway, wire: Wire) -> None:
    most = how_many_fit(raceway, wire, EDITION).more
    if most:
        assert check_fill(raceway, [WireGroup(count=most, wire=wire)], EDITION).fits
    if most < 2000:
        assert not check_fill(raceway, [WireGroup(count=most + 1, wire=wire)], EDITION).fits


@quiet
@given(st.sampled_from(all_raceways()), sets)
def test_splitting_a_group_changes_nothing(raceway: Raceway, some: list[WireGroup]) -> None:
    apart = [WireGroup(count=1, wire=group.wire) for group in some for _ in range(group.count)]
    one, two = check_fill(raceway, some, EDITION), check_fill(raceway, apart, EDITION)
    assert (one.fits, one.wires_area_in2, one.allowed_area_in2) == (two.fits, two.wires_area_in2, two.allowed_area_in2)


@quiet
@given(st.sampled_from(all_raceways()), sets)
def test_a_nipple_never_takes_less(raceway: Raceway, some: list[WireGroup]) -> None:
    if check_fill(raceway, some, EDITION).fits:
        assert check_fill(raceway, some, EDITION, nipple=True).fits


@quiet
@given(st.sampled_from(SIZES), st.integers(1, 60), st.integers(1, 60), st.floats(-20, 85), st.floats(-20, 85))
def test_hotter_or_fuller_never_carries_more(size: str, few: int, many: int, cool: float, hot: float) -> None:
    few, many = sorted((few, many))
    cool, hot = sorted((cool, hot))
    best = find_ampacity(size, "THHN", EDITION, carrying=few, ambient_c=cool)
    worst = find_ampacity(size, "THHN", EDITION, carrying=many, ambient_c=hot)
    assert worst.usable_a <= best.usable_a
    assert worst.usable_a <= worst.terminal_a


@quiet
@given(st.sampled_from(SIZES), st.floats(0.1, 2000), st.floats(0.1, 2000), st.sampled_from(["single", "three"]))
def test_drop_is_proportional_to_length_and_current(size: str, amps: float, metres: float, system: str) -> None:
    one = voltage_drop(size, Circuit(amps, metres, 480, system=system), EDITION)
    two = voltage_drop(size, Circuit(2 * amps, 3 * metres, 480, system=system), EDITION)
    assert abs(two.drop_v - 6 * one.drop_v) <= 1e-9 * two.drop_v


@quiet
@given(st.floats(1, 6000), st.sampled_from(SIZES), st.sampled_from(SIZES))
def test_a_grown_circuit_never_shrinks_its_ground(device_a: float, first: str, second: str) -> None:
    needed, used = sorted((first, second), key=EDITION.rank)
    found = ground_size(device_a, EDITION, needed_size=needed, used_size=used)
    thick = EDITION.rank(found.size)
    assert thick >= min(EDITION.rank(found.tabled_size), EDITION.rank(used))
    assert thick <= max(EDITION.rank(found.tabled_size), EDITION.rank(used))


@quiet
@given(
    st.lists(
        st.tuples(st.integers(1, 20), st.sampled_from(["18", "16", "14", "12", "10", "8", "6"])), min_size=1, max_size=4
    )
)
def test_box_volume_is_a_sum(counted: list[tuple[int, str]]) -> None:
    whole = box_need(BoxContents(conductors=tuple(counted)), EDITION).needed_in3
    parts = sum(box_need(BoxContents(conductors=(each,)), EDITION).needed_in3 for each in counted)
    assert abs(whole - parts) < 1e-9


@quiet
@given(st.lists(st.sampled_from(["1/2", "1", "1-1/4", "2", "3", "4", "6"]), min_size=1, max_size=6))
def test_one_more_raceway_never_needs_a_smaller_pull_box(trade: list[str]) -> None:
    pulls = [parse_pull(f"angle left {size} -> top {size}") for size in trade]
    whole = pull_box(pulls, EDITION)
    for less in range(1, len(pulls)):
        assert pull_box(pulls[:less], EDITION).width_mm <= whole.width_mm
    assert whole.width_mm == whole.height_mm


@settings(max_examples=200, deadline=None)
@given(st.text(alphabet="0123456789x ×/.-#THWNXRabcelinyground*\"'", max_size=24))
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    for read in (lambda: parse_group(text, EDITION), lambda: parse_pull(text)):
        said = "read"
        try:
            read()
        except RacewrightError as refused:
            said = refused.message
        assert said
