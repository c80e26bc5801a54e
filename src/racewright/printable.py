"""Text that a terminal, a drawing and a file show as it is: nothing in it steers them."""

from __future__ import annotations

import msgspec


def printable(text: str) -> str:
    """The text with control characters made spaces (they would break every back end)."""
    return text if text.isprintable() else "".join(c if c.isprintable() else " " for c in text)


def plain_json(data: object) -> str:
    """Data as indented JSON text in which characters without a shape of their own (control characters, marks that turn
    the reading direction round) stand as \\uXXXX: the same data, and safe to print."""
    text = msgspec.json.format(msgspec.json.encode(data), indent=2).decode()
    return "\n".join(line if line.isprintable() else _escaped(line) for line in text.split("\n"))


def _escaped(line: str) -> str:
    codes = ((c, c.encode("utf-16-be").hex()) for c in line)
    return "".join(
        c if c.isprintable() else "".join(f"\\u{code[i : i + 4]}" for i in range(0, len(code), 4)) for c, code in codes
    )
