"""What current a wire carries, what a circuit loses on its way, and the grounding conductor for its device."""

from __future__ import annotations

from typing import Annotated

import msgspec

from racewright.cards.text.wires import ampacity_words, drop_words, ground_words, sized_words
from racewright.codebook.edition import RuleStep, load_edition
from racewright.errors import InputError, told_of
from racewright.operations.common import Known, LengthText, Name
from racewright.operations.wires_common import (
    CodeAnswer,
    CodeRequest,
    MetalName,
    Nipple,
    Texts,
    by_the_code,
    within,
)
from racewright.units.factors import celsius
from racewright.wires.ampacity import Ampacity, check_load, count_carrying, find_ampacity, parse_circuit, split_wire
from racewright.wires.impedance import Circuit
from racewright.wires.protection import GroundSize, check_device, ground_size
from racewright.wires.voltage_drop import DropSize, VoltageDrop, circuit_length_m, size_for_drop, voltage_drop
from racewright.wires.wire_fill import is_nipple


class WiresAmpacityRequest(CodeRequest, frozen=True, kw_only=True):
    """`wire` is size and insulation ('12 THHN'). Around it `ambient_c` or `ambient_f` (30 C where neither is given).
    Current-carrying conductors in the raceway: `carrying`, or `circuits` ('2 x 2-wire') to count them (3 where neither
    is given). `terminals_c`: marked on the terminals; `load_a` and `device_a` (the overcurrent device) are checked, and
    over 100 A they take the 75 C column. `nipple`: the length of a nipple between boxes, '' for a run."""

    wire: Annotated[
        Name, msgspec.Meta(title="Wire", description="size and insulation, '12 THHN'", extra={"of": "wire"})
    ]
    metal: MetalName = "copper"
    ambient_c: Annotated[
        float | None,
        msgspec.Meta(
            title="Ambient",
            description="degrees C around it (30 where nothing is said)",
            extra={"unit": "°C"},
        ),
    ] = None
    ambient_f: Annotated[
        float | None,
        msgspec.Meta(title="Ambient", description="degrees F around it, instead of C", extra={"unit": "°F"}),
    ] = None
    carrying: Annotated[
        int | None,
        msgspec.Meta(
            title="Current-carrying conductors",
            description="current-carrying conductors in it (3 where nothing is said)",
        ),
    ] = None
    circuits: Annotated[
        Texts,
        msgspec.Meta(
            title="Circuits in the raceway, to count them from", description="circuits in the raceway, '2 x 2-wire'"
        ),
    ] = ()
    terminals_c: Annotated[
        int | None,
        msgspec.Meta(
            title="Terminals marked", description="marked temperature of the terminals: 60 or 75", extra={"unit": "°C"}
        ),
    ] = None
    wet: Annotated[bool, msgspec.Meta(title="Wet place", description="wet place")] = False
    nipple: Nipple = ""
    load_a: Annotated[
        float | None, msgspec.Meta(title="Load", description="current to check against, in A", extra={"unit": "A"})
    ] = None
    device_a: Annotated[
        float | None,
        msgspec.Meta(
            title="Overcurrent device",
            description="rating of the circuit's overcurrent device in A: checked; over 100 A: 75 C column",
            extra={"unit": "A"},
        ),
    ] = None


class WiresAmpacityAnswer(CodeAnswer, frozen=True, kw_only=True):
    """What the wire may carry, and the largest overcurrent device for it."""

    result: Ampacity


class WiresDropRequest(CodeRequest, frozen=True, kw_only=True):
    """`length` one way, with its unit. Without `wire_size` the thinnest that keeps `limit_percent` is found (3, and 5
    for the `whole` way, feeder and branch). `system`: single (also dc) or three. Without `power_factor` the dc table is
    used; with one the ac table, in the column of `raceway` (steel where none is named). Resistance and reactance of
    your own replace the table's."""

    current_a: Annotated[float, msgspec.Meta(title="Current", description="current in A", extra={"unit": "A"})]
    length: Annotated[
        LengthText,
        msgspec.Meta(
            title="Length one way", description="one way with its unit: '150 ft' or '45 m'", extra={"of": "distance"}
        ),
    ]
    volts: Annotated[
        float, msgspec.Meta(title="Voltage at the source", description="voltage at the source", extra={"unit": "V"})
    ]
    wire_size: Annotated[
        Name,
        msgspec.Meta(
            title="Wire size", description="conductor size; without it the thinnest that keeps the limit is found"
        ),
    ] = ""
    system: Annotated[
        Name,
        msgspec.Meta(
            title="Phases",
            description="single (also dc; taken where nothing is said) or three",
            extra={"choose": "systems"},
        ),
    ] = "single"
    metal: MetalName = "copper"
    sets: Annotated[int, msgspec.Meta(title="Parallel sets", description="parallel sets, where there are several")] = 1
    limit_percent: Annotated[
        float | None,
        msgspec.Meta(
            title="Limit",
            description="percent, to find a size for (3 where nothing is said, 5 for the whole way)",
            extra={"unit": "%"},
        ),
    ] = None
    whole: Annotated[
        bool,
        msgspec.Meta(
            title="Feeder and branch together", description="feeder and branch together: compare with 5 percent"
        ),
    ] = False
    resistance_ohm_per_kft: Annotated[
        float | None,
        msgspec.Meta(
            title="Resistance of your own",
            description="ohm per 1000 ft of your own, instead of the table's",
            extra={"unit": "ohm/kft"},
        ),
    ] = None
    reactance_ohm_per_kft: Annotated[
        float | None,
        msgspec.Meta(
            title="Reactance of your own",
            description="ohm per 1000 ft of your own, instead of the table's",
            extra={"unit": "ohm/kft"},
        ),
    ] = None
    power_factor: Annotated[
        float | None,
        msgspec.Meta(title="Power factor", description="power factor of the load; without it the dc table is used"),
    ] = None
    raceway: Annotated[
        Name,
        msgspec.Meta(
            title="Raceway",
            description="EMT, PVC-40 ..., or steel, aluminum, PVC (steel where nothing is said)",
            extra={"choose": "raceways and materials"},
        ),
    ] = ""


class WiresDropAnswer(CodeAnswer, frozen=True, kw_only=True):
    """`drop` of the size that was named, else `sized`: the least for the drop and for the current, and what to take."""

    drop: VoltageDrop | None
    sized: DropSize | None


class WiresGroundRequest(CodeRequest, frozen=True, kw_only=True):
    """`device_a`: the overcurrent device. Where the circuit is pulled thicker than its ampacity needs, both sizes."""

    device_a: Annotated[
        float,
        msgspec.Meta(
            title="Overcurrent device", description="rating of the overcurrent device in A", extra={"unit": "A"}
        ),
    ]
    metal: MetalName = "copper"
    needed_size: Annotated[
        Name,
        msgspec.Meta(
            title="Size that the ampacity needs", description="circuit conductor that the ampacity alone needs"
        ),
    ] = ""
    used_size: Annotated[
        Name, msgspec.Meta(title="Size that is pulled", description="circuit conductor that is pulled, when thicker")
    ] = ""


class WiresGroundAnswer(CodeAnswer, frozen=True, kw_only=True):
    """The equipment grounding conductor."""

    result: GroundSize


def ampacity(request: WiresAmpacityRequest, _known: Known) -> WiresAmpacityAnswer:
    """Raises InputError, UnknownName, LimitError (a table has no figure, too long for a nipple)."""
    book = load_edition(request.edition)
    if request.ambient_c is not None and request.ambient_f is not None:
        raise InputError("Degrees C and degrees F were both given.", hint="give one of the two", field="ambient_f")
    if request.carrying is not None and request.circuits:
        raise InputError(
            "Conductors were counted, and circuits were given to count them from.",
            hint="give one of the two",
            field="circuits",
        )
    within(request.carrying, "carrying", 1, 10000, whole=True)
    within(request.terminals_c, "terminals_c", 1, 200, whole=True)
    within(request.ambient_f, "ambient_f", -130.0, 392.0, " F")
    fields = {"size": "wire", "insulation": "wire", "circuit": "circuits", "terminals": "terminals_c"}
    fields |= {"ambient": "ambient_c", "load": "load_a", "device": "device_a"}
    with told_of(fields):
        carrying, before = request.carrying or 3, tuple[RuleStep, ...]()
        if request.circuits:
            carrying, before = count_carrying([parse_circuit(text) for text in request.circuits], book)
        size, insulation = split_wire(request.wire)
        found = find_ampacity(
            size,
            insulation,
            book,
            metal=request.metal,
            ambient_c=_ambient_c(request),
            carrying=carrying,
            terminal_c=request.terminals_c,
            circuit_a=request.device_a or request.load_a,
            wet=request.wet,
            nipple=is_nipple(request.nipple, book),
        )
        load = check_load(found, request.load_a, book) if request.load_a is not None else ()
        if request.device_a is not None:
            load += check_device(found.wire, request.device_a, found.protection, found.usable_a, book)
    return WiresAmpacityAnswer(
        result=found,
        not_included=(
            "The 125 percent of continuous loads; rooftop and underground runs; motors, welders, taps, flexible cords "
            "and fixture wires, which have rules of their own.",
        ),
        **by_the_code(ampacity_words(found), book, (*before, *found.steps), (*found.findings, *load)),
    )


def drop(request: WiresDropRequest, _known: Known) -> WiresDropAnswer:
    """Raises InputError, UnknownName, LimitError (even the thickest size drops more, a table has no figure)."""
    book = load_edition(request.edition)
    _check(request)
    fields = {"size": "wire_size", "current": "current_a", "voltage": "volts", "limit": "limit_percent"}
    fields |= {what: f"{what}_ohm_per_kft" for what in ("resistance", "reactance")}
    with told_of(fields):
        circuit = Circuit(
            current_a=request.current_a,
            length_m=circuit_length_m(request.length),
            source_v=request.volts,
            system=request.system,
            metal=request.metal,
            sets=request.sets,
            power_factor=request.power_factor,
            raceway=request.raceway,
            resistance=request.resistance_ohm_per_kft,
            reactance=request.reactance_ohm_per_kft,
            total=request.whole,
        )
        named = voltage_drop(request.wire_size, circuit, book) if request.wire_size else None
        sized = None if named else size_for_drop(circuit, request.limit_percent, book)
    one_way = f", {request.length.strip()} one way"
    missing: list[str] = []
    if request.power_factor is None:
        missing.append("Skin effect and reactance: no power factor was given.")
    if sized is not None:
        found, words = sized.take, sized_words(sized, request.current_a / request.sets, one_way)
        missing.append("Ampacity with more than three conductors in the raceway or more than 30 C: work it out too.")
    else:
        assert named is not None
        found, words = named, drop_words(named, one_way)
    return WiresDropAnswer(
        drop=named, sized=sized, not_included=tuple(missing), **by_the_code(words, book, found.steps, found.findings)
    )


def ground(request: WiresGroundRequest, _known: Known) -> WiresGroundAnswer:
    """Raises InputError, UnknownName, LimitError (a device beyond the table)."""
    book = load_edition(request.edition)
    with told_of({"device": "device_a"}):
        found = ground_size(
            request.device_a, book, metal=request.metal, needed_size=request.needed_size, used_size=request.used_size
        )
    return WiresGroundAnswer(result=found, **by_the_code(ground_words(found), book, found.steps, found.findings))


def _ambient_c(request: WiresAmpacityRequest) -> float:
    if request.ambient_f is not None:
        return round(celsius(request.ambient_f), 6)
    return 30.0 if request.ambient_c is None else request.ambient_c


def _check(request: WiresDropRequest) -> None:
    """Raises InputError for what does not go together."""
    within(request.sets, "sets", 1, 100, whole=True)
    if request.raceway and request.power_factor is None:
        raise InputError(
            "A raceway was named and no power factor; the dc table knows no raceway.",
            hint="give the power factor of the load too, or leave the raceway out",
            field="power_factor",
            example="0.85",
        )
    own = (request.resistance_ohm_per_kft, request.reactance_ohm_per_kft)
    if not request.wire_size and own != (None, None):
        raise InputError(
            "A size is looked for with the tables' resistance and reactance.",
            hint="name the size of the wire to use a resistance or reactance of your own",
            field="wire_size",
        )
