"""The one place through which commands print: what a name in a file carries never steers the terminal.

Control characters (C0, C1), marks that turn the reading direction round (U+202A-E, U+2066-9 and their like), and
whatever else has no shape of its own are made spaces. Racewright's own colours pass only where a command asks for them.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, TextIO

from racewright.printable import printable

#: What a command may say to the terminal itself: colours on and off, back to the line's start, clear its rest.
_OWN = re.compile("(\x1b\\[(?:[01]|1;31|33)m|\x1b\\[K|\r)")


class CleanStream:
    """A text stream that prints what can be printed; all else is the stream's own."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self.own_codes = False

    def write(self, text: str) -> int:
        """Write the text, cleaned."""
        if not text.isprintable():
            parts = _OWN.split(text) if self.own_codes else [text]
            text = "".join(part if k % 2 else _clean(part) for k, part in enumerate(parts))
        return self._stream.write(text)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


def _clean(text: str) -> str:
    return "\n".join("\t".join(map(printable, line.split("\t"))) for line in text.split("\n"))


@contextmanager
def clean_streams() -> Iterator[None]:
    """Both streams cleaned; a letter that the terminal does not have is printed as '?' and stops nothing."""
    before = sys.stdout, sys.stderr
    for stream in before:
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    sys.stdout, sys.stderr = CleanStream(before[0]), CleanStream(before[1])
    try:
        yield
    finally:
        sys.stdout, sys.stderr = before


@contextmanager
def own_codes(stream: Any) -> Iterator[None]:
    """Let Racewright's own colours and cursor codes through: for text whose other parts are cleaned already."""
    if isinstance(stream, CleanStream):
        stream.own_codes = True
    try:
        yield
    finally:
        if isinstance(stream, CleanStream):
            stream.own_codes = False
