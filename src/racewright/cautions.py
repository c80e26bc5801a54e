"""Cautions that more than one command, card or page prints: one wording each, so that they cannot drift apart.

Each names the danger of one kind of work. An answer carries those that its own work asks for, and `DECIDES` last.
Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, Literal

#: What a piece of work asks to take care of. Bending: 'bend' any tool; 'hand shoe', 'floor' and 'upside down' a shoe on
#: a handle and how it stands; 'machine' a power bender or a form; 'heat' heated PVC; 'correct' a bend that is made.
Work = Literal[
    "bend",
    "hand shoe",
    "floor",
    "upside down",
    "machine",
    "heat",
    "correct",
    "cut",
    "thread",
    "cement",
    "height",
    "drill",
    "enclosure",
    "plan",
    "order",
    "wire",
    "pull",
]

#: Stands under every answer.
DECIDES: Final = "Local codes, the authority having jurisdiction and a licensed person decide; this is no approval."

_DEAD = "Work on dead circuits: lock out, tag, and prove dead before a wire is pulled or a box is opened."
_BY_WORK: Final[dict[Work, tuple[str, ...]]] = {
    "bend": ("Bending: eye protection and gloves; nobody near the conduit's far end, which swings.",),
    "hand shoe": ("Hold the handle through the whole pull: a handle that backs off can throw you.",),
    "floor": ("Bent on the floor, the foot stays firmly on the shoe.",),
    "upside down": (
        "Bender upside down: no foot holds it; set the handle's end where it cannot slip, keep fingers clear of the"
        " hook and your weight off it.",
    ),
    "machine": (
        "By machine or form: trained people only, by its maker's instructions; hands clear of shoes, rollers and pins,"
        " nobody in line with the ram, no load on it when you reach in.",
    ),
    "heat": (
        "Heated PVC: a heater made for it, no open flame; it burns skin until it is cool: heat-proof gloves. Moving"
        " air, for it gives off fumes; scorched or blistered conduit is scrap.",
    ),
    "correct": (
        "Open or close a bend a little at a time and measure after each pull; do not stand over it: conduit that is"
        " bent again kinks, flattens or slips out of the tool, and a kinked piece is scrap.",
    ),
    "cut": (
        "Cutting: eye protection, guard in place, the work held fast; gloves, sleeves and loose ends away from a"
        " running blade. Ream every cut end: burrs and chips cut hands and insulation.",
    ),
    "thread": (
        "Threading: eye protection; the conduit fast in a vise, its far end held up. A machine that turns winds up"
        " gloves, sleeves and rags: none near it, one hand at its switch. Oil the die, wipe up what drips, brush chips"
        " away: they cut.",
    ),
    "cement": (
        "Primer and cement burn and their vapor harms: no flame or heater near, moving air, gloves and eye protection.",
    ),
    "height": ("Ladders, lifts and heights: keep hands free and the load small; never hang a load from the conduit.",),
    "drill": (
        "Drilling for straps: know what runs behind. Masonry: with extraction, or wet where the drill is made for"
        " it; silica dust harms the lungs.",
    ),
    "enclosure": (
        "Before an end goes into an enclosure, or it is opened or fished into: de-energize, lock out, test. Fish tape"
        " near live parts is a shock and arc hazard.",
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


def in_order(works: Iterable[Work]) -> tuple[Work, ...]:
    """These kinds of work, none twice, in the order in which they are done and told."""
    asked = set(works)
    return tuple(work for work in _BY_WORK if work in asked)
