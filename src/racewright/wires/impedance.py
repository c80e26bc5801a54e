"""Resistance and reactance of a conductor along its run: dc without a power factor, ac in its raceway with one.

Notation (ohm per 1000 ft, 75 C): R resistance, X reactance, phi power factor angle, Z = R cos(phi) + X sin(phi).
A direct-current table has no reactance and no skin effect, so a drop with a power factor is never worked from it.
"""

from __future__ import annotations

from math import sqrt
from typing import Literal

import msgspec

from racewright.catalogue.raceways import canonical_type
from racewright.codebook.edition import Edition, RuleStep, above_zero
from racewright.errors import InputError, LimitError, UnknownName

Material = Literal["pvc", "aluminum", "steel"]
_MATERIALS: dict[str, Material] = {"pvc": "pvc", "steel": "steel", "aluminum": "aluminum", "aluminium": "aluminum"}
_MATERIALS |= {"al": "aluminum", "emt": "steel", "imc": "steel", "rmc": "steel", "pvc-40": "pvc", "pvc-80": "pvc"}


class Circuit(msgspec.Struct, frozen=True):
    """What is fed: `length_m` one way (m), `current_a` (A) at `source_v` (V) in `sets` parallel sets.

    Without `power_factor` the dc table is used, with one the ac table in the column of `raceway` (steel where none is
    named). `resistance` and `reactance` of your own (ohm per 1000 ft, a maker's sheet) replace the tables'; `total`
    compares with the 5 percent for feeder and branch together instead of 3 percent.
    """

    current_a: float
    length_m: float
    source_v: float
    system: str = "single"
    metal: str = "copper"
    sets: int = 1
    power_factor: float | None = None
    raceway: str = ""
    resistance: float | None = None
    reactance: float | None = None
    total: bool = False

    @property
    def limit_key(self) -> str:
        """Which of the edition's limits the drop is held to."""
        return "drop_total" if self.total else "drop_branch"


class Impedance(msgspec.Struct, frozen=True, kw_only=True):
    """What one conductor sets against the current, ohm per 1000 ft; `basis` says in words which table and raceway.
    `power_factor` None: direct current, or taken as 1. `raceway` '' where the raceway does not enter."""

    resistance: float
    reactance: float
    effective: float
    power_factor: float | None
    raceway: str
    basis: str
    steps: tuple[RuleStep, ...]


def raceway_material(raceway: str) -> Material:
    """'EMT' -> 'steel', 'PVC-80' -> 'pvc', 'aluminum' -> 'aluminum'. Raises UnknownName."""
    name = raceway.strip().lower()
    if name not in _MATERIALS:
        try:
            name = canonical_type(raceway).lower()
        except UnknownName:
            raise UnknownName(
                f"No raceway material '{raceway}' here.",
                hint="raceways: EMT, IMC, RMC (steel), PVC-40, PVC-80; materials: steel, aluminum, PVC",
                field="raceway",
                expected="EMT, IMC, RMC, PVC-40, PVC-80, steel, aluminum, PVC",
                example="EMT",
            ) from None
    return _MATERIALS[name]


def impedance_of(size: str, metal: str, circuit: Circuit, edition: Edition) -> Impedance:
    """Impedance of one conductor of the circuit.

    Raises InputError (a factor that cannot be, a reactance without a factor), LimitError where no table has the size.
    """
    power_factor, raceway = circuit.power_factor, circuit.raceway
    resistance, reactance = circuit.resistance, circuit.reactance
    _check(power_factor, resistance, reactance)
    if power_factor is None:
        return _direct(size, metal, edition, resistance)
    material = raceway_material(raceway) if raceway else "steel"
    row = edition.find("ac_resistance", "size", size)
    ohm = float(row.number(f"{metal}_{material}") or 0.0) if row and resistance is None else resistance
    x = float(row.number(f"x_{material}") or 0.0) if row and reactance is None else reactance
    if not ohm or x is None:
        known = [each.cells["size"] for each in edition.rows("ac_resistance") if each.cells[f"{metal}_{material}"]]
        raise LimitError(
            f"No table gives the ac resistance of {size} {metal}, and the dc table does not serve a power factor.",
            hint=f"sizes of {edition.cite('ac_resistance')}: {', '.join(known)}; for another give the maker's "
            "resistance and reactance",
            quantity="conductor size",
            unit="AWG or kcmil",
        )
    z = ohm * power_factor + x * sqrt(1.0 - power_factor**2)
    given = [what for what, value in (("resistance", resistance), ("reactance", reactance)) if value is not None]
    own = f", {' and '.join(given)} as given" if given else ""
    named = f"{_called(material)} raceway" + ("" if raceway else " (steel taken, none was named)")
    steps = (
        edition.step(
            f"{size} {metal} in {named}, ac at 75 C and 60 Hz{own}: resistance {ohm:g}, reactance {x:g} ohm "
            "per 1000 ft",
            "ac_resistance",
        ),
        edition.step(
            f"power factor {power_factor:g}: {ohm:g} x {power_factor:g} + {x:g} x "
            f"{sqrt(1.0 - power_factor**2):.4g} = {z:.4g} ohm per 1000 ft",
            "impedance",
        ),
    )
    return Impedance(
        resistance=ohm,
        reactance=x,
        effective=z,
        power_factor=power_factor,
        raceway=material,
        basis=f"ac, power factor {power_factor:g}, {named}{own}",
        steps=steps,
    )


def _direct(size: str, metal: str, edition: Edition, resistance: float | None) -> Impedance:
    row = edition.conductor(size)
    ohm = float(row.cells[f"{metal}_ohm_per_kft"]) if resistance is None else resistance
    where = f"{row.cells['stranding']}, dc at 75 C" if resistance is None else "resistance as given"
    return Impedance(
        resistance=ohm,
        reactance=0.0,
        effective=ohm,
        power_factor=None,
        raceway="",
        basis="dc resistance" if resistance is None else "resistance as given",
        steps=(
            edition.step(
                f"{size} {metal}, {where}: {ohm:g} ohm per 1000 ft; no power factor was given, so neither skin "
                "effect nor reactance is in it",
                "resistance",
            ),
        ),
    )


def _called(material: Material) -> str:
    return "PVC" if material == "pvc" else material


def _check(power_factor: float | None, resistance: float | None, reactance: float | None) -> None:
    if resistance is not None:
        above_zero(resistance, "Resistance", "ohm per 1000 ft", "resistance")
    if reactance is not None and not 0.0 <= reactance < float("inf"):
        raise InputError(
            f"A reactance of {reactance:g} ohm per 1000 ft cannot be used.", hint="write 0 or more", field="reactance"
        )
    if power_factor is None:
        if reactance:
            raise InputError(
                "A reactance was given and no power factor; without one the reactance does not enter.",
                hint="give the power factor of the load too, for example 0.85",
                field="power_factor",
                example="0.85",
            )
        return
    if not 0.0 < power_factor <= 1.0:
        raise InputError(
            f"A power factor of {power_factor:g} cannot be.",
            hint="write a number above 0, at most 1",
            field="power_factor",
            expected="above 0, at most 1",
        )
