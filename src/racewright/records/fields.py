"""The fields that several records share: what a key, a name, a note or a count may be."""

from __future__ import annotations

from typing import Annotated

import msgspec

from racewright.field_words import KEY_PATTERN

Key = Annotated[str, msgspec.Meta(pattern=KEY_PATTERN)]
Name = Annotated[str, msgspec.Meta(min_length=1, max_length=200)]
Text = Annotated[str, msgspec.Meta(max_length=4000)]
Count = Annotated[int, msgspec.Meta(ge=0, le=1_000_000)]
#: No number of a revision or a change comes near this one.
MOST_NUMBER = 1_000_000_000
#: Which revision; 0: none.
RevisionNumber = Annotated[int, msgspec.Meta(ge=0, le=MOST_NUMBER)]
Some = Annotated[int, msgspec.Meta(ge=1, le=1_000_000)]
#: A piece of a run, from end A.
PieceNumber = Annotated[int, msgspec.Meta(ge=1, le=60)]
#: How often one run is made alike, and which of these a copy is.
MOST_COPIES = 1000
Times = Annotated[int, msgspec.Meta(ge=1, le=MOST_COPIES)]
Percent = Annotated[float, msgspec.Meta(ge=0.0, le=1000.0)]


class Input(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """Base of what a person writes: a field that is not known is refused by name."""
