"""The order of assembly against every way of putting up to four pieces up, tried one by one."""

from __future__ import annotations

from itertools import permutations, product

from hypothesis import given
from hypothesis import strategies as st

from racewright.assembly.order import NOT_POSSIBLE, Body, Seat, SeatKind, find_order

BODIES = st.lists(
    st.builds(
        lambda straight, a, b, one: Body(1000.0, straight, by_a=a or straight, by_b=b or straight, one_way=one),
        st.booleans(),
        st.booleans(),
        st.booleans(),
        st.just(False),
    ),
    min_size=1,
    max_size=4,
)
SEATS = st.builds(Seat, st.sampled_from(("free", "seat", "hole")), st.sampled_from((0.0, 0.5, 1.5, NOT_POSSIBLE)))


def can_be_put_up(
    bodies: list[Body], ends: tuple[SeatKind, SeatKind], closed: tuple[bool, ...], order: tuple[int, ...]
) -> bool:
    """Whether the pieces go up in this order when the couplings `closed` (and the ends called 'free') are made last: a
    piece comes in by one end; its other end is free, or goes deeper through a hole if the piece is straight."""
    up: set[int] = set()
    n = len(bodies)
    for k in order:
        body = bodies[k]
        sides: list[str] = []
        for side, beside in ((0, k - 1), (1, k + 1)):
            if 0 <= beside < n:
                joint_closed = closed[min(k, beside)]
                if not joint_closed and beside in up:
                    sides.append("ab"[side])
            elif ends[side] != "free":
                sides.append("AB"[side] if ends[side] == "hole" else "ab"[side])
        threads = [s for s in sides if s.islower()]
        holes = [s for s in sides if s.isupper()]
        if len(threads) > 1 or (threads and holes and not body.straight) or (len(holes) > 1 and not body.straight):
            return False
        if threads and not (body.by_a if threads[0] == "a" else body.by_b):
            return False
        up.add(k)
    return True


@given(BODIES, SEATS, SEATS, st.data())
def test_no_way_of_putting_it_up_is_cheaper(bodies: list[Body], a: Seat, b: Seat, data: st.DataObject) -> None:
    costs = [data.draw(st.sampled_from((0.1, 1.0, NOT_POSSIBLE))) for _ in bodies[1:]]
    found = find_order(bodies, costs, (a, b))
    best = float("inf")
    for gives in product((False, True), repeat=2):
        if (gives[0] and a.kind == "free") or (gives[1] and b.kind == "free"):
            continue
        ends: tuple[SeatKind, SeatKind] = ("free" if gives[0] else a.kind, "free" if gives[1] else b.kind)
        for closed in product((False, True), repeat=len(costs)):
            cost = sum(c for c, is_closed in zip(costs, closed, strict=True) if is_closed)
            cost += sum(seat.gives for seat, give in ((a, gives[0]), (b, gives[1])) if give)
            if cost < best and any(can_be_put_up(bodies, ends, closed, o) for o in permutations(range(len(bodies)))):
                best = cost
    assert abs(found.cost - best) < 1e-9
    groups = sorted(found.groups)
    closed = tuple(any(g.last == k for g in groups) for k in range(len(costs)))
    held: tuple[SeatKind, SeatKind] = (
        "free" if found.gives[0] else a.kind,
        "free" if found.gives[1] else b.kind,
    )
    assert can_be_put_up(bodies, held, closed, tuple(k for g in found.groups for k in g.order))
