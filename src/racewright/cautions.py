"""Cautions that more than one command, card or page prints: one wording each, so that they cannot drift apart.

Each names the danger of one kind of work. An answer carries those that its own work asks for, and `DECIDES` last.
"""

from __future__ import annotations

#: Stands under every answer.
DECIDES = "Local codes, the authority having jurisdiction and a licensed person decide; this is no approval."

#: Wire work, and any box or cabinet that is opened.
DEAD = "Work on dead circuits: lock out, tag, and prove dead before a wire is pulled or a box is opened."

#: Pulling wire, by hand and by machine.
PULLING = (
    "Stand clear of the line: nobody beside, across or in line with a loaded rope; one that lets go whips back.",
    "By machine: only by people trained on that puller, anchored for the load, one at the stop and one at the feed who "
    "hear each other; hands, hair and loose clothing away from rope and drum.",
)
