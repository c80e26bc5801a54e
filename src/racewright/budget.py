"""How much work a search may take.

Work is counted in units and never in seconds, so that an input has the same answer on every machine, on a busy one too.
A unit is one part of the conduit held against one part of the bender, of the conduit or of what stands around, or what
takes about as long (a few microseconds in CPython). A search that has spent its budget ends with the best that it has,
and its answer says so ("not proved"); what is known before a search costs nothing and is said first.
"""

from __future__ import annotations


class Budget:
    """Units that may still be spent. A share's units are its whole's as well."""

    __slots__ = ("_whole", "done", "most")

    def __init__(self, most: int, whole: Budget | None = None) -> None:
        self.most = most
        self.done = 0
        self._whole = whole

    def take(self, units: int) -> None:
        """Count work that is about to be done."""
        self.done += units
        if self._whole is not None:
            self._whole.take(units)

    @property
    def left(self) -> int:
        """Units that are left; none where more was done."""
        return max(0, self.most - self.done)

    @property
    def spent(self) -> bool:
        """Whether nothing is left."""
        return self.done >= self.most

    def share(self, count: int = 1, most: int | None = None) -> Budget:
        """One of `count` equal shares of what is left, no greater than `most`."""
        part = self.left // max(1, count)
        return Budget(part if most is None else min(part, most), self)


#: The orders, hooks and stances of all pieces of a run, with the other ways to bend them: a piece of eight bends takes
#: 40,000 with everything, so that most runs are proved; forty bends on one stick come to an end in half a second.
ORDERS = 240_000
#: Of a run's orders, what one piece takes at most.
ORDER_OF_A_PIECE = 120_000
#: The order of the bends that are left of a half-bent piece, for each of the ways to finish it that are weighed.
ORDER_OF_THE_REST = 40_000
#: Which pieces of a split can be bent at all, and how much longer a stick must be: yes or no, asked often.
CAN_BE_BENT = 160_000
#: Where the joints of a run go, in ways to saw a piece: the sweeps of the split search (300 ft with 40 bends take
#: 30,000, with four offcuts ten times that), all sweeps round pieces that no order can bend, and all that is tried for
#: a refusal.
SPLIT = 360_000
SPLIT_AROUND = 120_000
SPLIT_HINTS = 60_000
#: New marks for the bends that are left of one piece: the equations solved for all ways to finish it. Ten bends take
#: 5,000.
NEW_MARKS = 90_000
#: Whether a correction of the finished piece brings its end right, for all ways to finish it that come near, counted as
#: the next.
CORRECTED_LATER = 24_000
#: What to correct on one finished piece: bends walked over for all combinations of corrections that are tried. Five
#: readings of eight bends take 50,000 to 230,000; of forty bends the search is cut short.
CORRECTIONS = 450_000
#: Questions whether a piece can be bent, where every piece of a sweep has to be asked about, and for a refusal.
SPLIT_ASKED = 150
SPLIT_HINTS_ASKED = 60
