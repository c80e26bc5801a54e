"""What a bend is within its shape: the values of `Bend.role`."""

from __future__ import annotations

from typing import Final

STUB: Final = "stub"
BACK_TO_BACK: Final = "back-to-back"
KICK: Final = "kick"
OFFSET_FIRST: Final = "offset first"
OFFSET_SECOND: Final = "offset second"
SADDLE_OUTER: Final = "saddle outer"
SADDLE_CENTER: Final = "saddle center"
SADDLE_FOUR: Final = "saddle four"
SHOT: Final = "shot"


def in_words(role: str) -> str:
    """A role as a card says it."""
    words = {SADDLE_FOUR: "four-bend saddle", OFFSET_FIRST: "offset near A", OFFSET_SECOND: "offset near B"}
    return words.get(role, role)
