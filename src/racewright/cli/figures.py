"""Whole numbers on the command line, each within what the trade can mean by it."""

from __future__ import annotations

from collections.abc import Callable

from racewright.errors import InputError


def whole(option: str, least: int, most: int) -> Callable[[str], int]:
    """The type of an option that counts something. Raises InputError where it is no whole number of that range."""

    def read(text: str) -> int:
        bare = text.strip()
        if len(bare) > 20 or not bare.removeprefix("-").isdecimal() or not least <= int(bare) <= most:
            raise InputError(
                f"{option}: '{bare[:20]}' cannot be taken: a whole number from {least:,} to {most:,} belongs there.",
                hint=f"for example {option} {max(least, 1)}",
                field=option,
                expected=f"{least} to {most}",
            )
        return int(bare)

    return read
