"""Errors (the work cannot go on) and findings (a check has something to say).

Every error says what was asked, the limit with its unit, and what would work. What would work stands on a
`hint:` line of its own. The numbers are attributes too, so that a page can show them beside the field.
Findings are results, never exceptions.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from typing import Literal, Self

import msgspec

Severity = Literal["info", "caution", "problem"]
#: What a person is told that a finding is, on paper and on a screen.
SEVERITY_WORDS: dict[Severity, str] = {"problem": "problem", "caution": "caution", "info": "note"}


class RacewrightError(Exception):
    """Root of every error that Racewright raises on purpose."""

    def __init__(self, message: str, *, hint: str = "", field: str = "", line: int | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint
        self.field = field
        self.line = line

    def __str__(self) -> str:
        return f"{self.message}\nhint: {self.hint}" if self.hint else self.message

    @property
    def in_sentences(self) -> str:
        """The message and what would work, as sentences of a line."""
        sentences = (self.message, self.hint[:1].upper() + self.hint[1:])
        return " ".join(one if one.endswith((".", "?", "!")) else f"{one}." for one in sentences if one)


class InputError(RacewrightError):
    """Something that a person wrote cannot be used: which field, where, what was expected, an example."""

    def __init__(
        self,
        message: str,
        *,
        hint: str = "",
        field: str = "",
        line: int | None = None,
        expected: str = "",
        example: str = "",
    ) -> None:
        super().__init__(message, hint=hint, field=field, line=line)
        self.expected = expected
        self.example = example

    @classmethod
    def among(
        cls, message: str, kind: str, known: Iterable[str], *, field: str, example: str = "", more: str = ""
    ) -> Self:
        """The refusal of what is not among `known`: the hint lists them by their `kind`, with `more` behind."""
        listed = ", ".join(known)
        return cls(message, hint=f"{kind}: {listed}{more}", field=field, expected=listed, example=example)

    @classmethod
    def at(cls, field: str, why: str, *, hint: str = "", expected: str = "", example: str = "") -> Self:
        """About one field, which the message begins with."""
        return cls(f"{field}: {why}", hint=hint, field=field, expected=expected, example=example)


class LimitError(RacewrightError):
    """What was asked is well formed and cannot be made: the quantity asked, the limit, the unit of both; `field` is
    the survey's field that asked for it, where one did."""

    def __init__(
        self,
        message: str,
        *,
        hint: str = "",
        quantity: str = "",
        asked: float | None = None,
        limit: float | None = None,
        unit: str = "mm",
        field: str = "",
    ) -> None:
        super().__init__(message, hint=hint, field=field)
        self.quantity = quantity
        self.asked = asked
        self.limit = limit
        self.unit = unit


class MarksLost(LimitError):
    """The marks that hold for the rest of a piece, the plan's or new ones, cannot be followed: something was made
    otherwise than they reckon with."""


class UnknownName(InputError):
    """A name that is in no table: says which names are."""


class MissingExtra(RacewrightError):
    """An optional library is not installed: names it and how to get it."""

    def __init__(self, what: str, extra: str) -> None:
        super().__init__(
            f"{what} needs a library that is not installed here.",
            hint=f"install it with: pip install 'racewright[{extra}]'",
        )
        self.extra = extra


@contextmanager
def about(field: str) -> Iterator[None]:
    """What is refused inside is told of this field of the survey ('run.raceway'), unless it names one already."""
    try:
        yield
    except RacewrightError as err:
        if err.field.partition(".")[0] not in ("run", "racewright", "units", "fraction") or err.field == "run":
            err.field = field
        raise


@contextmanager
def below(path: str) -> Iterator[None]:
    """What is refused inside is told by its path in the request: `path`, then the field that it names."""
    try:
        yield
    except RacewrightError as err:
        err.field = f"{path}.{err.field}".rstrip(".")
        raise


def with_path(message: str, field: str) -> str:
    """The message with the whole path of its field, once: in the place of the path's end where it begins with that."""
    if not field or field in message:
        return message
    begins = re.match(r"[\w.\[\]]+(?=: | is )", message)
    if begins and re.search(rf"(^|\.){re.escape(begins[0])}$", field):
        return f"{field}{message[begins.end() :]}"
    return f"{field}: {message}"


@contextmanager
def told_of(fields: Mapping[str, str]) -> Iterator[None]:
    """What is refused inside is told of the request's field: the rules name what they look at ('size', 'voltage')."""
    try:
        yield
    except RacewrightError as err:
        err.field = fields.get(err.field, err.field)
        raise


class Finding(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """One thing a check found. `measured` and `allowed` share `unit`; `citation` is article and edition or
    'common practice, no source'; `where` says which mark, leg or piece; `standing` 'from memory' where what it rests on
    is, '' else. `values`: what a program may ask of it beyond that, by name; no rule reads the message."""

    rule: str
    severity: Severity
    message: str
    citation: str = ""
    where: str = ""
    measured: float | None = None
    allowed: float | None = None
    unit: str = ""
    standing: str = ""
    values: dict[str, str] = {}

    def says_where(self, *, at_start: bool = False) -> bool:
        """Whether the message names its place itself, in whole words ('mark 1' is not in 'mark 12'), or begins so."""
        found = re.search(rf"(?<![\w-]){re.escape(self.where)}(?![\w-]|\.\d)", self.message)
        return found is not None and (found.start() == 0 or not at_start)
