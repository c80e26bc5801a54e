"""Most useful leftovers: with the sticks settled, pieces are dealt anew between two sticks at a time, so that what is
left over gathers in few long ends.

Notation: r the leftover of a stick after its last cut; a leftover counts r^2 where r is at least the keep length,
nothing below (own measure: one long end is worth more than two short ones of the same sum).
"""

from __future__ import annotations

_MOST_PAIRS = 6000


class Dealt:
    """Sticks as lists of sizes, in the measure of the instance; `caps` their capacities, `kerf` and `keep` likewise."""

    def __init__(self, caps: list[int], loads: list[list[int]], kerf: int, keep: int) -> None:
        self.caps, self.loads, self.kerf, self.keep = caps, [sorted(load, reverse=True) for load in loads], kerf, keep
        self.rooms = [cap - sum(load) for cap, load in zip(caps, loads, strict=True)]
        self.looked_at = 0

    def worth(self, room: int) -> int:
        """r^2 where the leftover is kept."""
        left = room - self.kerf
        return left * left if left > 0 and left >= self.keep else 0

    def improve(self, most_pairs: int = _MOST_PAIRS) -> None:
        """Pairs in order of room, until none brings more or the limit is reached."""
        seen: set[tuple[object, ...]] = set()
        better = True
        while better and self.looked_at < most_pairs:
            better = False
            order = sorted(range(len(self.caps)), key=lambda i: -self.rooms[i])
            for place, i in enumerate(order):
                if self.rooms[i] <= 0:
                    break
                for j in order[place + 1 :]:
                    if self.rooms[j] <= 0 or self.looked_at >= most_pairs:
                        break
                    name = (self.caps[i], tuple(self.loads[i]), self.caps[j], tuple(self.loads[j]))
                    if name in seen:
                        continue
                    seen.add(name)
                    self.looked_at += 1
                    better = self._deal(i, j) or better

    def _deal(self, i: int, j: int) -> bool:
        """Fill one of the two as full as it goes, the rest into the other; kept where it is worth more."""
        items = sorted(self.loads[i] + self.loads[j], reverse=True)
        total = sum(items)
        now = self.worth(self.rooms[i]) + self.worth(self.rooms[j])
        best, choice = now, None
        for full, other in ((i, j), (j, i)):
            chosen = _fullest(items, self.caps[full])
            size = sum(chosen)
            if total - size > self.caps[other]:
                continue
            worth = self.worth(self.caps[full] - size) + self.worth(self.caps[other] - total + size)
            if worth > best:
                best, choice = worth, (full, other, chosen)
        if choice is None:
            return False
        full, other, chosen = choice
        rest = list(items)
        for size in chosen:
            rest.remove(size)
        for k, load in ((full, chosen), (other, rest)):
            self.loads[k] = load
            self.rooms[k] = self.caps[k] - sum(load)
        return True


def _fullest(items: list[int], cap: int) -> list[int]:
    """The subset that fills `cap` most: every sum that can be reached is one bit."""
    mask = (1 << (cap + 1)) - 1
    reach = [1]
    for size in items:
        reach.append((reach[-1] | (reach[-1] << size)) & mask)
    at = reach[-1].bit_length() - 1
    chosen = []
    for size, before in zip(reversed(items), reversed(reach[:-1]), strict=True):
        if not (before >> at) & 1:
            chosen.append(size)
            at -= size
    return chosen[::-1]
