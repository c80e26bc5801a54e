"""Rules of the raceway itself: bends between pull points, bend radius, sizes, couplings, and what the hand must do.

Notation (lengths mm, angles radians)
    total    sum of bend angles between two neighbouring pull points
    R        centreline radius of a bend, against the least radius of Chapter 9 Table 2
Every check answers with findings that carry article and edition. None of them is an approval: local code, the
authority having jurisdiction and a licensed person decide.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import degrees, tau

import msgspec

from racewright.catalogue.raceways import Raceway
from racewright.codebook.edition import Edition, cited
from racewright.errors import Finding
from racewright.route.run_line import RunShape, arc_spans, sections
from racewright.sticks.model import HAND_MM, SHORT_MM
from racewright.units.tape import TapeStyle
from racewright.units.tape import format_length as _show

PRACTICE = "common practice, no source"
#: A bend may be this much under the tabled radius before it counts: what a shoe's own radius is known to.
_RADIUS_ROUNDING_MM = 0.1
_ANGLE_ROUNDING_RAD = 1e-6
_LENGTH_ROUNDING_MM = 1e-3
#: Straight that a connector or coupling wants before a bend starts, mm (common practice, no source).
_END_STRAIGHT_MM = 50.8


class ArticleRow(msgspec.Struct, frozen=True, kw_only=True):
    """Article numbers of one raceway type and the least and greatest metric designator that it permits."""

    degrees: str
    radius: str
    ream: str
    size: str
    md_least: int
    md_greatest: int
    bushing: str
    ground_path: str
    standing: str


def articles(raceway: Raceway, edition: Edition) -> ArticleRow | None:
    """The articles of this raceway's type, or None for a type that the tables do not hold."""
    row = edition.find("raceway_articles", "type", raceway.family)
    return None if row is None else row.read(ArticleRow)


def check_raceway(
    shape: RunShape,
    tape: TapeStyle = TapeStyle(),  # noqa: B008
    *,
    edition: Edition,
) -> tuple[Finding, ...]:
    """All findings on the raceway and its bends; `tape` says how messages write lengths."""
    row = articles(shape.raceway, edition)
    if row is None:
        return (
            Finding(
                rule="run.type",
                severity="caution",
                message=f"No rules are stored for raceway type {shape.raceway.type}: nothing was checked.",
                citation=edition.name,
            ),
        )
    return (
        *_size(shape.raceway, row, edition),
        *_total_degrees(shape, row, edition, tape),
        *_radii(shape, row, edition, tape),
        *_couplings(shape, tape),
        *_short_pieces(shape, tape),
        *_end_straights(shape, tape),
        *_reminders(shape, row, edition),
    )


def degrees_between_pull_points(shape: RunShape) -> tuple[float, ...]:
    """Sum of the bends' degrees in each section between neighbouring pull points."""
    out = []
    for a, b in sections(shape):
        inside = (t for t in shape.turns if a <= t.arc_start_mm + t.radius_mm * t.angle_rad / 2.0 < b)
        out.append(degrees(sum(t.angle_rad for t in inside)))
    return tuple(out)


def _size(raceway: Raceway, row: ArticleRow, book: Edition) -> Iterator[Finding]:
    if not row.md_least <= raceway.metric_designator <= row.md_greatest:
        small = raceway.metric_designator < row.md_least
        yield Finding(
            rule="run.size",
            severity="problem",
            message=f"{raceway.name} is {'smaller' if small else 'larger'} than the article permits.",
            **cited(f"{book.name} {row.size}", row.standing),
            measured=float(raceway.metric_designator),
            allowed=float(row.md_least if small else row.md_greatest),
            unit="metric designator",
        )


def _total_degrees(shape: RunShape, row: ArticleRow, book: Edition, tape: TapeStyle) -> Iterator[Finding]:
    spans = sections(shape)
    for (a, b), total in zip(spans, degrees_between_pull_points(shape), strict=True):
        if total <= degrees(tau + _ANGLE_ROUNDING_RAD):
            continue
        yield Finding(
            rule="run.degrees",
            severity="problem",
            message=f"{total:.4g} degrees of bends between pull points; the most is 360. A conduit body or box at "
            f"some place in between, or flatter bends, would bring it down.",
            **cited(f"{book.name} {row.degrees}", row.standing),
            where=f"{_show(a, tape)} to {_show(b, tape)}" if len(spans) > 1 else "",
            measured=total,
            allowed=360.0,
            unit="deg",
        )


def _radii(shape: RunShape, row: ArticleRow, book: Edition, tape: TapeStyle) -> Iterator[Finding]:
    raceway = shape.raceway
    kind = raceway.family
    # EMT goes by the one-shot column whatever bends it, RMC and IMC on a full shoe; PVC by the other (the stricter).
    least = raceway.field_radius_mm
    standing = raceway.least_radius_other_standing if kind == "PVC" else raceway.least_radius_standing
    if least is None:
        return
    wider = "A larger form or an elbow" if kind == "PVC" else "A larger shoe or several shots"
    for name, turn in zip(_names(shape, tape), shape.turns, strict=True):
        if turn.angle_rad > 0.0 and turn.radius_mm < least - _RADIUS_ROUNDING_MM:
            yield Finding(
                rule="run.radius",
                severity="problem",
                message=f"The bend at {name} has a centerline radius of {_show(turn.radius_mm, tape)}; "
                f"{raceway.name} wants {_show(least, tape)} at least. {wider} would give it.",
                **cited(f"{book.name} {row.radius}, Chapter 9 Table 2", standing),
                where=name,
                measured=turn.radius_mm,
                allowed=least,
                unit="mm",
            )


def _couplings(shape: RunShape, tape: TapeStyle) -> Iterator[Finding]:
    for station, half, *_ in shape.couplings:
        for bend, (a, b) in zip(_names(shape, tape), arc_spans(shape), strict=True):
            gap = max(a - station, station - b)
            if gap < 0.0:
                yield Finding(
                    rule="run.coupling",
                    severity="problem",
                    message=f"A coupling lies inside the bend at {bend}: the joint cannot be bent. Move the joint at"
                    f" least {_show(-gap, tape)}.",
                    citation=PRACTICE,
                    where=bend,
                    measured=gap,
                    allowed=0.0,
                    unit="mm",
                )
            elif gap < _END_STRAIGHT_MM:
                yield _close("run.coupling", f"the coupling at {_show(station, tape)}", bend, gap, tape)
            elif gap - half < HAND_MM - _LENGTH_ROUNDING_MM:
                yield Finding(
                    rule="run.coupling",
                    severity="info",
                    message=f"The coupling at {_show(station, tape)} stands {_show(gap - half, tape)} from the bend at"
                    f" {bend}; a hand's width ({_show(HAND_MM, tape)}) is wanted to hold it. No better place was"
                    " found.",
                    citation=PRACTICE,
                    where=bend,
                    measured=gap - half,
                    allowed=HAND_MM,
                    unit="mm",
                )


def _short_pieces(shape: RunShape, tape: TapeStyle) -> Iterator[Finding]:
    """Pieces between joints that are hard to hold, by their cut lengths."""
    edges = [(0.0, 0.0)]
    edges += [(c.at_mm - 0.5 * c.gap_mm, c.at_mm + 0.5 * c.gap_mm) for c in shape.couplings]
    edges.append((shape.length_mm, shape.length_mm))
    for (_, low), (high, _) in pairwise(edges if shape.couplings else ()):
        if high - low < SHORT_MM - _LENGTH_ROUNDING_MM:
            yield Finding(
                rule="run.short_piece",
                severity="info",
                message=f"The piece from {_show(low, tape)} to {_show(high, tape)} is only {_show(high - low, tape)}"
                f" long; under {_show(SHORT_MM, tape)} it is hard to hold. No better place was found for its joints.",
                citation=PRACTICE,
                where=f"{_show(low, tape)} to {_show(high, tape)}",
                measured=high - low,
                allowed=SHORT_MM,
                unit="mm",
            )


def _end_straights(shape: RunShape, tape: TapeStyle) -> Iterator[Finding]:
    stops = [("end A", 0.0), ("end B", shape.length_mm)]
    stops += [(f"the pull point at {_show(s, tape)}", s) for s in shape.pull_points_mm]
    for name, station in stops:
        for bend, (a, b) in zip(_names(shape, tape), arc_spans(shape), strict=True):
            gap = max(a - station, station - b)
            if gap < _END_STRAIGHT_MM - 1e-9:
                yield _close("run.end_straight", name, bend, gap, tape)


def _names(shape: RunShape, tape: TapeStyle) -> tuple[str, ...]:
    """What to call each bend: its mark, or where it begins along the run."""
    return shape.bend_names or tuple(_show(turn.arc_start_mm, tape) for turn in shape.turns)


def _close(rule: str, name: str, bend: str, gap_mm: float, tape: TapeStyle) -> Finding:
    return Finding(
        rule=rule,
        severity="caution",
        message=f"The bend at {bend} leaves {_show(max(0.0, gap_mm), tape)} of straight at {name}; a fitting wants"
        f" about {_show(_END_STRAIGHT_MM, tape)} to seat square.",
        citation=PRACTICE,
        where=bend,
        measured=gap_mm,
        allowed=_END_STRAIGHT_MM,
        unit="mm",
    )


def _reminders(shape: RunShape, row: ArticleRow, book: Edition) -> Iterator[Finding]:
    def note(rule: str, message: str, article: str) -> Finding:
        return Finding(rule=rule, severity="info", message=message, **cited(f"{book.name} {article}", row.standing))

    kind = shape.raceway.family
    if kind == "PVC":
        yield note("run.ream", "Take the burrs off both edges of every cut, inside and out.", row.ream)
        if shape.turns:
            yield note(
                "run.pvc_bends", "Bend it in the field only with equipment that is marked for PVC conduit.", row.radius
            )
    else:
        yield note("run.ream", "Ream every cut end before it is joined.", row.ream)
    if "box" in (shape.start, shape.end):
        edge = "Wires of 4 AWG and thicker want a rounded or insulated edge where they come out (300.4(G))."
        own = "" if kind == "EMT" else "A bushing at the box, where box and fitting leave a bare edge to the wires. "
        yield note("run.bushing", own + edge, row.bushing)
    if row.ground_path:
        yield note("run.ground_path", "The metal conduit grounds only with every joint made up tight.", row.ground_path)
    yield note("run.complete", "The whole run between pull points stands before wire goes in.", "300.18(A)")
