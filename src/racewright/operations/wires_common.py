"""What questions on wires and boxes share: an edition of the wiring code answers them, step by step."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any

import msgspec

from racewright.cautions import cautions_for
from racewright.codebook.edition import DEFAULT_EDITION, Edition, RuleStep, from_memory
from racewright.errors import Finding, InputError
from racewright.operations.common import Answer, LengthText, Name, Request

#: What is written once for each group of equal wires, circuits, pulls: '3 x 8 THHN'.
Texts = Annotated[tuple[Name, ...], msgspec.Meta(max_length=60)]

# Fields that several questions have. `title` is what a person calls it, `description` says what belongs there; `unit`
# is the figure's, `choose` what a form offers (other spellings are read too).
Wires = Annotated[
    Texts,
    msgspec.Meta(title="Wires", description="'3 x 8 THHN', '1 x 10 bare', 'cable 0.46 in'", extra={"of": "wires"}),
]
RacewayType = Annotated[
    Name,
    msgspec.Meta(title="Raceway", description="EMT, IMC, RMC, PVC-40 or PVC-80", extra={"choose": "raceway types"}),
]
TradeSize = Annotated[
    Name,
    msgspec.Meta(title="Trade size", description="trade size: 1/2, 3/4, 1, 1-1/4 ...", extra={"choose": "trade sizes"}),
]
MetalName = Annotated[
    Name,
    msgspec.Meta(
        title="Conductor metal",
        description="copper (taken where nothing is said) or aluminum",
        extra={"choose": "metals"},
    ),
]
Nipple = Annotated[
    LengthText,
    msgspec.Meta(title="Nipple between boxes", description="a nipple between boxes of this length, at most 24 in"),
]


class CodeRequest(Request, frozen=True, kw_only=True):
    """A question to an edition of the wiring code."""

    edition: Annotated[
        Name,
        msgspec.Meta(title="Edition", description="edition of the wiring code", extra={"choose": "editions"}),
    ] = DEFAULT_EDITION


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
