"""Which corrections are tried together: few bends first, then few moves, each combination as it is asked for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import chain, combinations, product

from racewright.fit.words import Move

MOST_BENDS = 4


def groups(pool: Sequence[Move], equations: int) -> Iterator[tuple[int, Iterator[tuple[Move, ...]]]]:
    """All combinations, by bends touched and then by number of moves; more moves than measurements need be tried
    for room alone, because some solution with fewer is at least as small (a vertex of the linear programme)."""
    numbers = sorted({move.number for move in pool if move.kind != "spin"})
    spins: list[tuple[Move, ...]] = [(), *[(move,) for move in pool if move.kind == "spin"]]
    for touched in range(min(MOST_BENDS, len(numbers)) + 1):
        for size in range(max(1, touched), min(equations, 2 * touched + 1) + 1):
            group = _of_size(pool, combinations(numbers, touched), touched, spins, size)
            first = next(group, None)
            if first is not None:
                yield size, chain((first,), group)


def _of_size(
    pool: Sequence[Move],
    touching: Iterator[tuple[int, ...]],
    touched: int,
    spins: Sequence[tuple[Move, ...]],
    size: int,
) -> Iterator[tuple[Move, ...]]:
    """The combinations of so many moves that touch one of these groups of bends, each as it is asked for."""
    of: dict[tuple[int, str], Move] = {(move.number, move.kind): move for move in pool}
    ways = [
        (kinds, spin)
        for kinds in product((("angle",), ("roll",), ("angle", "roll")), repeat=touched)
        for spin in spins
        if sum(map(len, kinds)) + len(spin) == size
    ]
    for bends in touching:
        for kinds, spin in ways:
            names = [(n, kind) for n, own in zip(bends, kinds, strict=True) for kind in own]
            if all(name in of for name in names):
                yield (*(of[name] for name in names), *spin)
