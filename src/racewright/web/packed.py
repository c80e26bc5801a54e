"""Whether an asker takes a packed answer, and which of the forms of a file it has already."""

from __future__ import annotations


def takes_gzip(accepted: str) -> bool:
    """Whether an `accept-encoding` takes gzip (RFC 9110, 12.5.3): named, else by '*', with no weight of zero."""
    weights: dict[str, float] = {}
    for part in accepted.split(","):
        coding, *more = (piece.strip().lower() for piece in part.split(";"))
        weights[coding] = _weight(more)
    named = [weights[coding] for coding in ("gzip", "x-gzip") if coding in weights]
    return max(named) > 0.0 if named else weights.get("*", 0.0) > 0.0


def _weight(parameters: list[str]) -> float:
    """1 unless a `q` says otherwise; 0 for one that cannot be read."""
    for one in parameters:
        name, _, value = one.partition("=")
        if name.strip() == "q":
            try:
                weight = float(value.strip())
            except ValueError:
                return 0.0
            return weight if 0.0 <= weight <= 1.0 else 0.0
    return 1.0


def has_already(told: str, tag: str) -> bool:
    """Whether an `if-none-match` names this tag, weakly compared (RFC 9110, 13.1.2)."""
    tags = [one.strip().removeprefix("W/") for one in told.split(",")]
    return tag in tags or tags == ["*"]
