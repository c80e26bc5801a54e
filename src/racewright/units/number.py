"""Numbers as a person writes them: '22 1/2', '22-1/2', '22½', '22.5', '22,5', '7/8'. A fraction of 1 or more is never
taken, nor a comma that may as well part thousands."""

from __future__ import annotations

import re
from fractions import Fraction

#: A written fraction with a larger denominator is no tape fraction and no drawing fraction.
MAX_DENOMINATOR = 1_000_000
_VULGAR = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_TYPOGRAPHIC = str.maketrans({"⁄": "/", "–": "-", "\u00a0": " "})
#: '1,250': 1 1/4 to one hand, 1250 to another.
_THOUSANDS_RE = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
#: At most 12 digits before and behind the point: longer is a slip, and would take for ever.
NUMBER = (
    r"(?:(?P<only_num>[0-9]{1,9})\s*/\s*(?P<only_den>[0-9]{1,9})"
    r"|(?P<dec>[0-9]{1,12}\.[0-9]{0,12}|[0-9]{0,12}[.,][0-9]{1,12})"
    r"|(?P<whole>[0-9]{1,12})(?:(?:\s*-\s*|\s+)(?P<num>[0-9]{1,9})\s*/\s*(?P<den>[0-9]{1,9}))?)"
)
_NUMBER_RE = re.compile(NUMBER)


def plain(text: str) -> str:
    """The text in plain signs: '22½' as '22 1/2'."""
    text = text.translate(_TYPOGRAPHIC)
    for glyph, fraction in _VULGAR.items():
        text = text.replace(glyph, f" {fraction}")
    return text.strip()


def parts_thousands(text: str) -> bool:
    """Whether it can be read in two ways: '1,250'."""
    return _THOUSANDS_RE.fullmatch(text) is not None


def value_of(match: re.Match[str]) -> Fraction:
    """The value of a match of NUMBER, exactly. Raises ValueError that says why it is none: a zero denominator, one
    finer than any tape, a comma that may part thousands, or a fraction of 1 or more, which is most often a forgotten
    space ('441/2' for '44 1/2')."""
    parts = match.groupdict()
    if parts["dec"] is not None:
        decimal = parts["dec"].replace(",", ".")
        if parts_thousands(parts["dec"]):
            raise ValueError(
                f"{parts['dec']} can be read in two ways; did you mean {decimal} or {decimal.replace('.', '')}?"
            )
        return Fraction(decimal.removesuffix("."))
    whole = Fraction(parts["whole"] or 0)
    num, den = parts["num"] or parts["only_num"], parts["den"] or parts["only_den"]
    if den is None or num is None:
        return whole
    if int(den) == 0:
        raise ValueError(f"{num}/{den} divides by zero")
    if int(den) > MAX_DENOMINATOR:
        raise ValueError(f"{num}/{den} is finer than any tape")
    if int(num) >= int(den):
        if parts["whole"] is not None:
            raise ValueError(f"{num}/{den} after a whole number is not less than 1")
        raise ValueError(f"{num}/{den} is a fraction of 1 or more; did you mean {' or '.join(meant_by(num, den))}?")
    return whole + Fraction(int(num), int(den))


def meant_by(num: str, den: str) -> list[str]:
    """What somebody who wrote `num/den`, 1 or more, may have meant: a whole number split off its front where that
    leaves a fraction below 1 ('441/2' -> '44 1/2'), and what it comes to where that is close by ('17/16')."""
    splits = [
        f"{num[:cut]} {num[cut:]}/{den}"
        for cut in range(1, len(num))
        if num[0] != "0" and num[cut] != "0" and int(num[cut:]) < int(den)
    ]
    whole, rest = divmod(int(num), int(den))
    worked_out = f"{whole} {Fraction(rest, int(den))}" if rest else str(whole)
    near = whole < 2 or not splits  # 17/16 may be meant as it stands; nobody writes 441/2 for 220 1/2
    return [*splits, *([worked_out] if near and worked_out not in splits else [])]


def read_number(text: str) -> float:
    """A plain number or fraction, with a sign where one is written. Raises ValueError that says why it is none."""
    bare = plain(text)
    sign = -1.0 if bare.startswith("-") else 1.0
    match = _NUMBER_RE.fullmatch(bare.removeprefix("-" if sign < 0.0 else "+").lstrip())
    if match is None:
        raise ValueError("it is no number")
    return sign * float(value_of(match))
