"""The least correction of a finished piece: which bend to open, close or roll, and by how much.

Notation
    m       what was measured minus what was wanted (mm or rad)
    x       corrections: a change of a bend's angle, or a roll of a bend and all that follows
    g(x)    what the piece shows where it was measured, once corrected
The answer makes g(x) - g(0) + m vanish within the tolerance. No cause is sought: see `diagnose` for that.
Fewest bends touched come first, then fewest corrections, then least total degrees; of equal totals the one that opens
fewest bends, then the one that moves the far end least.
Many pieces show what was measured; the likeliest (least change of angles and rolls, each in the spread of a hand) is
taken for the piece as it is, and looked at as it will be: of the corrections within the tolerance one that keeps the
wanted room goes before all others, and where none does, the one that keeps most.
A rise measured alone tells nothing of the far end: that is then taken as right, and the bends of the rise's own shape
are corrected together, so that what comes after keeps its line; where that cannot be, its direction. That goes before
the room: a saddle that would not keep it is bent a little higher.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import atan2, ceil, copysign, hypot, radians, sqrt

import msgspec

from racewright.bends import roles
from racewright.bends.model import BentPiece
from racewright.budget import CORRECTIONS, Budget
from racewright.errors import Finding, InputError, LimitError
from racewright.fit.accuracy import Tolerance
from racewright.fit.combinations import groups
from racewright.fit.correction import Task, corrected, end_moves, left_after, slopes, solve, worst_of
from racewright.fit.jacobian import walk
from racewright.fit.likeliest import as_it_is
from racewright.fit.made import CLOSING_LIMIT_RAD, LEAST_MADE_RAD, OPENING_LIMIT_RAD, ROLL_LIMIT_RAD
from racewright.fit.measured import (
    MOST_CORRECTED_RAD,
    ApexRise,
    BendAngle,
    LegLean,
    Measured,
    OffAt,
    Way,
    check_measured,
    misfit,
    shown,
    tolerance_of,
    way_vector,
)
from racewright.fit.room import NOTHING_AROUND, Surroundings
from racewright.fit.words import Left, Move, move_words, refusal
from racewright.geometry.linalg import Matrix, Row, least_norm
from racewright.geometry.vector import Frame, Vec, cross, dot, even, sub
from racewright.tools.benders import HookEnd, MadeBy

# Combinations looked at beyond the first that would do, where that does not keep the wanted room.
_MORE_TRIED = 300
# Whole steps that a hand bends, and how many tolerances they may leave: a single correction goes no finer than a
# quarter of a degree where that leaves little more than the tolerance.
_STEPS = (
    (radians(0.5), 1.0),
    (radians(0.25), 1.0),
    (radians(0.25), 2.0),
    (radians(0.1), 1.0),
    (0.0, 1.0),
)
# A saddle that would not keep its room is bent so much higher, in tolerances at most, and so often is it tried.
_HIGHER_MOST = 2.0
_HIGHER_TRIED = 4
_SPARE_MM = 0.05
_TINY = 1e-12
# Units that the linear answer of one combination takes.
_LINEAR_UNITS = 20
_CUT_SHORT = Finding(
    rule="tweak.search",
    severity="info",
    message="with so many bends the correction is the least of those tried; that none is less is not proved.",
    citation="geometry",
)


class TweakAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """The correction. `moves` as to be made by hand (whole steps where these will do), `exact` before rounding; `words`
    one line each. `left_mm`, `left_rad`: the largest misfit left, the ways in which a place or the last leg was
    measured taken together. `end_mm`, `lean_rad`: how far the far end moves by the correction (up, left, forward), and
    how far the last leg's direction changes. `now` is the piece as it likely is, `piece` as it is afterwards; `told`
    False: no piece near the plan shows what was measured, and they are the plan and the plan with the correction added.
    `short_mm`: by how much it misses the room that is wanted, where it is told."""

    moves: tuple[Move, ...]
    exact: tuple[Move, ...]
    words: tuple[str, ...]
    left_mm: float
    left_rad: float
    end_mm: Vec
    lean_rad: float
    now: BentPiece
    piece: BentPiece
    told: bool
    short_mm: float
    findings: tuple[Finding, ...] = ()

    @property
    def total_rad(self) -> float:
        """Sum of the corrections' sizes."""
        return sum(abs(move.by_rad) for move in self.moves)


def tweak(
    piece: BentPiece,
    measured: Sequence[Measured],
    *,
    hooks: Sequence[HookEnd] = (),
    tolerance: Tolerance | None = None,
    may_spin: bool = False,
    opening_limit_rad: float = OPENING_LIMIT_RAD,
    around: Surroundings = NOTHING_AROUND,
    how: MadeBy = "hand shoe",
) -> TweakAnswer:
    """The least correction that takes the measured misfit away, by as few bends as will do.

    `piece` is the piece as planned. Bend angles that were read are taken as the piece's true angles; where
    nothing else was measured, the end is brought back to where the plan has it. `may_spin`: the piece can also
    be turned as a whole in the fitting at end A, which bends nothing. `around`: what the piece has to clear. `how` its
    bends are made. A rise measured alone: see the module's words.
    Raises InputError for measurements that are not on the piece, LimitError where no correction within the limits
    (opening 5 degrees unless told; common practice, from memory) takes the misfit away.
    """
    pool = _pool(piece, may_spin=may_spin)
    task = _task(piece, measured, tuple(hooks), tolerance or Tolerance(), pool, around)._replace(how=how)
    best: TweakAnswer | None = None
    for asked, saddle in _asked(piece, task, measured, tolerance or Tolerance()):
        if best is not None and asked is task and len(asked.measured) == sum(map(_is_rise, asked.measured)):
            break  # the far end is taken as right, and goes before the room
        part = asked if asked is task else asked._replace(budget=task.budget.share(2))
        try:
            answer = _least(as_it_is(part), opening_limit_rad)
            if saddle and answer.short_mm > 0.0:
                answer = _higher(part, answer, opening_limit_rad)
        except LimitError as error:
            if best is None and (asked is task or (saddle and error.unit)):
                if saddle:
                    error.hint = f"measure the far end too (it is taken as right); if it is, {error.hint}"
                raise
            continue
        if answer.short_mm == 0.0:
            return answer
        best = min(best or answer, answer, key=lambda one: even(one.short_mm))
    assert best is not None  # the last task gives an answer, or raises
    return best


def brings_end(
    piece: BentPiece, plan: BentPiece, hooks: Sequence[HookEnd], around: Surroundings, budget: Budget, most: int
) -> tuple[Move, ...]:
    """The least correction, of `most` bends or twists, that brings end B of a finished piece to where the plan has it
    and keeps the room; none where there is none within the limits, or the budget is spent. The piece can be turned as a
    whole in its fitting at end A, which bends nothing."""
    usual = Tolerance()
    scale = (usual.length_mm,) * 3 + (usual.angle_rad,) * 2
    wanted, read = walk(plan).end, frozenset(range(1, len(piece.bends) + 1))
    pool = _pool(piece, may_spin=True)
    task = Task(piece, (), (), scale, wanted, tuple(hooks), pool, around, read, (), (), True, budget.share(2))
    try:
        answer = _least(task, OPENING_LIMIT_RAD)
    except LimitError:
        return ()
    few = sum(move.kind != "spin" for move in answer.moves) <= most
    return answer.moves if answer.short_mm == 0.0 and few else ()


def _pool(piece: BentPiece, *, may_spin: bool) -> tuple[Move, ...]:
    """Every bend's angle, the twist at every bend but the first, and the turn of the whole piece where it can be."""
    count = len(piece.bends)
    angles = [Move(i, "angle", 0.0) for i in range(1, count + 1)]
    twists = [Move(i, "roll", 0.0) for i in range(2, count + 1)]
    return (*angles, *twists, *((Move(1, "spin", 0.0),) if may_spin and count else ()))


def _is_rise(item: Measured) -> bool:
    return isinstance(item, ApexRise)


def _higher(task: Task, answer: TweakAnswer, opening_limit_rad: float) -> TweakAnswer:
    """The same with a saddle so much higher that it keeps its room, as long as it is hardly more than the tolerance;
    else the answer itself."""
    by = answer.short_mm + _SPARE_MM
    for _ in range(_HIGHER_TRIED):
        if by > _HIGHER_MOST * task.scale[0]:
            break
        ups = [by if _is_rise(item) else 0.0 for item in task.measured]
        raised = task._replace(
            aims=tuple(aim + up for aim, up in zip(task.aims, ups, strict=True)),
            missing=tuple(miss - up for miss, up in zip(task.missing, ups, strict=True)),
        )
        try:
            tried = _least(as_it_is(raised), opening_limit_rad)
        except LimitError:
            break
        if tried.short_mm == 0.0:
            return tried
        by += tried.short_mm + _SPARE_MM
    return answer


def _asked(
    piece: BentPiece, task: Task, measured: Sequence[Measured], tolerance: Tolerance
) -> Iterator[tuple[Task, bool]]:
    """The tasks in the order in which they are tried, and whether it is that of a saddle's rise alone. The last is the
    task as asked; before it, what is meant where only rises, or only angles, were measured."""
    rises = tuple(item for item in task.measured if isinstance(item, ApexRise))
    if rises and len(rises) == len(task.measured):
        for kept in _far_end_kept(piece, task, rises, tolerance):
            yield kept, _of_saddle(piece, rises[0])
    if task.wanted is not None:
        # a bend that was read wrong is mended itself, before another is bent to make up
        read = {item.number for item in measured if isinstance(item, BendAngle)}
        yield task._replace(pool=tuple(m for m in task.pool if m.kind == "angle" and m.number in read)), False
    yield task, False


def _of_saddle(piece: BentPiece, rise: ApexRise) -> bool:
    return piece.bends[rise.number - 1].role in (roles.SADDLE_OUTER, roles.SADDLE_CENTER, roles.SADDLE_FOUR)


def _far_end_kept(piece: BentPiece, task: Task, rises: Sequence[ApexRise], tolerance: Tolerance) -> Iterator[Task]:
    """The task with the leg behind the rises' shape and the far end on their planned lines, by the angles of that
    shape's bends; then, where the shape is no saddle, with the far end in its planned direction alone."""
    shapes = {piece.bends[item.number - 1].shape for item in rises}
    own = [n for n, bend in enumerate(piece.bends, 1) if bend.shape in shapes]
    foot = piece.bends[own[-1] - 1].arc_end_mm
    ways: tuple[Way, Way] = ("up", "left")
    held: list[Measured] = [LegLean(way=way, lean_rad=0.0) for way in ways]
    line: list[Measured] = [OffAt(way=way, off_mm=0.0, station_mm=s) for way in ways for s in (foot, None)]
    aims = [shown(piece, item) for item in (*held, *line)]
    missing, real = [-aim for aim in aims], list(aims)
    if len(own) == 4 and len(rises) == 1:  # a flat top stays flat: its other bend lies as much too high or too low
        other = ApexRise(rise_mm=0.0, number=own[2] if rises[0].number == own[1] else own[1])
        off = misfit(piece, rises[0])
        line, missing = [*line, other], [*missing, off - shown(task.now, other)]
        aims, real = [*aims, shown(piece, other)], [*real, shown(piece, other) + off]
    for right in ([*held, *line],) if _of_saddle(piece, rises[0]) else ([*held, *line], held):
        yield task._replace(
            measured=(*task.measured, *right),
            missing=(*task.missing, *missing[: len(right)]),
            scale=(*task.scale, *(tolerance_of(item, tolerance) for item in right)),
            real=(*task.real, *real[: len(right)]),
            aims=(*task.aims, *aims[: len(right)]),
            pool=tuple(m for m in task.pool if m.kind == "angle" and m.number in own),
            own=tuple(n for n in own if n not in task.read) if right is not held else (),
        )


def _least(task: Task, opening_limit_rad: float) -> TweakAnswer:
    """The least correction of a task. Raises LimitError where none within the limits will do."""
    base = left_after(task, ())
    roomiest: tuple[float, TweakAnswer] | None = None
    until = 0
    fits = worst_of(base) <= 1.0
    if fits:
        answer = _answer(task, ())
        if answer.short_mm == 0.0:
            return answer
        roomiest, until = (answer.short_mm, answer), _MORE_TRIED
    slope = slopes(task, task.pool)
    tried, short = 0, False
    refused: tuple[float, tuple[Move, ...]] | None = None
    nearest: tuple[float, tuple[Move, ...]] = (worst_of(base), ())
    for size, group in groups(task.pool, len(base) + 1):
        if (tried > until) if roomiest is not None else size > len(base):
            continue
        # half of what is left for each size, so that some of every size are tried
        part = task._replace(budget=task.budget.share(2))
        good: list[tuple[float, int, float, tuple[Move, ...]]] = []
        hopeful, count, whole = _hopeful(part, group, slope, base)
        tried, short = tried + count, short or not whole
        for linear in hopeful:
            if part.budget.spent:
                short = True
                break
            moves = solve(part, linear)
            if moves is None:
                continue
            worst = worst_of(left_after(part, moves))
            total = even(sum(abs(move.by_rad) for move in moves))
            if worst > 1.0:
                nearest = min(nearest, (worst, moves), key=lambda item: even(item[0]))
            elif not _within(moves, task.now, opening_limit_rad):
                refused = min((refused or (total, moves)), (total, moves), key=lambda item: even(item[0]))
            else:
                opened = sum(m.kind == "angle" and m.by_rad < 0.0 for m in moves)
                good.append((total, opened, end_moves(task, moves), moves))
        for *_, moves in sorted(good):
            if roomiest is not None and part.budget.spent:
                short = True
                break
            answer = _answer(part, moves)
            if fits and min((abs(move.by_rad) for move in answer.moves), default=0.0) < LEAST_MADE_RAD:
                continue
            if answer.short_mm == 0.0:
                return _said(answer, short)
            if roomiest is None:
                until = tried + _MORE_TRIED
            roomiest = min(
                roomiest or (answer.short_mm, answer), (answer.short_mm, answer), key=lambda one: even(one[0])
            )
        if task.budget.spent:
            break
    if roomiest is not None:
        return _said(roomiest[1], short)
    error = refusal(refused[1] if refused else None, _most_left(task, nearest[1]), opening_limit_rad)
    if short:
        error.hint = f"{error.hint}; of so many bends not all corrections were tried"
    raise error


def _said(answer: TweakAnswer, short: bool) -> TweakAnswer:
    """The answer, with what it says where the search was cut short."""
    return msgspec.structs.replace(answer, findings=(_CUT_SHORT,)) if short else answer


def _hopeful(
    task: Task, group: Iterator[tuple[Move, ...]], slope: Matrix, base: Row
) -> tuple[list[tuple[Move, ...]], int, bool]:
    """The linear answers of a group's combinations that are not far out, those that leave least first; how many
    combinations were tried, and whether these are all."""
    budget = task.budget.share(2)
    column = {move: [row[k] for row in slope] for k, move in enumerate(task.pool)}
    most = 4.0 + 0.2 * worst_of(base)
    found: list[tuple[float, int, tuple[Move, ...]]] = []
    tried = 0
    for chosen in group:
        if budget.spent:
            return [moves for *_, moves in sorted(found)], tried, False
        budget.take(_LINEAR_UNITS)
        tried += 1
        picked = [list(row) for row in zip(*(column[move] for move in chosen), strict=True)]
        x = least_norm(picked, [-value for value in base], 1e-7)
        left = [sum(a * b for a, b in zip(row, x, strict=True)) + r for row, r in zip(picked, base, strict=True)]
        worst = worst_of(left)
        if worst <= most and all(abs(value) <= MOST_CORRECTED_RAD for value in x):
            moves = tuple(move._replace(by_rad=value) for move, value in zip(chosen, x, strict=True))
            found.append((even(worst), tried, moves))
    return [moves for *_, moves in sorted(found)], tried, True


def _task(
    piece: BentPiece,
    measured: Sequence[Measured],
    hooks: tuple[HookEnd, ...],
    tolerance: Tolerance,
    pool: tuple[Move, ...],
    around: Surroundings,
) -> Task:
    if not measured:
        raise InputError(
            "nothing was measured, so there is nothing to correct.",
            hint="measure how far the far end is off, the rise at the apex, daylight under a leg, or an angle",
            field="measured",
        )
    for item in measured:
        check_measured(piece, item)
    read = [item for item in measured if isinstance(item, BendAngle)]
    now = corrected(piece, [Move(item.number, "angle", misfit(piece, item)) for item in read], hooks)
    numbers, budget = frozenset(item.number for item in read), Budget(CORRECTIONS)
    rest = tuple(item for item in measured if not isinstance(item, BendAngle))
    if not rest:
        wanted = walk(piece).end
        scale = (tolerance.length_mm,) * 3 + (tolerance.angle_rad,) * 2
        return Task(now, (), (), scale, wanted, hooks, pool, around, numbers, (), (), True, budget)
    # g(0) is what the corrected-for-angles model shows now, minus the misfit: what it should show
    missing = tuple(misfit(piece, item) - shown(now, item) for item in rest)
    scales = tuple(tolerance_of(item, tolerance) for item in rest)
    aims = tuple(shown(piece, item) for item in rest)
    real = tuple(aim + misfit(piece, item) for aim, item in zip(aims, rest, strict=True))
    return Task(now, rest, missing, scales, None, hooks, pool, around, numbers, real, aims, False, budget)


def _within(moves: Sequence[Move], now: BentPiece, opening_limit_rad: float) -> bool:
    for number, kind, by in moves:
        if kind == "angle" and (by < -opening_limit_rad - _TINY or by > CLOSING_LIMIT_RAD):
            return False
        if kind == "angle" and now.bends[number - 1].angle_rad + by <= 0.0:
            return False
        if kind == "roll" and abs(by) > ROLL_LIMIT_RAD:
            return False
    return True


def _answer(task: Task, exact: tuple[Move, ...]) -> TweakAnswer:
    moves = exact
    most = short_mm = task.short_mm(exact)
    for step, worst in _STEPS:
        moves = _rounded(exact, step)
        single = len(exact) == 1 and task.wanted is None
        if worst > 1.0 and not (single and moves):
            continue
        short_mm = most
        if worst_of(left_after(task, moves)) > worst:
            continue
        if moves != exact:
            short_mm = task.short_mm(moves)
        if short_mm <= most:
            break
    left_mm, left_rad = _left_over(task, moves)
    piece = corrected(task.now, moves, task.hooks)
    before, after = walk(task.now).end, walk(piece).end
    moved = sub(after.origin, before.origin)

    def along_way(way: Way) -> float:
        return dot(moved, way_vector(way, task.now, Frame()))

    return TweakAnswer(
        moves=moves,
        exact=exact,
        words=tuple(move_words(task.now, move, task.how) for move in moves),
        left_mm=left_mm,
        left_rad=left_rad,
        end_mm=(along_way("up"), along_way("left"), along_way("forward")),
        lean_rad=_between(before, after),
        now=task.now,
        piece=piece,
        told=task.told,
        short_mm=short_mm,
    )


def _left_over(task: Task, moves: tuple[Move, ...]) -> tuple[float, float]:
    """The furthest that a place stays off, with all ways together in which it was measured (mm), and by how much the
    last leg leans off, likewise (rad)."""
    places: dict[object, dict[object, float]] = {}
    lean: dict[object, float] = {}
    for k, (value, unit) in enumerate(zip(left_after(task, moves), task.scale, strict=True)):
        item = None if task.wanted is not None else task.measured[k]
        place = item.station_mm if isinstance(item, OffAt) else item
        ways = lean if _is_angle(task, k) else places.setdefault(place, {})
        way = k if item is None else getattr(item, "way", "up")
        ways[way] = max(ways.get(way, 0.0), abs(value) * unit)
    return max((hypot(*ways.values()) for ways in places.values()), default=0.0), hypot(*lean.values())


def _most_left(task: Task, moves: tuple[Move, ...]) -> Left:
    """What these moves leave where they leave most, in tolerances."""
    left = left_after(task, moves)
    k = max(range(len(left)), key=lambda i: (even(abs(left[i])), -i))
    return Left(abs(left[k]) * task.scale[k], task.scale[k], _is_angle(task, k))


def _is_angle(task: Task, k: int) -> bool:
    return k >= 3 if task.wanted is not None else isinstance(task.measured[k], LegLean)


def _between(before: Frame, after: Frame) -> float:
    turn = cross(before.axis, after.axis)
    return atan2(sqrt(dot(turn, turn)), dot(before.axis, after.axis))


def _rounded(moves: Sequence[Move], step: float) -> tuple[Move, ...]:
    if step == 0.0:
        return tuple(moves)
    rounded = (
        move._replace(by_rad=copysign(step * ceil(abs(move.by_rad) / step - 0.5), move.by_rad)) for move in moves
    )
    return tuple(move for move in rounded if move.by_rad != 0.0)
