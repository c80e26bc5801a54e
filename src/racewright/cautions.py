"""Cautions that more than one command, card or page prints: one wording each, so that they cannot drift apart.

Each names the danger of one kind of work. An answer carries those that its own work asks for, and `DECIDES` last.
Source: common practice, no source.
"""

from __future__ import annotations

from typing import Final, Literal

Work = Literal["bend", "correct", "cut", "install", "plan", "order", "wire", "pull"]

#: Stands under every answer.
DECIDES: Final = "Local codes, the authority having jurisdiction and a licensed person decide; this is no approval."

_DEAD = "Work on dead circuits: lock out, tag, and prove dead before a wire is pulled or a box is opened."
_BEND = (
    "Eye protection and gloves when bending. Bent on the floor, the foot stays firmly on the shoe; hold the handle"
    " through the whole pull: a handle that backs off can throw you.",
)
_BY_WORK: Final[dict[Work, tuple[str, ...]]] = {
    "bend": _BEND,
    "correct": (
        *_BEND,
        "Open or close a bend a little at a time and measure after each pull; do not stand over it: conduit that is"
        " bent again kinks, flattens or slips out of the shoe, and a kinked piece is scrap.",
    ),
    "cut": (
        "Cutting: eye protection, guard in place, the work held fast; gloves, sleeves and loose ends away from a"
        " running blade. Ream every cut end: burrs and chips cut hands and insulation.",
    ),
    "install": (
        "Ladders, lifts and heights: keep hands free and the load small; never hang a load from the conduit.",
        "Before opening or fishing into an enclosure: de-energize, lock out, test. Fish tape near live parts is a shock"
        " and arc hazard.",
        "Drilling masonry: with extraction, or wet where the drill is made for it; silica dust harms the lungs.",
    ),
    "plan": ("Planned is not checked on the wall: read each run's card and its findings before you cut.",),
    "wire": (_DEAD,),
    "pull": (
        "An estimate for planning. The wire maker's figures come first; watch the tension while pulling.",
        "Friction decides: a lubricant's maker gives its own figure, a dry or dirty raceway is worse.",
        "Stand clear of the line: nobody beside, across or in line with a loaded rope; one that lets go whips back.",
        "By machine: only by people trained on that puller, anchored for the load, one at the stop and one at the feed"
        " who hear each other; hands, hair and loose clothing away from rope and drum.",
        _DEAD,
    ),
    "order": ("A count from the plans, no offer: check it against the site before you order.",),
}


def cautions_for(*works: Work) -> tuple[str, ...]:
    """The cautions of these kinds of work, none twice, and last who decides (alone where no work is named)."""
    return (*dict.fromkeys(text for work in works for text in _BY_WORK[work]), DECIDES)
