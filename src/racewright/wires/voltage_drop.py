"""Voltage lost along a circuit, by the tables' resistance and by the trade's K constant, side by side.

Notation: I current (A), L one-way length (kft), Z impedance (ohm/kft, see `impedance`), m = 2 (single phase and dc) or
sqrt(3) (three phase), n parallel sets, drop = m I L Z / n; K ohm-cmil/ft, CM circular mils, drop by K
m K I (1000 L) / (n CM). K knows neither reactance nor a power factor: with a power factor the tables decide.
"""

from __future__ import annotations

from math import sqrt

import msgspec

from racewright.codebook.edition import KFT_PER_M, Edition, RuleStep, above_zero, metal_name
from racewright.errors import Finding, InputError, LimitError
from racewright.units.length import names_unit, parse_length
from racewright.wires.ampacity import Carrying, column_ampacity, least_carrying
from racewright.wires.impedance import Circuit, impedance_of


class VoltageDrop(msgspec.Struct, frozen=True, kw_only=True):
    """Drops in V. `drop_v`, `percent` (of the source) by the tables' or the given impedance, `basis` says which;
    `k_drop_v` by K."""

    size: str
    metal: str
    system: str
    drop_v: float
    percent: float
    load_v: float
    k_drop_v: float
    k_percent: float
    resistance_ohm_per_km: float
    reactance_ohm_per_km: float
    power_factor: float | None
    raceway: str
    basis: str
    steps: tuple[RuleStep, ...]
    findings: tuple[Finding, ...]


class DropSize(msgspec.Struct, frozen=True, kw_only=True):
    """The thinnest size that keeps the limit (`size`, and `k_size` by K), the thinnest that carries the current
    (`carrying`, None where no size of the table does in so many sets), and the thicker of the two (`take`)."""

    size: str
    k_size: str
    limit_percent: float
    needed_circular_mils: float
    drop: VoltageDrop
    carrying: Carrying | None
    take: VoltageDrop


def circuit_length_m(text: str) -> float:
    """One way in m. Raises InputError for what is no length, or has no unit: a circuit is measured in feet or meters,
    and read as inches the wire would come out too thin."""
    length_m = float(parse_length(text, field="length", allow_zero=False)) / 1000.0
    if not names_unit(text):
        raise InputError(
            f"length: '{text.strip()}' has no unit, and a circuit is measured in feet or meters.",
            hint=f"write {text.strip()} ft or {text.strip()} m",
            field="length",
            expected="a length with its unit",
            example="100 ft",
        )
    return length_m


def voltage_drop(size: str, circuit: Circuit, edition: Edition) -> VoltageDrop:
    """Voltage drop along the circuit in wire of this size. Raises InputError, UnknownName, LimitError."""
    size, metal, sets, current = edition.size(size), metal_name(circuit.metal), circuit.sets, circuit.current_a
    factor = _checked(circuit)
    z = impedance_of(size, metal, circuit, edition)
    mils = float(edition.conductor(size).cells["circular_mils"])
    constant = float(edition.limit(f"k_{metal}"))
    kft = circuit.length_m * float(KFT_PER_M)
    # Circuit law; Chapter 9 Table 9 Note 2 for Z.
    drop = factor * current * kft * z.effective / sets
    # Trade formula: drop = m K I L / CM with L in feet.
    k_drop = factor * constant * current * kft * 1000.0 / (mils * sets)
    percent = 100.0 * drop / circuit.source_v
    multiple = "1.732" if circuit.system == "three" else "2"
    parallel = f" / {sets} sets" if sets > 1 else ""
    feet = f"{kft * 1000:.4g} ft"
    steps = [
        *z.steps,
        RuleStep(
            text=f"{multiple} x {current:g} A x {feet} x {z.effective:.4g} / 1000{parallel} = {drop:.2f} V",
            citation="circuit law, resistance from the table or as given",
        ),
    ]
    if circuit.power_factor is None:
        text = (
            f"by K = {constant:g}: {multiple} x {constant:g} x {current:g} A x {feet} / {mils:.0f} circular mils"
            f"{parallel} = {k_drop:.2f} V"
        )
        steps.append(RuleStep(text=text, citation="common practice (K for 75 C), read in a reprint"))
    return VoltageDrop(
        size=size,
        metal=metal,
        system=circuit.system,
        drop_v=drop,
        percent=percent,
        load_v=circuit.source_v - drop,
        k_drop_v=k_drop,
        k_percent=100.0 * k_drop / circuit.source_v,
        resistance_ohm_per_km=z.resistance * float(KFT_PER_M) * 1000.0,
        reactance_ohm_per_km=z.reactance * float(KFT_PER_M) * 1000.0,
        power_factor=z.power_factor,
        raceway=z.raceway,
        basis=z.basis,
        steps=tuple(steps),
        findings=(
            *_findings(percent, drop, circuit, edition),
            *_carrying_findings(size, metal, current, sets, edition),
        ),
    )


def size_for_drop(circuit: Circuit, limit_percent: float | None, edition: Edition) -> DropSize:
    """The thinnest size whose drop stays within `limit_percent` of the source (None: as the code recommends), beside
    the thinnest that carries the current (three conductors, 30 C, terminals as the code takes them); the thicker of the
    two is the one to take.

    Raises InputError, UnknownName, LimitError where even the thickest size drops more.
    """
    metal, sets = metal_name(circuit.metal), circuit.sets
    factor = _checked(circuit)
    if limit_percent is None:
        limit_percent = float(edition.limit(circuit.limit_key))
    above_zero(limit_percent, "Drop limit", "percent", "limit")
    allowed_v = circuit.source_v * limit_percent / 100.0
    feet = circuit.length_m * float(KFT_PER_M) * 1000.0
    needed = factor * float(edition.limit(f"k_{metal}")) * circuit.current_a * feet / (allowed_v * sets)
    sizes = _candidates(metal, circuit, edition)
    drops = (voltage_drop(size, circuit, edition) for size in sizes)
    best = next((drop for drop in drops if drop.drop_v <= allowed_v), None)
    if best is None:
        unit = "kcmil" if sizes[-1].isdigit() and int(sizes[-1]) >= 250 else "AWG"
        raise LimitError(
            f"Even {sizes[-1]} {unit} {metal} drops more than {limit_percent:g} percent ({allowed_v:.2f} V) here.",
            hint="use parallel sets, a higher voltage or a shorter path",
            quantity="voltage drop",
            limit=allowed_v,
            unit="V",
        )
    by_k = (size for size in sizes if float(edition.conductor(size).cells["circular_mils"]) >= needed)
    carrying = least_carrying(circuit.current_a, metal, edition, sets=sets)
    thicker = carrying is not None and edition.rank(carrying.size) > edition.rank(best.size)
    return DropSize(
        size=best.size,
        k_size=next(by_k, "none of the table"),
        limit_percent=limit_percent,
        needed_circular_mils=needed,
        drop=best,
        carrying=carrying,
        take=voltage_drop(carrying.size, circuit, edition) if carrying is not None and thicker else best,
    )


def _candidates(metal: str, circuit: Circuit, edition: Edition) -> tuple[str, ...]:
    """Sizes that a circuit may be made of, thinnest first; parallel ones from 1/0 AWG on (310.10(G))."""
    table, column = ("conductors", "") if circuit.power_factor is None else ("ac_resistance", f"{metal}_steel")
    sizes = [row.cells["size"] for row in edition.rows(table) if not column or row.cells[column]]
    least = edition.rank("1/0") if circuit.sets > 1 else 0
    listed = (size for size in dict.fromkeys(sizes) if edition.rank(size) >= least)
    return tuple(size for size in listed if column_ampacity(size, metal, 75, edition) is not None)


def _checked(circuit: Circuit) -> float:
    """The multiple of the one-way length that the current sees."""
    above_zero(circuit.current_a, "Current", "A", "current")
    above_zero(circuit.length_m, "Length", "m", "length")
    above_zero(circuit.source_v, "Voltage", "V", "voltage")
    sets, system = circuit.sets, circuit.system
    if sets < 1:
        raise InputError(f"{sets} parallel sets were asked; there is at least 1.", hint="write 1 or more", field="sets")
    factors = {"single": 2.0, "dc": 2.0, "three": sqrt(3.0)}
    if system not in factors:
        raise InputError(
            f"No system '{system}' here.",
            hint="systems: single (also dc), three",
            field="system",
            expected="single, three, dc",
            example="single",
        )
    if system == "dc" and circuit.power_factor is not None:
        raise InputError(
            f"Direct current has no power factor; {circuit.power_factor:g} was given.",
            hint="leave the power factor out, or name the system: single, three",
            field="power_factor",
        )
    return factors[system]


def _carrying_findings(size: str, metal: str, current_a: float, sets: int, edition: Edition) -> tuple[Finding, ...]:
    """A caution where the size that was asked about is too thin for the current itself, or for parallel sets."""
    found = []
    carrying = least_carrying(current_a, metal, edition, sets=sets)
    if carrying is None or edition.rank(size) < edition.rank(carrying.size):
        what = f"the least that does is {carrying.size}" if carrying else "no size of the table does in so few sets"
        message = (
            f"{size} {metal} may not carry {current_a / sets:g} A (three conductors, 30 C, terminals unmarked); "
            f"{what}. The drop is another question."
        )
        found.append(Finding(rule="wire.ampacity", severity="caution", message=message, **edition.cited("ampacity")))
    if sets > 1 and edition.rank(size) < edition.rank("1/0"):
        message = f"Parallel sets are made of 1/0 AWG and thicker; {size} only in the cases that the article names."
        found.append(Finding(rule="wire.parallel", severity="caution", message=message, **edition.cited("parallel")))
    return tuple(found)


def _findings(percent: float, drop_v: float, circuit: Circuit, edition: Edition) -> tuple[Finding, ...]:
    limit, source_v = float(edition.limit(circuit.limit_key)), circuit.source_v
    if percent <= limit:
        return ()
    what = "feeder and branch together" if circuit.total else "a branch circuit"
    return (
        Finding(
            rule="wire.drop",
            severity="caution",
            message=f"{percent:.1f} percent of {source_v:g} V is lost; {limit:g} percent is recommended for {what} "
            f"(over by {drop_v - source_v * limit / 100:.2f} V). A recommendation, not a requirement of the code.",
            **edition.cited(circuit.limit_key),
            measured=percent,
            allowed=limit,
            unit="percent",
        ),
    )
