"""How much work a search may take.

Work is counted in units and never in seconds, so that an input has the same answer on every machine, on a busy one too.
A unit is one part of the conduit held against one part of the bender, of the conduit or of what stands around, or what
takes about as long (a few microseconds in CPython). A search that has spent its budget ends with the best that it has,
and its answer says so ("not proved"); what is known before a search costs nothing and is said first.
"""

from __future__ import annotations


class Budget:
    """Units that may still be spent. A share's units are its whole's as well. `less`: than its usual bound (`parts`);
    `cut_short`: a search that had less has spent it, here or in a share."""

    __slots__ = ("_whole", "cut_short", "done", "less", "most")

    def __init__(self, most: int, whole: Budget | None = None, *, less: bool = False) -> None:
        self.most = most
        self.done = 0
        self.cut_short = False
        self._whole, self.less = whole, less

    def take(self, units: int) -> None:
        """Count work that is about to be done."""
        self.done += units
        if self._whole is not None:
            self._whole.take(units)
        if self.less and self.done >= self.most and not self.cut_short:
            above: Budget | None = self
            while above is not None:
                above.cut_short, above = True, above._whole

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
        return Budget(part if most is None else min(part, most), self, less=self.less)

    def parts(self, *most: int) -> tuple[Budget, ...]:
        """What is left for searches of these usual bounds: so much for each, or where that is not there in
        proportion."""
        left, wanted = self.left, sum(most)
        if left >= wanted:
            return tuple(Budget(one, self) for one in most)
        return tuple(Budget(one * left // wanted, self, less=True) for one in most)


#: The orders, hooks and stances of all pieces of a run, with the other ways to bend them: a piece of eight bends takes
#: 40,000 with everything, so that most runs are proved; forty bends on one stick come to an end in half a second.
ORDERS = 240_000
#: Of a run's orders, what one piece takes at most.
ORDER_OF_A_PIECE = 120_000
#: The order of the bends that are left of a half-bent piece, for each of the ways to finish it that are weighed, and
#: for all of them.
ORDER_OF_THE_REST = 40_000
ORDERS_OF_THE_REST = 80_000
#: Which pieces of a split can be bent at all, and how much longer a stick must be: yes or no, asked often.
CAN_BE_BENT = 160_000
#: Where the joints of a run go, in ways to saw a piece: the sweeps of the split search (300 ft with 40 bends take
#: 30,000, with four offcuts ten times that), and all sweeps round pieces that no order can bend.
SPLIT = 360_000
#: A first split is looked for with so much in any case: 250 ft with 40 bends have one by then.
SPLIT_FIRST = 24_000
SPLIT_AROUND = 120_000
#: New marks for the bends that are left of one piece: the equations solved for all ways to finish it, and each of
#: its parts held against each thing around. Ten bends take 5,000.
NEW_MARKS = 90_000
#: The same where a longer conduit in hand might do.
NEW_MARKS_LONGER = 20_000
#: Whether a correction of the finished piece brings its end right, for all ways to finish it that come near, counted as
#: the next.
CORRECTED_LATER = 24_000
#: What to correct on one finished piece: bends walked over for all combinations of corrections that are tried, and
#: twice each of its parts held against each thing around. Five readings of seven bends take up to 150,000, of eight
#: 260,000; of more bends the search may be cut short.
CORRECTIONS = 260_000
#: What several finished pieces were bent from, and what they tell: each run that is planned, by the square of its
#: parts, each plan that is read, and each bend and reading. 40 turns take 150,000; two pieces are always looked at.
DIAGNOSIS = 240_000
PLANNED_FOR_DIAGNOSIS = 22
READ_A_PLAN = 800
#: Rounds of the equations of one way to finish a piece, or of what several finished pieces tell: they settle in under
#: ten, or never.
ROUNDS = 40
#: Parts of such equations (rows, twice, by columns) that are worked on in the time of one unit.
PARTS_A_UNIT = 16
#: Bends of a piece up to which its order is proved; beyond, and where the budget is spent, so many states are kept
#: after each bend: as a rule, and where a bend's share of the budget is spent.
PROVED_BENDS = 8
STATES_KEPT, STATES_KEPT_AT_LEAST = 120, 2
#: Bends up to which a run is laid out and cut anew, six times or so, for the clearance that a snug saddle would want.
LAID_AGAIN_BENDS = 12
#: What would work where a piece cannot be bent: changes of the survey that are laid out, judged by their straights, and
#: planned again where those are good; a run of up to ten bends takes 1,000 to 200,000, a third of a second. Of a run of
#: more bends than are looked at whole, a quick look is at those that bind and some beside them, and nothing is planned
#: that has not its usual work left; of more than the other figure nothing else than a longer stick is tried.
ADVICE = 300_000
LOOKED_AT_WHOLE, ADVICE_BENDS = 12, 48
#: One split with all that goes with it; all that cuts a run into pieces, with expansion fittings and without, all
#: that bends them, and what would work where that cannot be; twice that, so that no search takes from another by the
#: little that each may go beyond its own.
#: All runs of a bill, a cut list or an order have so much, and each so much besides, which is kept for it: a run takes
#: what it needs while there is more (three bends take hundreds, nine on one stick 60,000), and the rest have their own.
SPLITTING = SPLIT + 2 * SPLIT_AROUND
CUTTING = 2 * (SPLITTING + CAN_BE_BENT)
BENDING = ORDERS + CAN_BE_BENT + ADVICE
RUN = 2 * (CUTTING + BENDING)
RUNS, RUN_AT_LEAST = 500_000, 10_000
#: Offcuts on hand that the split search uses at most: each doubles its work.
OFFCUTS_USED = 8
#: Places of a piece that one certified distance to a thing looks at; none of up to eight bends has come near it. What
#: is then not certain is taken off the clearance.
PROBES = 200_000
#: Places of one full turn of a threaded piece; one that would want more is taken as one that cannot turn.
LOOKS_OF_A_TURN = 600
#: What comes after a run's own moves: whether pieces that come in sideways have a clear way, or what would let a run go
#: up that cannot: parts of the conduit held against things. A run of five pieces takes hundreds, one try of 2,000 ft
#: 17,000.
PUTTING_UP = 60_000
#: Places for labels that one drawing tries: a crowded one of forty bends takes 8,000. What has no place by then is told
#: below the drawing.
LABEL_PLACES = 12_000
#: The cut list of one raceway. It is cut short in steps of its own, and says how near the best it surely is, or that it
#: is proved. Pieces at all; pieces up to which each is laid into the first stick with room (the square of them):
CUT_PIECES = 200_000
CUT_FIRST_FIT_PIECES = 3000
#: lengths of pieces and on hand up to which the bound comes from the tableau, else from the cheap bounds; lengths at
#: which one of these is tried:
CUT_TABLEAU_LENGTHS = 150
CUT_BOUND_LENGTHS = 400
#: fillings of a stick that are kept; nodes, cells and bits of the search for the fullest one, and its nodes beside an
#: exact one:
CUT_FILLINGS = 400
CUT_NODES, CUT_CELLS, CUT_BITS = 6000, 4000, 100_000
CUT_FILL_NODES = 1500
#: for each step of effort: lists that are begun from the tableau, the cells touched in them, nodes of the exact search
#: of a whole list of so many sticks at most, and pairs of sticks between which offcuts are gathered:
CUT_DIVES, CUT_DIVE_CELLS = 12, 60_000_000
CUT_EXACT_STICKS, CUT_EXACT_NODES = 150, 20_000
CUT_PAIRS = 6000
#: pieces up to which the rest of a list is searched exactly, and its nodes.
CUT_FEW_PIECES, CUT_FEW_NODES = 90, 1000
#: Steps of the exact proof of a cut list by an outside solver; beyond, the list keeps its own bound and says so.
CUT_PROOF_ARCS = 400_000
#: Questions whether a piece can be bent, where every piece of a sweep has to be asked about.
SPLIT_ASKED = 150
#: Whether a run meets itself: straights and arcs held against each other. 40 turns round a box take 2,500, 2,000 ft of
#: many sticks 7,000, spirals of 40 turns that lie in each other or nearly touch 20,000.
ITSELF = 100_000
#: The same for one look at a piece that would be bent otherwise.
ITSELF_OF_A_LOOK = 4_000
#: The order of a batch's settings: pieces looked at in all, states that are kept after each setting, and different
#: pieces up to which each is held against each, for one that is in another.
SETTINGS, SETTINGS_STATES, SETTINGS_COMPARED = 2_000_000, 4_000, 600
#: What hides the conduit in the drawing from a corner: sight lines held against things, and steps along them. 40
#: saddles on one run take 353,000.
CORNER_LOOKS = 500_000
