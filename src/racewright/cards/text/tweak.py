"""What to correct on a bent piece, as text."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from racewright.operations.tweak import TweakAnswer


def tweak_text(answer: TweakAnswer) -> str:
    """The corrections in their order, and what they do."""
    head = f"{answer.run}, {answer.piece}:"
    if not answer.moves:
        said = " ".join(answer.words)
        return f"{head} {said[0].lower()}{said[1:]}"
    return "\n".join((head, *(f"  {k}. {move.words}" for k, move in enumerate(answer.moves, 1)), *answer.words))
