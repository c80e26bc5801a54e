"""What questions on wires and boxes share: an edition of the wiring code answers them, step by step."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any

import msgspec

from racewright.cautions import cautions_for
from racewright.codebook.edition import DEFAULT_EDITION, Edition, RuleStep, from_memory
from racewright.errors import Finding, InputError
from racewright.operations.common import Answer, Name, Request

#: What is written once for each group of equal wires, circuits, pulls: '3 x 8 THHN'.
Texts = Annotated[tuple[Name, ...], msgspec.Meta(max_length=60)]


class CodeRequest(Request, frozen=True, kw_only=True):
    """A question to an edition of the wiring code."""

    edition: Name = DEFAULT_EDITION


class CodeAnswer(Answer, frozen=True, kw_only=True):
    """`headline`: the answer in words; `steps`: how it was worked, each with its article; `from_memory`: the articles
    among them whose figures were not read in print: to be checked in the book."""

    headline: str
    edition: str
    steps: tuple[RuleStep, ...]
    from_memory: tuple[str, ...]


def by_the_code(
    headline: str, edition: Edition, steps: Sequence[RuleStep], findings: Sequence[Finding] = ()
) -> dict[str, Any]:
    """The fields that every such answer has."""
    return {
        "headline": headline,
        "edition": edition.name,
        "steps": tuple(steps),
        "findings": tuple(findings),
        "from_memory": from_memory(steps, findings),
        "cautions": cautions_for("wire"),
    }


def within(
    value: float | None, field: str, least: float, most: float, unit: str = "", *, hint: str = "", whole: bool = False
) -> None:
    """Raises InputError for a figure outside what the trade can mean by it, or that is no number; None is not given.
    `whole`: only whole numbers."""
    if value is None or least <= value <= most:
        return
    shown = f"{value:g}" if isinstance(value, float) or abs(value) < 10**15 else "a number of more than 15 digits"
    kind = "a whole number that must" if whole else "it must"
    raise InputError(
        f"{field}: {shown}{unit} was asked; {kind} lie from {least:,g} to {most:,g}{unit}.",
        hint=hint or f"write {'a whole number' if whole else 'a number'} from {least:,g} to {most:,g}",
        field=field,
        expected=f"{least:g} to {most:g}{unit}",
    )
