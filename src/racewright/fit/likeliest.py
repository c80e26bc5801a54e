"""The likeliest piece of all that show what was measured: as the bent piece is, as far as the readings tell."""

from __future__ import annotations

from operator import mul

from racewright.budget import PARTS_A_UNIT
from racewright.fit.accuracy import Accuracy
from racewright.fit.correction import Task, corrected, slopes, worst_of
from racewright.fit.jacobian import walk
from racewright.fit.made import CLOSING_LIMIT_RAD
from racewright.fit.measured import shown
from racewright.fit.words import Move
from racewright.geometry.linalg import Row, least_norm

_ROUNDS = 20
# A piece whose angles and rolls are further off, in spreads of a hand, is not likely (6 degrees for an angle).
_MOST_SPREADS = 6.0


def as_it_is(task: Task) -> Task:
    """The task on the piece as it is, by what was measured: of all near the plan that show it the likeliest, each angle
    that was not read and each roll in the spread of a usual hand. The task itself where none shows it."""
    if task.wanted is not None:
        return task
    usual = Accuracy()
    bends = range(1, len(task.now.bends) + 1)
    if task.own:  # the rest is taken as right
        errors = [Move(n, "angle", usual.angle_rad) for n in task.own]
        most = CLOSING_LIMIT_RAD / usual.angle_rad
    else:
        errors = [Move(n, "angle", usual.angle_rad) for n in bends if n not in task.read]
        errors += [Move(n, "roll", usual.roll_rad) for n in bends[1:]]
        most = _MOST_SPREADS

    def at(y: Row) -> tuple[Move, ...]:
        return tuple(error._replace(by_rad=error.by_rad * share) for error, share in zip(errors, y, strict=True))

    def rest(y: Row) -> Row:
        bent = corrected(task.now, at(y), task.hooks)
        task.budget.take(len(bent.bends))
        walked = walk(bent)
        found = [shown(bent, item, walked) for item in task.measured]
        return [(value - real) / unit for value, real, unit in zip(found, task.real, task.scale, strict=True)]

    y = [0.0] * len(errors)
    for count in range(_ROUNDS if errors else 0):  # where every bend was read, the piece is as it was read
        if count and task.budget.spent:
            break
        slope = [
            [value * error.by_rad for value, error in zip(row, errors, strict=True)]
            for row in slopes(task, errors, at(y))
        ]
        right = [sum(map(mul, row, y)) - r for row, r in zip(slope, rest(y), strict=True)]
        task.budget.take(len(slope) * len(slope) * len(y) // PARTS_A_UNIT)
        new = least_norm(slope, right, 1e-7)
        longest = max((abs(a - b) for a, b in zip(new, y, strict=True)), default=0.0)
        y = new
        if longest < 1e-7:
            break
    if task.own and worst_of(rest(y)) > 1.0:
        return as_it_is(task._replace(own=()))
    if worst_of(rest(y)) > 1.0 or worst_of(y) > most:
        return task
    missing = tuple(-aim for aim in task.aims)
    return task._replace(now=corrected(task.now, at(y), task.hooks), missing=missing, told=True)
