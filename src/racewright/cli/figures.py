"""What several commands take: whole numbers, angles, bends, pairs such as '2=47', and a bent piece."""

from __future__ import annotations

import argparse
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


def degrees(text: str, option: str) -> float:
    """An angle up to half a turn. Raises InputError naming the option."""
    from racewright.units.angle import read_degrees

    return read_degrees(text, least=-180.0, most=180.0, field=option, hint="write it as 47 or 46.5", example="47")


def pair(text: str, option: str, example: str) -> tuple[str, str]:
    """The two sides of '='. Raises InputError naming the option."""
    left, equals, right = text.partition("=")
    if not equals or not left.strip() or not right.strip():
        raise InputError(
            f"'{text}' does not say where and how much.",
            hint=f"write {option} {example}",
            field=option,
            example=example,
        )
    return left.strip(), right.strip()


def bend_number(text: str, option: str) -> int:
    """Which bend, from 1. Raises InputError naming the option."""
    if not text.isascii() or not text.isdigit() or len(text) > 9:
        raise InputError(f"'{text}' is no bend number.", hint="bends count from end A, the first is 1", field=option)
    return int(text)


def piece_arguments(parser: argparse.ArgumentParser, epilog: str) -> None:
    """The file of a bent piece, which piece of it, and how the answer is printed."""
    parser.formatter_class, parser.epilog = argparse.RawDescriptionHelpFormatter, epilog
    file = "the survey file that the piece was planned from, or the plan as JSON"
    parser.add_argument("file", metavar="FILE", help=file)
    count = whole("--piece", 1, 1000)
    parser.add_argument("--piece", type=count, default=1, metavar="N", help="which piece of the run (1)")
    parser.add_argument("--bender", metavar="NAME", help="use this bender instead of the survey's (not with a plan)")
    parser.add_argument("--json", action="store_true", help="print the answer as JSON")
