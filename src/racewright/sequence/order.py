"""Which bend first, which way round: the best order, proved best, or proved impossible.

Notation
    state    (set of made bends, last option): all that the future depends on, so the search runs over sets, not orders
    move     cost from one option to the next: push, spin, swap ends, change of stance, bend upside down
    rest     least cost from a state to the end when only hook, grip and floor are asked: a bound from below
Best-first branch and bound (Hart, Nilsson and Raphael 1968, from memory: with a bound that never exceeds the true
rest, the first complete way taken from the queue costs least). `rest` is exact but for shoe, handle and conduit, by
dynamic programming backwards over all sets (Held and Karp 1962, from memory); these are worked out only for
states that the queue brings to the front. Beyond `PROVED_UP_TO` bends a beam of the cheapest states is kept, and the
answer says that it is not proved.
"""

from __future__ import annotations

from collections.abc import Sequence
from heapq import heappop, heappush
from math import inf, isfinite, pi, tau

from racewright.bends.model import Bend
from racewright.errors import InputError
from racewright.geometry.vector import even
from racewright.sequence import ways
from racewright.sequence.checks import Checks, Rules
from racewright.sequence.machine import Effort, HandlingSettings
from racewright.sequence.state import Blocked, OrderAnswer, Piece, with_words
from racewright.sequence.ways import Found
from racewright.tools.benders import BenderProfile
from racewright.units.said import said

PROVED_UP_TO = 8
BEAM_WIDTH = 120
DEFAULT_SETTINGS = HandlingSettings()
_DEFAULT_MAX_NODES = 50_000


def find_order(
    bends: Sequence[Bend],
    cut_length_mm: float,
    outside_diameter_mm: float,
    bender: BenderProfile,
    settings: HandlingSettings = DEFAULT_SETTINGS,
    *,
    rules: Rules | None = None,
    max_nodes: int = _DEFAULT_MAX_NODES,
) -> OrderAnswer:
    """The best ways to bend a piece by hand, best first, or what makes it impossible.

    `bends` in material order from end A; lengths mm. `rules`: what the search may do (everything unless told).
    `max_nodes` bounds the states looked at; an answer cut short says `proved=False`.
    Raises InputError for bends out of order or off the piece, or settings without a stance.
    """
    if not settings.stances:
        raise InputError("No stance is allowed.", hint="give 'floor', 'upside down' or both", field="stances")
    _check_bends(bends, cut_length_mm)
    rules = rules or Rules(((0, 1),) * len(bends))
    piece = Piece(bends, cut_length_mm, outside_diameter_mm, bender, settings)
    checks = Checks(piece)
    if not bends:
        return OrderAnswer(ways=(ways.plain_way(checks, Found((), 0.0, 0, True)),), proved=True)
    hopeless = _hopeless(checks, rules)
    if hopeless:
        return OrderAnswer(ways=(), proved=True, impossible=with_words(hopeless, settings.tape))
    best = solve(checks, settings.effort, rules, max_nodes)
    if best.options is None:
        blocked, proved = _diagnose(checks, rules, max_nodes) if best.complete else (_edge(best, checks, rules), False)
        said = with_words(blocked, settings.tape)
        return OrderAnswer(ways=(), proved=proved, impossible=said, nodes=best.nodes)
    found = ways.several(checks, best, rules, lambda effort, r: solve(checks, effort, r, max_nodes))
    return OrderAnswer(ways=found, proved=best.complete, nodes=best.nodes)


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
    own = [
        even(effort.upside_down_bend * (o & 1) + effort.lift_per_m / 1000.0 * piece.hook_side_mm(o >> 2, o >> 1 & 1))
        for o in range(n)
    ]
    at = [piece.hook_at_mm(o >> 2, o >> 1 & 1) for o in range(n)]
    per_mm = effort.push_per_m / 1000.0
    move = []
    for o in range(n):
        roll = piece.bends[o >> 2].roll_rad
        row = [0.0] * n
        for i in range(piece.count):
            if i == o >> 2:
                continue
            turn = abs((piece.bends[i].roll_rad - roll + pi) % tau - pi)
            spin = effort.spin_half_turn * turn / pi
            for p in range(4 * i, 4 * i + 4):
                cost = own[p] + spin + per_mm * abs(at[p] - at[o])
                if (p ^ o) & 2:
                    cost += effort.swap_ends
                if (p ^ o) & 1:
                    cost += effort.stance_change
                row[p] = even(cost)
        move.append(row)
    return move, own


def solve(checks: Checks, effort: Effort, rules: Rules, max_nodes: int) -> Found:
    """The cheapest way under these weights and rules. `complete`: proved (cheapest, or that there is none)."""
    if checks.count > PROVED_UP_TO:
        return _beam(checks, effort, rules, max_nodes)
    move, own = move_costs(checks.piece, effort)
    following, rest = _rest(checks, rules, move)
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
        if nodes > max_nodes:
            return Found(None, inf, nodes, False)
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


def find_rest(checks: Checks, begun: int, max_nodes: int = _DEFAULT_MAX_NODES) -> Found:
    """The cheapest way to make what is left where the bends of the set `begun` are made, the hook either way."""
    return solve(checks, checks.piece.settings.effort, Rules(((0, 1),) * checks.count, begun=begun), max_nodes)


def _rest(checks: Checks, rules: Rules, move: list[list[float]]) -> tuple[list[list[int]], list[list[float]]]:
    """For every set the options next, and for every state the least rest of cost without shoe, handle, conduit."""
    n = checks.count
    full = (1 << n) - 1
    begun = rules.begun
    following = [checks.options(made, rules) if made & begun == begun else [] for made in range(full)]
    following.append([])
    rest = [[inf] * (4 * n) for _ in range(full + 1)]
    rest[full] = [0.0] * (4 * n)
    for made in range(full - 1, 0, -1):
        then = [(p, rest[made | 1 << (p >> 2)][p]) for p in following[made]]
        then = [(p, cost) for p, cost in then if cost < inf]
        if not then:
            continue
        out = rest[made]
        for i in range(n):
            if not made >> i & 1:
                continue
            for o in following[made & ~(1 << i)]:
                if o >> 2 == i:
                    row = move[o]
                    out[o] = min([row[p] + cost for p, cost in then])
    return following, rest


def _walk_back(parent: dict[tuple[int, int], int], made: int, o: int) -> tuple[int, ...]:
    out = []
    while o >= 0:
        out.append(o)
        before = parent[made, o]
        made &= ~(1 << (o >> 2))
        o = before
    return tuple(reversed(out))


def _beam(checks: Checks, effort: Effort, rules: Rules, max_nodes: int) -> Found:
    """Bend by bend the cheapest `BEAM_WIDTH` states; not proved."""
    move, own = move_costs(checks.piece, effort)
    level: list[tuple[float, int, tuple[int, ...]]] = [(0.0, rules.begun, ())]
    nodes = 0
    for _ in range(checks.count - rules.begun.bit_count()):
        best: dict[tuple[int, int], tuple[float, int, tuple[int, ...]]] = {}
        for cost, made, path in level:
            for p in checks.options(made, rules):
                then = made | 1 << (p >> 2)
                total = cost + (move[path[-1]][p] if path else own[p])
                known = best.get((then, p))
                if known is None or total < known[0]:
                    best[then, p] = (total, then, (*path, p))
        kept: list[tuple[float, int, tuple[int, ...]]] = []
        for entry in sorted(best.values()):
            if len(kept) >= BEAM_WIDTH or nodes >= max_nodes:
                break
            nodes += 1
            p = entry[2][-1]
            if checks.collision(entry[1] & ~(1 << (p >> 2)), p) is None:
                kept.append(entry)
        if not kept:
            return Found(None, inf, nodes, False, tuple(sorted({made for _, made, _ in level})))
        level = kept
    cost, _, path = level[0]
    return Found(path, cost, nodes, False)


def _hopeless(checks: Checks, rules: Rules) -> list[Blocked]:
    """Bends that have no room even on the unbent conduit; made bends only take room away, so this is a proof."""
    out = []
    for i in range(checks.count):
        if all(checks.room_miss(0, i, hook) is not None for hook in rules.hooks[i]):
            blocked = checks.nearest_miss(0, i, rules)
            if blocked is not None:
                out.append(blocked)
    return sorted(out, key=_shortfall)


def _diagnose(checks: Checks, rules: Rules, max_nodes: int) -> tuple[list[Blocked], bool]:
    """The order that misses by the least (its greatest shortfall is the smallest of all orders): its misses are
    what binds, the greatest first. True with it when every order misses something: proved impossible."""
    full = (1 << checks.count) - 1
    pushed = 0
    heap: list[tuple[float, float, int, int, tuple[Blocked, ...]]] = [(0.0, 0.0, 0, 0, ())]
    seen: set[int] = set()
    while heap:
        worst, total, made, _, misses = heappop(heap)
        if made in seen:
            continue
        seen.add(made)
        if made == full:
            return sorted(misses, key=_shortfall, reverse=True), worst > 0.0
        if len(seen) > max_nodes:
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
    return [], False


def _edge(best: Found, checks: Checks, rules: Rules) -> list[Blocked]:
    """Where an unproved search got stuck."""
    misses: dict[int, Blocked] = {}
    for made in best.stuck:
        for i in range(checks.count):
            if made >> i & 1:
                continue
            miss = checks.nearest_miss(made, i, rules)
            if miss is not None and (i not in misses or _shortfall(miss) < _shortfall(misses[i])):
                misses[i] = miss
    return sorted(misses.values(), key=_shortfall)


def _shortfall(blocked: Blocked) -> float:
    return even(blocked.needed_mm - blocked.measured_mm)
