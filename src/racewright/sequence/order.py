"""Which bend first, which way round: the best order, proved best, or proved impossible.

Notation
    state    (set of made bends, last option): all that the future depends on, so the search runs over sets, not orders
    move     cost from one option to the next: push, rotate, swap ends, change of stance, bend upside down
    rest     least cost from a state to the end when only hook, grip and floor are asked: a bound from below
Best-first branch and bound (Hart, Nilsson and Raphael 1968, from memory: with a bound that never exceeds the true
rest, the first complete way taken from the queue costs least). `rest` is exact but for shoe, handle and conduit, by
dynamic programming backwards over all sets (Held and Karp 1962, from memory); these are worked out only for
states that the queue brings to the front. Between ways of equal effort one with more bends on the floor goes first.
Beyond `PROVED_BENDS` bends, and where the budget of work is spent, a beam of the cheapest states is kept, and the
answer says that it is not proved.
"""

from __future__ import annotations

from collections.abc import Sequence
from heapq import heappop, heappush
from math import inf, isfinite, pi

from racewright.bends.model import Bend
from racewright.budget import PROVED_BENDS, STATES_KEPT, STATES_KEPT_AT_LEAST, Budget
from racewright.errors import InputError
from racewright.geometry.vector import even
from racewright.sequence import ways
from racewright.sequence.checks import Checks, Rules
from racewright.sequence.machine import Effort, HandlingSettings, rotated_rad
from racewright.sequence.state import Blocked, OrderAnswer, Piece, with_words
from racewright.sequence.ways import Found
from racewright.tools.benders import BenderProfile
from racewright.units.said import said

DEFAULT_SETTINGS = HandlingSettings()
#: Decides between ways of equal effort (points for each bend upside down): more than rounding, less than is felt.
_FLOOR_FIRST = 1e-8
#: Moves that are weighed in the time of one unit of work.
_MOVES_A_UNIT = 16
#: Bends that are laid out on both sides of the bender in the time of one unit.
_BENDS_A_UNIT = 8


def find_order(
    bends: Sequence[Bend],
    cut_length_mm: float,
    outside_diameter_mm: float,
    bender: BenderProfile,
    settings: HandlingSettings = DEFAULT_SETTINGS,
    *,
    rules: Rules | None = None,
    budget: Budget | None = None,
) -> OrderAnswer:
    """The best ways to bend a piece by hand, best first, or what makes it impossible.

    `bends` in material order from end A; lengths mm. `rules`: what the search may do (everything unless told).
    `budget` bounds the work; an answer cut short says `proved=False`.
    Raises InputError for bends out of order or off the piece, or settings without a stance.
    """
    if not settings.stances:
        raise InputError("No stance is allowed.", hint="give 'floor', 'upside down' or both", field="stances")
    _check_bends(bends, cut_length_mm)
    rules = rules or Rules(((0, 1),) * len(bends))
    checks = Checks(Piece(bends, cut_length_mm, outside_diameter_mm, bender, settings), budget)
    if not bends:
        return OrderAnswer(ways=(ways.plain_way(checks.piece, Found((), 0.0, 0, True)),), proved=True)
    hopeless = _hopeless(checks, rules)
    if hopeless:
        return OrderAnswer(ways=(), proved=True, impossible=with_words(hopeless, settings.tape))
    best = solve(checks, settings.effort, rules)
    if best.options is None:
        blocked = _diagnose(checks, rules) if best.complete else _edge(best, checks, rules)
        said = with_words(blocked, settings.tape)
        return OrderAnswer(ways=(), proved=best.complete, impossible=said, nodes=best.nodes)
    found = ways.several(checks, best, rules, lambda effort, r: solve(checks, effort, r))
    return OrderAnswer(ways=found, proved=best.complete, nodes=best.nodes)


def least_effort(
    bends: Sequence[Bend],
    cut_length_mm: float,
    outside_diameter_mm: float,
    bender: BenderProfile,
    settings: HandlingSettings = DEFAULT_SETTINGS,
    *,
    budget: Budget | None = None,
) -> tuple[float | None, bool]:
    """The effort of the best way alone (points; None: there is no way, or none was found) and whether that is proved:
    what `find_order` says of one bend or more, without the words."""
    checks = Checks(Piece(bends, cut_length_mm, outside_diameter_mm, bender, settings), budget)
    best = solve(checks, settings.effort, Rules(((0, 1),) * checks.count))
    return None if best.options is None else ways.plain_way(checks.piece, best).cost, best.complete


def can_be_bent(
    bends: Sequence[Bend],
    cut_length_mm: float,
    outside_diameter_mm: float,
    bender: BenderProfile,
    settings: HandlingSettings = DEFAULT_SETTINGS,
    *,
    budget: Budget | None = None,
) -> bool | None:
    """Whether there is any order at all; None: the budget was spent before that was known."""
    checks = Checks(Piece(bends, cut_length_mm, outside_diameter_mm, bender, settings), budget)
    rules = Rules(((0, 1),) * checks.count)
    if checks.without_room(rules):
        return False
    full = (1 << checks.count) - 1
    seen = {0}
    # the way so far: each set of made bends with the options that were not tried from it yet
    way = [(0, iter(checks.with_room(0, rules)))]
    while way:
        made, untried = way[-1]
        if made == full:
            return True
        if checks.budget.spent:
            return None
        for option in untried:
            then = made | 1 << (option >> 2)
            if then not in seen and checks.collision(made, option) is None:
                checks.budget.take(checks.count)
                seen.add(then)
                way.append((then, iter(checks.with_room(then, rules))))
                break
        else:
            way.pop()
    return False


def _check_bends(bends: Sequence[Bend], cut_length_mm: float) -> None:
    last = 0.0
    for bend in bends:
        if bend.arc_start_mm < last - 1e-6 or bend.arc_end_mm > cut_length_mm + 1e-6:
            raise InputError(
                f"A bend takes {said(bend.arc_start_mm)} to {said(bend.arc_end_mm)} of conduit; free are"
                f" {said(last)} to {said(cut_length_mm)}.",
                hint="give the bends in order from end A, with arcs that do not overlap",
                field="bends",
            )
        last = bend.arc_end_mm


def move_costs(piece: Piece, effort: Effort) -> tuple[list[list[float]], list[float]]:
    """`move[o][p]` from option o to p, and `own[p]`, what p costs as the first bend (an option counts as in state)."""
    n = piece.count * 4
    over = effort.upside_down_bend + _FLOOR_FIRST
    own = [even(over * (o & 1) + effort.lift_per_m / 1000.0 * piece.hook_side_mm(o >> 2, o >> 1 & 1)) for o in range(n)]
    at = [piece.hook_at_mm(o >> 2, o >> 1 & 1) for o in range(n)]
    per_mm = effort.push_per_m / 1000.0
    move = [[0.0] * n for _ in range(n)]
    for j, before in enumerate(piece.bends):
        for i, bend in enumerate(piece.bends):
            if i == j:
                continue
            spin = before.roll_rad - bend.roll_rad
            turns = [effort.rotate_half_turn * abs(rotated_rad(spin, stance_change=c)) / pi for c in (False, True)]
            # by what changes: nothing, the stance, the end that the hook faces, both
            same_end = (turns[0], turns[1] + effort.stance_change)
            change = (*same_end, *(cost + effort.swap_ends for cost in same_end))
            for o in range(4 * j, 4 * j + 4):
                row, from_mm = move[o], at[o]
                for p in range(4 * i, 4 * i + 4):
                    row[p] = even(own[p] + per_mm * abs(at[p] - from_mm) + change[(p ^ o) & 3])
    return move, own


def solve(checks: Checks, effort: Effort, rules: Rules) -> Found:
    """The cheapest way under these weights and rules. `complete`: proved (cheapest, or that there is none)."""
    if checks.without_room(rules):
        return Found(None, inf, 0, True)
    if checks.count - rules.begun.bit_count() > PROVED_BENDS:
        return _beam(checks, effort, rules)
    return _proved(checks, effort, rules) or _beam(checks, effort, rules)


def _proved(checks: Checks, effort: Effort, rules: Rules) -> Found | None:
    """The cheapest way, or that there is none; None: the budget was spent before."""
    move, own = move_costs(checks.piece, effort)
    following = _following(checks, rules)
    if following is None:
        return None
    rest = _rest(checks, rules, following, move)
    full = (1 << checks.count) - 1
    # between equals the bends nearer end A, and the hook toward A, go first
    heap: list[tuple[float, int, int, float, int]] = []
    parent: dict[tuple[int, int], int] = {}
    cheapest: dict[tuple[int, int], float] = {}
    for o in following[rules.begun]:
        made = rules.begun | 1 << (o >> 2)
        if isfinite(rest[made][o]):
            cheapest[made, o] = own[o]
            heappush(heap, (even(own[o] + rest[made][o]), made, o, own[o], -1))
    nodes = 0
    while heap:
        _, made, o, cost, before = heappop(heap)
        key = (made, o)
        if key in parent:
            continue
        nodes += 1
        if checks.budget.spent:
            return None
        if checks.collision(made & ~(1 << (o >> 2)), o) is not None:
            parent[key] = -2  # never to be entered, from anywhere
            continue
        parent[key] = before
        if made == full:
            return Found(_walk_back(parent, made, o), cost, nodes, True)
        row = move[o]
        for p in following[made]:
            then = made | 1 << (p >> 2)
            total = cost + row[p]
            bound = total + rest[then][p]
            if isfinite(bound) and total < cheapest.get((then, p), inf):
                cheapest[then, p] = total
                heappush(heap, (even(bound), then, p, total, o))
    return Found(None, inf, nodes, True)


def find_rest(checks: Checks, begun: int) -> Found:
    """The cheapest way to make what is left where the bends of the set `begun` are made, the hook either way."""
    return solve(checks, checks.piece.settings.effort, Rules(((0, 1),) * checks.count, begun=begun))


def _sets(checks: Checks, begun: int) -> list[int]:
    """The sets of made bends that hold `begun`, smaller ones before those that hold them."""
    left = [i for i in range(checks.count) if not begun >> i & 1]
    out = [begun]
    for i in left:
        out += [made | 1 << i for made in out]
    return out


def _following(checks: Checks, rules: Rules) -> dict[int, list[int]] | None:
    """For every set the options next, without shoe, handle, conduit; None where the budget is spent."""
    out: dict[int, list[int]] = {}
    for made in _sets(checks, rules.begun)[:-1]:
        if checks.budget.spent:
            return None
        out[made] = checks.options(made, rules)
    out[(1 << checks.count) - 1] = []
    return out


def _rest(
    checks: Checks, rules: Rules, following: dict[int, list[int]], move: list[list[float]]
) -> dict[int, list[float]]:
    """For every state the least rest of cost without shoe, handle, conduit."""
    n = checks.count
    full = (1 << n) - 1
    rest = {made: [inf] * (4 * n) for made in following}
    rest[full] = [0.0] * (4 * n)
    moves = 0
    for made in reversed(_sets(checks, rules.begun)[1:-1]):
        then = [(p, rest[made | 1 << (p >> 2)][p]) for p in following[made]]
        then = [(p, cost) for p, cost in then if cost < inf]
        if not then:
            continue
        out = rest[made]
        for i in range(n):
            if not made >> i & 1 or rules.begun >> i & 1:
                continue
            for o in following[made & ~(1 << i)]:
                if o >> 2 == i:
                    row = move[o]
                    out[o] = min([row[p] + cost for p, cost in then])
                    moves += len(then)
    checks.budget.take(moves // _MOVES_A_UNIT)
    return rest


def _walk_back(parent: dict[tuple[int, int], int], made: int, o: int) -> tuple[int, ...]:
    out = []
    while o >= 0:
        out.append(o)
        before = parent[made, o]
        made &= ~(1 << (o >> 2))
        o = before
    return tuple(reversed(out))


def _beam(checks: Checks, effort: Effort, rules: Rules) -> Found:
    """Bend by bend the cheapest states, up to `STATES_KEPT`, and `STATES_KEPT_AT_LEAST` where a bend's share of
    the budget is spent; not proved."""
    checks.budget.take((4 * checks.count) ** 2 // _MOVES_A_UNIT)
    move, own = move_costs(checks.piece, effort)
    level: list[tuple[float, int, tuple[int, ...]]] = [(0.0, rules.begun, ())]
    nodes = 0
    steps = checks.count - rules.begun.bit_count()
    for step in range(steps):
        share_end = checks.budget.done + checks.budget.left // (steps - step)
        best: dict[tuple[int, int], tuple[float, int, tuple[int, ...]]] = {}
        for cost, made, path in level:
            for p in checks.with_room(made, rules):
                then = made | 1 << (p >> 2)
                total = cost + (move[path[-1]][p] if path else own[p])
                known = best.get((then, p))
                if known is None or total < known[0]:
                    best[then, p] = (total, then, (*path, p))
        checks.budget.take(len(level) * checks.count)
        kept: list[tuple[float, int, tuple[int, ...]]] = []
        for _, entry in sorted([(even(entry[0]), entry) for entry in best.values()]):
            if len(kept) >= (STATES_KEPT_AT_LEAST if checks.budget.done >= share_end else STATES_KEPT):
                break
            nodes += 1
            p = entry[2][-1]
            checks.budget.take(checks.count // _BENDS_A_UNIT)
            if checks.collision(entry[1] & ~(1 << (p >> 2)), p) is None:
                kept.append(entry)
        if not kept:
            return Found(None, inf, nodes, False, tuple(sorted({made for _, made, _ in level})))
        level = kept
    cost, _, path = level[0]
    return Found(path, cost, nodes, False)


def _hopeless(checks: Checks, rules: Rules) -> list[Blocked]:
    """What is known before a search: bends that have no room even on the unbent conduit; else, of more bends than a
    diagnosis looks through, those of which none can be the last. Both are proofs: made bends only take room away."""
    out = [checks.nearest_room(rules.begun, i, rules) for i in range(checks.count) if not rules.begun >> i & 1]
    found = sorted((blocked for blocked in out if blocked is not None), key=_shortfall)
    if found or checks.count <= PROVED_BENDS:
        return found
    stuck = checks.without_room(rules)
    among = [
        checks.nearest_room((stuck | rules.begun) & ~(1 << i), i, rules) for i in range(checks.count) if stuck >> i & 1
    ]
    return sorted((blocked for blocked in among if blocked is not None), key=_shortfall)


def _diagnose(checks: Checks, rules: Rules) -> list[Blocked]:
    """Where there is no order: the order that misses by the least (its greatest shortfall is the smallest of all
    orders): its misses are what binds, the greatest first. Where the budget is spent, what the last bend misses in
    the order that got farthest."""
    full = (1 << checks.count) - 1
    pushed = 0
    heap: list[tuple[float, float, int, int, tuple[Blocked, ...]]] = [(0.0, 0.0, rules.begun, 0, ())]
    seen: set[int] = set()
    farthest: tuple[Blocked, ...] = ()
    while heap:
        worst, total, made, _, misses = heappop(heap)
        if made in seen:
            continue
        seen.add(made)
        farthest = max(farthest, misses, key=len)
        if made == full:
            return sorted(misses, key=_shortfall, reverse=True)
        if checks.budget.spent and farthest:
            break
        for i in range(checks.count):
            if made >> i & 1 or (rules.fixed_order and rules.fixed_order[made.bit_count()] != i):
                continue
            miss = checks.nearest_miss(made, i, rules)
            then = made | 1 << i
            if then in seen:
                continue
            pushed += 1
            if miss is None:
                heappush(heap, (worst, total, then, pushed, misses))
            else:
                short = _shortfall(miss)
                heappush(heap, (max(worst, short), total + short, then, pushed, (*misses, miss)))
    return sorted(farthest, key=_shortfall, reverse=True)


def _edge(best: Found, checks: Checks, rules: Rules) -> list[Blocked]:
    """Where an unproved search got stuck: of each bend that is left the nearest miss, in the first of the sets of bends
    that it came to, and in others as far as the budget goes."""
    misses: dict[int, Blocked] = {}
    for number, made in enumerate(best.stuck):
        if number and checks.budget.spent:
            break
        for i in range(checks.count):
            if made >> i & 1:
                continue
            miss = checks.nearest_miss(made, i, rules)
            if miss is not None and (i not in misses or _shortfall(miss) < _shortfall(misses[i])):
                misses[i] = miss
    return sorted(misses.values(), key=_shortfall)


def _shortfall(blocked: Blocked) -> float:
    return even(blocked.needed_mm - blocked.measured_mm)
