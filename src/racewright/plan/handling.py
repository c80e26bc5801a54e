"""How a piece goes through the bender: the order search's answer in the form that the marks need."""

from __future__ import annotations

from typing import Literal

import msgspec

from racewright.bends.model import BentPiece
from racewright.catalogue.model import BenderProfile
from racewright.errors import Finding
from racewright.geometry.chain import wrapped
from racewright.marks.mark import Reference
from racewright.survey.model import Survey


class HandledBend(msgspec.Struct, frozen=True, kw_only=True):
    """One bend as it is made: material index from 0, order from 1."""

    index: int
    order: int
    hook: Literal["A", "B"]
    reference: Reference
    stance: str
    spin_rad: float


class Handled(msgspec.Struct, frozen=True, kw_only=True):
    """The way to make a piece, the straight to leave on beyond each end when it is cut after bending, findings."""

    steps: tuple[HandledBend, ...]
    extra_a_mm: float = 0.0
    extra_b_mm: float = 0.0
    findings: tuple[Finding, ...] = ()


def handle_piece(survey: Survey, bender: BenderProfile, piece: BentPiece) -> Handled:
    """Order, hook, reference and spin for a piece."""
    steps = []
    last = 0.0
    count = len(piece.bends)
    for i, bend in enumerate(piece.bends):
        reference: Reference = "arrow"
        if bend.role == "saddle centre":
            reference = "centre"
        elif bend.role == "saddle outer" and i + 1 < count and piece.bends[i + 1].role == "saddle centre":
            reference = "star"
        spin = 0.0 if i == 0 else wrapped(last - bend.roll_rad)
        steps.append(
            HandledBend(index=i, order=i + 1, hook="A", reference=reference, stance="on the floor", spin_rad=spin)
        )
        last = bend.roll_rad
    return Handled(steps=tuple(steps))
