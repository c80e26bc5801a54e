"""Before the first bend: how far off the far end is likely to land, and which step is worth most care.

Notation
    S       covariance of the steps (diagonal: each mark, angle, roll and the cut errs on its own)
    J       move and turn of end B for each step, from `jacobian`
    Sigma   covariance of end B, J S J^T
"""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees, sqrt

import msgspec

from racewright.bends.model import BentPiece
from racewright.fit.accuracy import OPEN_END, Accuracy, Capture
from racewright.fit.chance import disc_chance, joint_chance, slab_chance
from racewright.fit.jacobian import Column, end_columns, walk
from racewright.geometry.linalg import Matrix, principal
from racewright.geometry.vector import cross, dot, even
from racewright.tools.benders import HookEnd
from racewright.units.tape import TapeStyle, format_length

_INCHES = TapeStyle()
#: Of the scatter: a step that adds less is not told (our own choice).
_WORTH_TELLING = 0.05


class StepShare(msgspec.Struct, frozen=True, kw_only=True):
    """One step's part of the far end's scatter: `sd_mm` is what it alone would make, `share` its part of the
    whole (0..1, of the variance of the end's position)."""

    step: str
    kind: str
    number: int
    sd_mm: float
    share: float


class Forecast(msgspec.Struct, frozen=True, kw_only=True):
    """Where end B will land, with end A held in its fitting. Spreads are standard deviations, first order.

    `along_mm` in the direction of the last leg; `across_most_mm` and `across_least_mm` sideways in the two
    principal directions, `across_turn_rad` the roll of the first of them; `angle_most_rad`, `angle_least_rad` the
    lean of the last leg. `chance` that it enters the fitting as `capture` allows, `chance_across`,
    `chance_along`, `chance_angle` each condition alone. `by_step` falls in order of its share, `by_kind` sums it.
    """

    along_mm: float
    across_most_mm: float
    across_least_mm: float
    across_turn_rad: float
    angle_most_rad: float
    angle_least_rad: float
    chance: float
    chance_across: float
    chance_along: float
    chance_angle: float
    by_kind: dict[str, float]
    by_step: tuple[StepShare, ...]
    capture: Capture
    words: str


def forecast(
    piece: BentPiece,
    accuracy: Accuracy | None = None,
    capture: Capture | None = None,
    *,
    hooks: Sequence[HookEnd] = (),
    first: int = 1,
    open_end: bool = False,
    tape: TapeStyle = _INCHES,
) -> Forecast:
    """How well end B will land for a hand of this accuracy (JCGM 100:2008, first-order propagation).

    `hooks` says which end each bend's hook faces (all 'A' unless told): the tangent point on the hook side stays
    where the mark puts it when the angle errs. Each plane is sighted on bend `first` (from 1 along the conduit), which
    is made first, or on the line drawn along the conduit then; the piece is rotated in its fitting until that one is
    right. The tape stays hooked on end A. `open_end`: no fitting stands at end B, and no chance to fit one is told; the
    figures then say how likely it comes within what such an end may be off. `tape`: how `words` shows lengths.
    """
    columns = end_columns(piece, hooks, first=first)
    rows = _local(piece, columns)
    sigma = _spreads(columns, accuracy or Accuracy())
    # JCGM 100:2008, 5.1.2 eq. (10), and for several outputs the same law in matrix form (JCGM 102:2011, 6.2)
    cov = [[sum(r[i] * r[j] * s * s for r, s in zip(rows, sigma, strict=True)) for j in range(5)] for i in range(5)]
    wide = capture or (OPEN_END if open_end else Capture())
    return _report(cov, columns, rows, sigma, wide, first, tape, open_end=open_end)


def scatter_mm(piece: BentPiece, accuracy: Accuracy) -> float:
    """`across_most_mm` of the forecast alone: marked from end A, hook toward it, mark 1 made first."""
    columns = end_columns(piece, (), first=1)
    rows = _local(piece, columns)
    sigma = _spreads(columns, accuracy)

    def cov(i: int, j: int) -> float:
        return sum(r[i] * r[j] * s * s for r, s in zip(rows, sigma, strict=True))

    return sqrt(principal(cov(0, 0), cov(0, 1), cov(1, 1))[0])


def _spreads(columns: Sequence[Column], accuracy: Accuracy) -> list[float]:
    sd = {"mark": accuracy.mark_mm, "angle": accuracy.angle_rad, "roll": accuracy.roll_rad, "cut": accuracy.cut_mm}
    return [sd[column.kind] for column in columns]


def _local(piece: BentPiece, columns: Sequence[Column]) -> list[tuple[float, ...]]:
    """Each column in the far end's own axes: across 1, across 2, lean 1, lean 2, along."""
    frame = walk(piece).end
    out: list[tuple[float, ...]] = []
    for column in columns:
        lean = cross(column.turn, frame.axis)
        out.append(
            (
                dot(column.move, frame.normal),
                dot(column.move, frame.binormal),
                dot(lean, frame.normal),
                dot(lean, frame.binormal),
                dot(column.move, frame.axis),
            )
        )
    return out


def _report(
    cov: Matrix,
    columns: Sequence[Column],
    rows: Sequence[tuple[float, ...]],
    sigma: Sequence[float],
    capture: Capture,
    first: int,
    tape: TapeStyle,
    *,
    open_end: bool,
) -> Forecast:
    most, least, turn = principal(cov[0][0], cov[0][1], cov[1][1])
    lean_most, lean_least, _ = principal(cov[2][2], cov[2][3], cov[3][3])
    across = disc_chance(sqrt(most), sqrt(least), capture.across_mm)
    angle = disc_chance(sqrt(lean_most), sqrt(lean_least), capture.angle_rad)
    along = slab_chance(0.0, sqrt(cov[4][4]), capture.along_mm)
    together = joint_chance(cov, capture.across_mm, capture.along_mm, capture.angle_rad)
    floor, ceiling = across * angle * along, min(across, angle, along)
    steps = _shares(columns, rows, sigma)
    kinds: dict[str, float] = {}
    for step in steps:
        kinds[step.kind] = kinds.get(step.kind, 0.0) + step.share
    chance = min(max(together, floor), ceiling)
    return Forecast(
        along_mm=sqrt(cov[4][4]),
        across_most_mm=sqrt(most),
        across_least_mm=sqrt(least),
        across_turn_rad=turn,
        angle_most_rad=sqrt(lean_most),
        angle_least_rad=sqrt(lean_least),
        chance=chance,
        chance_across=across,
        chance_along=along,
        chance_angle=angle,
        by_kind=kinds,
        by_step=steps,
        capture=capture,
        words=_words(steps, None if open_end else chance, (sqrt(most), sqrt(cov[4][4]), sqrt(lean_most)), first, tape),
    )


def _shares(
    columns: Sequence[Column], rows: Sequence[tuple[float, ...]], sigma: Sequence[float]
) -> tuple[StepShare, ...]:
    spread = [(row[0] ** 2 + row[1] ** 2 + row[4] ** 2) * sd * sd for row, sd in zip(rows, sigma, strict=True)]
    whole = sum(spread)
    out = [
        StepShare(
            step=column.step,
            kind=column.kind,
            number=column.number,
            sd_mm=sqrt(value),
            share=value / whole if whole > 0.0 else 0.0,
        )
        for column, value in zip(columns, spread, strict=True)
    ]
    return tuple(sorted(out, key=lambda step: -even(step.share)))


_CARE = {
    "mark": "measure it twice and make the mark with a sharp point",
    "angle": "read it with a level after letting go, not by eye on the shoe",
    "roll": "sight it against mark {}, which is bent first, or lay a level across, before bending",
    "cut": "cut it last, after holding the bent piece in place",
}


def _words(
    steps: Sequence[StepShare], chance: float | None, sd: tuple[float, float, float], first: int, tape: TapeStyle
) -> str:
    """`chance` None: there is no fitting to fit. `sd`: sideways, lengthwise (mm), leaning (rad)."""
    fits = "" if chance is None else f"{chance_words(chance)} chance that it fits uncorrected. "
    head = f"{fits}{_lands(*sd, tape)}"
    if not steps or steps[0].share <= 0.0:
        return head
    return f"{head} Watch most: {_watch(steps[0], first)}."


def chance_words(chance: float) -> str:
    """'37 %'."""
    return f"{chance * 100.0:.0f} %"


def lands_words(told: Forecast, tape: TapeStyle) -> str:
    """Within what the far end lands two times in three."""
    return _lands(told.across_most_mm, told.along_mm, told.angle_most_rad, tape)


def watch_words(told: Forecast, first: int, most: int = 3) -> tuple[str, ...]:
    """The steps that are worth most care, the first most: what each adds to the scatter, and what to do at it. A step
    that adds less than a twentieth is not told. `first`: the mark that is bent first."""
    return tuple(_watch(step, first) for step in told.by_step[:most] if step.share >= _WORTH_TELLING)


def _lands(across_mm: float, along_mm: float, lean_rad: float, tape: TapeStyle) -> str:
    return (
        f"Two times in three the far end lands within {format_length(across_mm, tape)} in its worst direction sideways "
        f"and {format_length(along_mm, tape)} lengthwise, leaning {degrees(lean_rad):.1f}°."
    )


def _watch(step: StepShare, first: int) -> str:
    return f"the {step.step} ({step.share * 100.0:.0f} % of the scatter): {_CARE[step.kind].format(first)}"
