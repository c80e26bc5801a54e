"""Voltage lost along a circuit, by the table's resistance and by the trade's K constant, side by side.

Notation: I current (A), L one-way length (kft), R conductor resistance (ohm/kft, dc, 75 C), X reactance (ohm/kft), phi
power factor angle, Z = R cos(phi) + X sin(phi), m = 2 (single phase and dc) or sqrt(3) (three phase), n parallel sets,
drop = m I L Z / n; K ohm-cmil/ft, CM circular mils, drop = m K I (1000 L) / (n CM).
Without R and X of your own the power factor is taken as 1 and the reactance as 0.
"""

from __future__ import annotations

from math import sqrt
from typing import Literal

import msgspec

from racewright.errors import Finding, InputError, LimitError
from racewright.rules.edition import KFT_PER_M, Edition, RuleStep, above_zero, metal_name

System = Literal["single", "three", "dc"]


class VoltageDrop(msgspec.Struct, frozen=True, kw_only=True):
    """Drops in V. `drop_v`, `percent` (of the source) by the table's or the given resistance; `k_drop_v` by K."""

    size: str
    metal: str
    system: str
    drop_v: float
    percent: float
    load_v: float
    k_drop_v: float
    k_percent: float
    resistance_ohm_per_km: float
    steps: tuple[RuleStep, ...]
    findings: tuple[Finding, ...]


class DropSize(msgspec.Struct, frozen=True, kw_only=True):
    """The thinnest size that keeps the limit by the table's resistance, and by K (they can differ)."""

    size: str
    k_size: str
    limit_percent: float
    needed_circular_mils: float
    drop: VoltageDrop


def voltage_drop(
    size: str,
    current_a: float,
    length_m: float,
    source_v: float,
    edition: Edition,
    *,
    system: str = "single",
    metal: str = "copper",
    stranding: str = "",
    sets: int = 1,
    power_factor: float = 1.0,
    resistance_ohm_per_kft: float | None = None,
    reactance_ohm_per_kft: float = 0.0,
    total: bool = False,
) -> VoltageDrop:
    """Voltage drop over `length_m` (one way, m) at `current_a` (A) and `source_v` (V).

    `resistance_ohm_per_kft` replaces the table's (an ac table, a maker's sheet); `total` compares with the 5 percent
    for feeder and branch together instead of 3 percent. Raises InputError, UnknownName.
    """
    size, metal = edition.size(size), metal_name(metal)
    factor = _check(current_a, length_m, source_v, system, sets, power_factor, reactance_ohm_per_kft)
    row = edition.conductor(size, stranding)
    tabled = float(row.cells[f"{metal}_ohm_per_kft"])
    if resistance_ohm_per_kft is not None:
        above_zero(resistance_ohm_per_kft, "Resistance", "ohm/kft", "resistance")
    ohm = tabled if resistance_ohm_per_kft is None else resistance_ohm_per_kft
    mils, constant = float(row.cells["circular_mils"]), float(edition.limit(f"k_{metal}"))
    kft = length_m * float(KFT_PER_M)
    # Circuit law; Chapter 9 Table 9 Note 2 for Z = R cos(phi) + X sin(phi).
    impedance = ohm * power_factor + reactance_ohm_per_kft * sqrt(1.0 - power_factor**2)
    drop = factor * current_a * kft * impedance / sets
    # Trade formula: drop = m K I L / CM with L in feet.
    k_drop = factor * constant * current_a * kft * 1000.0 / (mils * sets)
    percent = 100.0 * drop / source_v
    multiple = "1.732" if system == "three" else "2"
    parallel = f" / {sets} sets" if sets > 1 else ""
    feet = f"{kft * 1000:.4g} ft"
    where = "given" if resistance_ohm_per_kft is not None else f"{row.cells['stranding']}, dc at 75 C"
    steps = (
        RuleStep(
            text=f"{size} {metal}, {where}: {ohm:g} ohm per 1000 ft, {mils:.0f} circular mils",
            citation=edition.cite("resistance"),
        ),
        RuleStep(
            text=f"power factor {power_factor:g}, reactance {reactance_ohm_per_kft:g}: {impedance:.4g} ohm per 1000 ft"
            + (" (power factor taken as 1)" if power_factor == 1.0 and resistance_ohm_per_kft is None else ""),
            citation=edition.cite("impedance"),
        ),
        RuleStep(
            text=f"{multiple} x {current_a:g} A x {feet} x {impedance:.4g} / 1000{parallel} = {drop:.2f} V",
            citation="circuit law, resistance from the table or as given",
        ),
        RuleStep(
            text=f"by K = {constant:g}: {multiple} x {constant:g} x {current_a:g} A x {feet} / {mils:.0f}{parallel}"
            f" = {k_drop:.2f} V",
            citation="common practice (K for 75 C), read in a reprint",
        ),
    )
    return VoltageDrop(
        size=size,
        metal=metal,
        system=system,
        drop_v=drop,
        percent=percent,
        load_v=source_v - drop,
        k_drop_v=k_drop,
        k_percent=100.0 * k_drop / source_v,
        resistance_ohm_per_km=ohm * float(KFT_PER_M) * 1000.0,
        steps=steps,
        findings=_findings(percent, drop, source_v, total, edition),
    )


def size_for_drop(
    current_a: float,
    length_m: float,
    source_v: float,
    limit_percent: float,
    edition: Edition,
    *,
    system: str = "single",
    metal: str = "copper",
    sets: int = 1,
    total: bool = False,
) -> DropSize:
    """The thinnest size whose drop stays within `limit_percent` of `source_v`. Ampacity is another question.

    Raises InputError, UnknownName, LimitError where even the thickest size drops more.
    """
    metal = metal_name(metal)
    factor = _check(current_a, length_m, source_v, system, sets, 1.0, 0.0)
    above_zero(limit_percent, "Drop limit", "percent", "limit")
    allowed_v = source_v * limit_percent / 100.0
    needed = factor * float(edition.limit(f"k_{metal}")) * current_a * length_m * float(KFT_PER_M) * 1000.0
    needed /= allowed_v * sets
    rows = [
        row
        for row in edition.rows("conductors")
        if row.cells["stranding"] == "stranded" and edition.find("ampacity", "size", row.cells["size"])
    ]
    best: VoltageDrop | None = None
    k_size = ""
    for row in rows:
        ampacity = edition.find("ampacity", "size", row.cells["size"])
        if ampacity is None or not ampacity.cells[f"{metal}_75"]:
            continue
        drop = voltage_drop(
            row.cells["size"],
            current_a,
            length_m,
            source_v,
            edition,
            system=system,
            metal=metal,
            sets=sets,
            total=total,
        )
        if not k_size and float(row.cells["circular_mils"]) >= needed:
            k_size = row.cells["size"]
        if best is None and drop.drop_v <= allowed_v:
            best = drop
        if best is not None and k_size:
            break
    if best is None:
        raise LimitError(
            f"Even {rows[-1].cells['size']} kcmil {metal} drops more than {limit_percent:g} percent "
            f"({allowed_v:.2f} V) here.",
            hint="use parallel sets, a higher voltage or a shorter path",
            quantity="voltage drop",
            limit=allowed_v,
            unit="V",
        )
    return DropSize(
        size=best.size,
        k_size=k_size or "none of the table",
        limit_percent=limit_percent,
        needed_circular_mils=needed,
        drop=best,
    )


def _check(
    current_a: float,
    length_m: float,
    source_v: float,
    system: str,
    sets: int,
    power_factor: float,
    reactance_ohm_per_kft: float,
) -> float:
    above_zero(current_a, "Current", "A", "current")
    above_zero(length_m, "Length", "m", "length")
    above_zero(source_v, "Voltage", "V", "voltage")
    if sets < 1:
        raise InputError(f"{sets} parallel sets were asked; there is at least 1.", hint="write 1 or more", field="sets")
    if not 0.0 < power_factor <= 1.0:
        raise InputError(
            f"A power factor of {power_factor:g} cannot be.",
            hint="write a number above 0, at most 1",
            field="power_factor",
            expected="above 0, at most 1",
        )
    if not 0.0 <= reactance_ohm_per_kft < float("inf"):
        raise InputError(
            f"A reactance of {reactance_ohm_per_kft:g} ohm/kft cannot be used.",
            hint="write 0 or more",
            field="reactance",
        )
    factors = {"single": 2.0, "dc": 2.0, "three": sqrt(3.0)}
    if system not in factors:
        raise InputError(
            f"No system '{system}' here.",
            hint="systems: single (also dc), three",
            field="system",
            expected="single, three, dc",
            example="single",
        )
    return factors[system]


def _findings(percent: float, drop_v: float, source_v: float, total: bool, edition: Edition) -> tuple[Finding, ...]:
    key = "drop_total" if total else "drop_branch"
    limit = float(edition.limit(key))
    if percent <= limit:
        return ()
    what = "feeder and branch together" if total else "a branch circuit"
    return (
        Finding(
            rule="wire.drop",
            severity="caution",
            message=f"{percent:.1f} percent of {source_v:g} V is lost; {limit:g} percent is recommended for {what} "
            f"(over by {drop_v - source_v * limit / 100:.2f} V). A recommendation, not a requirement of the code.",
            citation=edition.cite(key),
            measured=percent,
            allowed=limit,
            unit="percent",
        ),
    )
