"""What a person keeps, handed in with every question: an operation reads no file."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from racewright.tools.model import BenderProfile


class Known(NamedTuple):
    """`benders`: the person's own by name; it may be a mapping that reads its file when it is first looked into."""

    benders: Mapping[str, BenderProfile] = MappingProxyType({})


NOTHING_KNOWN = Known()
