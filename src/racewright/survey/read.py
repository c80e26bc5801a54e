"""From what is written to what was measured: lengths parsed, choices completed, contradictions refused."""

from __future__ import annotations

import re
from math import radians

from msgspec.structs import replace

from racewright.errors import InputError
from racewright.survey.model import (
    LEAST_TRAVEL_MM,
    Climate,
    EndFitting,
    Feature,
    HandAccuracy,
    KeepClear,
    Kick,
    Leg,
    Offset,
    Saddle,
    Survey,
    Turn,
    said_place,
)
from racewright.survey.written import (
    MeasuredTo,
    Written,
    WrittenBoxOffset,
    WrittenFeature,
    WrittenFitting,
    WrittenKick,
    WrittenObstacle,
    WrittenOffset,
    WrittenPart,
    WrittenSaddle,
    WrittenSurvey,
)
from racewright.units.angle import read_degrees
from racewright.units.factors import celsius
from racewright.units.length import parse_length
from racewright.units.number import read_number
from racewright.units.said import said_least
from racewright.units.tape import TapeStyle, TapeUnit, format_length, style_of

#: Bends flatter than this are no bends, and steeper ones no hand bender makes in one shot (common practice, no source).
LEAST_DEG, MOST_DEG = 1.0, 120.0


def read_survey(written: WrittenSurvey) -> Survey:
    """The survey in mm and radians. Raises InputError with the field's path for anything that makes no sense."""
    return _Reader(written).survey()


class _Reader:
    def __init__(self, written: WrittenSurvey) -> None:
        self.written = written
        self.unit: TapeUnit = written.units
        self.counts: dict[str, int] = {}

    def eg(self, inches: str, mm: str) -> str:
        """An example in the file's own unit."""
        return inches if self.unit == "in" else mm

    def length(self, value: Written, field: str, *, allow_zero: bool = True, allow_negative: bool = False) -> float:
        return float(parse_length(value, self.unit, field=field, allow_zero=allow_zero, allow_negative=allow_negative))

    def maybe(self, value: Written | None, field: str, *, allow_zero: bool = True) -> float | None:
        return None if value is None else self.length(value, field, allow_zero=allow_zero)

    def lengths(self, values: tuple[Written, ...], field: str) -> tuple[float, ...]:
        return tuple(self.length(v, f"{field}[{i}]", allow_zero=False) for i, v in enumerate(values))

    def accuracy(self) -> HandAccuracy:
        written, field = self.written.run.accuracy, "run.accuracy"
        return HandAccuracy(
            mark_mm=self.maybe(written.mark, f"{field}.mark"),
            angle_rad=self.spread(written.angle, f"{field}.angle"),
            roll_rad=self.spread(written.roll, f"{field}.roll"),
            cut_mm=self.maybe(written.cut, f"{field}.cut"),
        )

    def climate(self) -> Climate | None:
        written, field = self.written.run.climate, "run.climate"
        if written is None:
            return None
        lowest, highest, install = (
            self.temperature(value, f"{field}.{name}")
            for name, value in (("lowest", written.lowest), ("highest", written.highest), ("install", written.install))
        )
        if lowest >= highest:
            raise InputError.at(
                field,
                f"the lowest temperature ({written.lowest}) is not below the highest ({written.highest}).",
                hint="write both with a letter, for example lowest: -10 F, highest: 95 F",
            )
        read = Climate(lowest_c=lowest, highest_c=highest, install_c=install, in_sun=written.sun)
        travel = self.maybe(written.travel, f"{field}.travel", allow_zero=False)
        if travel is None:
            return read
        if travel < LEAST_TRAVEL_MM:
            raise InputError.at(
                f"{field}.travel",
                f"an expansion fitting that travels {written.travel} takes up less than any straight that wants one.",
                hint=f"write its maker's figure, for example {self.eg('4', '100')}; or leave it out for 4 in",
                expected=said_least(LEAST_TRAVEL_MM),
            )
        return replace(read, travel_mm=travel)

    def temperature(self, value: Written, field: str) -> float:
        """Degrees Celsius, from '35 C', '95 F' or a plain number in the file's own scale."""
        text = str(value).strip().upper().replace("°", "").strip()
        scale = text[-1:] if text[-1:] in ("C", "F") else ("F" if self.unit == "in" else "C")
        try:
            degrees = read_number(text.removesuffix("C").removesuffix("F"))
        except ValueError:
            degrees = float("nan")
        warmth_c = celsius(degrees) if scale == "F" else degrees
        if not -90.0 <= warmth_c <= 150.0:
            raise InputError.at(
                field,
                f"cannot take '{value}' as a temperature: it must lie from -90 to 150 °C (-130 to 302 °F).",
                hint="write it like -10 C or 95 F",
                expected="a temperature",
                example="95 F",
            )
        return warmth_c

    def spread(self, value: Written | None, field: str) -> float | None:
        """A spread in degrees, from 0 up to 20."""
        if value is None:
            return None
        hint = "1 means that two bends in three come out within 1 degree"
        return radians(
            read_degrees(str(value), least=0.0, most=20.0, field=field, what="a spread", hint=hint, example="1")
        )

    def angle(self, value: Written | None, field: str) -> float | None:
        if value is None or value == "auto":
            return None
        hint = "write degrees such as 30, 22.5 or 22 1/2, or auto"
        return radians(read_degrees(str(value), least=LEAST_DEG, most=MOST_DEG, field=field, hint=hint))

    def label(self, kind: str, name: str) -> str:
        self.counts[kind] = self.counts.get(kind, 0) + 1
        return name or f"{kind} {self.counts[kind]}"

    def survey(self) -> Survey:
        run = self.written.run
        if not run.name.strip():
            raise InputError.at("run.name", "the run has no name.", hint="name it by where it goes")
        kind, _, size = run.raceway.strip().partition(" ")
        swapped = re.fullmatch(r"([\d/ .-]+?)\s*(?:in|\")?\.?\s+([A-Za-z]\S*(?: \d+)?)", run.raceway.strip())
        if swapped:
            said = f"{swapped[2]} {swapped[1]}"
            raise InputError.at(
                "run.raceway",
                f"'{run.raceway}' begins with the size; the type comes first, then the trade size.",
                hint=f"write it like this: {said}",
                expected="type and trade size",
                example=said,
            )
        if not size.strip():
            raise InputError.at(
                "run.raceway",
                f"'{run.raceway}' does not say type and trade size.",
                hint="write both, for example: EMT 1/2",
                expected="type and trade size",
                example="EMT 1/2",
            )
        legs, turns = self.walk(run.walk)
        return Survey(
            name=run.name.strip(),
            tape=self.tape(),
            raceway_type=kind,
            trade_size=size.strip(),
            bender=run.bender,
            start=self.fitting(run.start, "run.start"),
            end=self.fitting(run.end, "run.end"),
            legs=legs,
            turns=turns,
            stand_off_mm=self.length(run.stand_off, "run.stand_off"),
            strap=run.strap,
            cut_after_bending=run.cut == "after",
            saddle_method=run.saddle_method,
            bend_radius_mm=self.maybe(run.bend_radius, "run.bend_radius", allow_zero=False),
            stock_mm=self.lengths(run.stock, "run.stock"),
            offcuts_mm=self.lengths(run.offcuts, "run.offcuts"),
            accuracy=self.accuracy(),
            wires=run.wires,
            climate=self.climate(),
            surface=run.surface,
            going=run.going,
            edition=self.written.edition,
        )

    def tape(self) -> TapeStyle:
        return style_of(self.unit, self.written.fraction)

    def fitting(self, written: WrittenFitting, field: str) -> EndFitting:
        return EndFitting(
            name=written.name,
            kind=written.fitting,
            insertion_mm=self.maybe(written.insertion, f"{field}.insertion"),
            height_mm=self.maybe(written.height, f"{field}.height", allow_zero=False),
            fixed=written.fixed,
        )

    def walk(self, parts: tuple[WrittenPart, ...]) -> tuple[tuple[Leg, ...], tuple[Turn, ...]]:
        if not parts:
            raise InputError.at(
                "run.walk",
                "the walk is empty.",
                hint=f"begin with a leg, for example: - leg: {self.eg('50 in', '1250 mm')}",
            )
        for index, part in enumerate(parts):
            field = f"run.walk[{index}]"
            is_leg, is_turn = part.leg is not None, part.turn is not None
            if is_leg == is_turn:
                raise InputError.at(
                    field,
                    f"a part is either a leg or a turn, and this is {'both' if is_leg else 'neither'}.",
                    hint=f"write '- leg: {self.eg('50 in', '1250 mm')}' or '- turn: right'",
                )
            if is_leg != (index % 2 == 0):
                raise InputError.at(
                    field,
                    f"legs and turns must take turns, and this {'leg' if is_leg else 'turn'} follows another.",
                    hint="begin and end with a leg; put a turn between two legs",
                )
        if len(parts) % 2 == 0:
            field = f"run.walk[{len(parts) - 1}]"
            raise InputError.at(field, "the walk ends with a turn.", hint="add the last leg after it")
        turns = tuple(self.turn(part, f"run.walk[{i}]") for i, part in enumerate(parts) if part.turn is not None)
        legs = tuple(
            self.leg(part, f"run.walk[{i}]", i // 2, first=i == 0, last=i == len(parts) - 1)
            for i, part in enumerate(parts)
            if part.leg is not None
        )
        return legs, turns

    def turn(self, part: WrittenPart, field: str) -> Turn:
        if part.features or part.start or part.to:
            raise InputError.at(
                field,
                "features, from and to belong to a leg, and this is a turn.",
                hint="move them to the leg before or after the turn",
            )
        angle = self.angle(part.angle, f"{field}.angle")
        assert part.turn is not None
        return Turn(
            field=field,
            way=part.turn,
            angle_rad=radians(90.0) if angle is None else angle,
            gap_mm=self.maybe(part.gap, f"{field}.gap"),
        )

    def leg(self, part: WrittenPart, field: str, number: int, *, first: bool, last: bool) -> Leg:
        assert part.leg is not None
        start: MeasuredTo = part.start or ("face" if first else "back")
        to: MeasuredTo = part.to or ("face" if last else "back")
        for name, value, at_fitting in (("from", start, first), ("to", to, last)):
            if (value in ("face", "stop")) != at_fitting:
                allowed = "face or stop" if at_fitting else "wall, back, center, inside or edge"
                place = "a fitting" if at_fitting else "a turn"
                raise InputError.at(
                    f"{field}.{name}",
                    f"'{said_place(value)}' does not go with {place}.",
                    hint=f"at {place} a leg is measured {name} {allowed}",
                    expected=allowed,
                    example="face" if at_fitting else "back",
                )
        if part.gap is not None:
            raise InputError.at(f"{field}.gap", "belongs to a turn.", hint="move it to the turn")
        features = tuple(self.feature(f, f"{field}.features[{i}]") for i, f in enumerate(part.features))
        self.in_order(features)
        return Leg(
            label=f"leg {number + 1}",
            field=field,
            length_mm=self.length(part.leg, f"{field}.leg", allow_zero=False),
            measured_from=start,
            measured_to=to,
            features=features,
            note=part.note,
        )

    def in_order(self, features: tuple[Feature, ...]) -> None:
        """Refuse bends that are not written in the order in which one meets them along the leg."""
        before: tuple[float, str] | None = None
        for feature in features:
            if isinstance(feature, KeepClear):
                continue
            if isinstance(feature, Saddle):
                at: float | None = feature.centre_mm
            elif isinstance(feature, Kick):
                at = feature.starts_at_mm
            else:
                at = next(
                    (v for v in (feature.starts_at_mm, feature.middle_at_mm, feature.done_by_mm) if v is not None), None
                )
            if at is None:
                continue
            if before is not None and at < before[0] - 1e-6:
                here, there = (format_length(value, self.tape()) for value in (at, before[0]))
                raise InputError.at(
                    feature.field,
                    f"{feature.label} at {here} is written after {before[1]} at {there}.",
                    hint="write the things on a leg in the order in which you meet them, walking along it",
                )
            before = (at, feature.label)

    def feature(self, written: WrittenFeature, field: str) -> Feature:
        given = [n for n in ("saddle", "offset", "box_offset", "kick", "keep_clear") if getattr(written, n) is not None]
        if len(given) != 1:
            raise InputError.at(
                field,
                f"one thing at a time, and this has {len(given)}.",
                hint="begin each thing met on a leg with its own dash: - saddle: ...",
            )
        if written.saddle is not None:
            return self.saddle(written.saddle, f"{field}.saddle")
        if written.offset is not None:
            return self.offset(written.offset, f"{field}.offset")
        if written.box_offset is not None:
            return self.box_offset(written.box_offset, f"{field}.box_offset")
        if written.kick is not None:
            return self.kick(written.kick, f"{field}.kick")
        assert written.keep_clear is not None
        return self.keep_clear(written.keep_clear, f"{field}.keep_clear")

    def saddle(self, w: WrittenSaddle, field: str) -> Saddle:
        sideways = w.toward in ("left", "right")
        size_name = "reach" if sideways else "height"
        size = w.reach if sideways else w.height
        thing = self.eg("2 in", "50 mm")
        if w.toward == "toward":
            raise InputError(
                f"{field}.toward: a saddle cannot go into the surface.", hint="away, left or right", field=field
            )
        if (w.rise is None) == (size is None):
            raise InputError.at(
                field,
                f"give {size_name} (the thing) or rise (the bare number), and not both.",
                hint=f"for a pipe of {thing} on the wall: over: round, {size_name}: {thing}",
                expected=f"{size_name} or rise",
                example=f"{size_name}: {thing}",
            )
        if (w.over == "square" or sideways) and w.rise is None and w.width is None:
            thing = "thing to the side" if sideways else "square thing"
            raise InputError.at(
                f"{field}.width",
                f"a {thing} needs its width along the run.",
                hint=f"add width: {self.eg('6 in', '150 mm')}",
                expected="a length",
                example=self.eg("6 in", "150 mm"),
            )
        self._no_room_for(w, field, sideways=sideways)
        height = self.maybe(w.height, f"{field}.height", allow_zero=False)
        width = self.maybe(w.width, f"{field}.width", allow_zero=False)
        clearance = self.written.run.clearance if w.clearance is None else w.clearance
        return Saddle(
            label=self.label("saddle", w.name),
            field=field,
            centre_mm=self.length(w.centre, f"{field}.centre"),
            over=w.over,
            height_mm=height,
            width_mm=width,
            lift_mm=0.0 if height is None else self.underside(w, height, width, field),
            reach_mm=self.maybe(w.reach, f"{field}.reach"),
            rise_mm=self.maybe(w.rise, f"{field}.rise", allow_zero=False),
            clearance_mm=self.length(clearance, f"{field}.clearance"),
            toward=w.toward,
            bends=w.bends,
            angle_rad=self.angle(w.angle, f"{field}.angle"),
        )

    def _one_place(self, field: str, **places: Written | None) -> None:
        given = [name for name, value in places.items() if value is not None]
        if len(given) != 1:
            names, there = ", ".join(places), self.eg("40 in", "1000 mm")
            raise InputError.at(
                field,
                f"say where it is by exactly one of {names}; "
                f"{f'{len(given)} are given' if given else 'none is given'}.",
                hint=f"done_by: {there} means that it has reached its new line at {there}",
                expected=f"one of {names}",
                example=f"done_by: {there}",
            )

    def offset(self, w: WrittenOffset, field: str) -> Offset:
        self._one_place(field, starts_at=w.starts_at, middle_at=w.middle_at, done_by=w.done_by)
        if w.rise is None and w.shift is None:
            raise InputError.at(
                field,
                "give rise (off the surface), shift (to a side), or both for a rolling offset.",
                hint=f"for example rise: {self.eg('4 in', '100 mm')}",
            )
        away = self.maybe(w.rise, f"{field}.rise", allow_zero=False) or 0.0
        left = self.maybe(w.shift, f"{field}.shift", allow_zero=False) or 0.0
        return Offset(
            label=self.label("offset" if w.rise is None or w.shift is None else "rolling offset", w.name),
            field=field,
            away_mm=-away if w.toward == "toward" else away,
            left_mm=-left if w.side == "right" else left,
            starts_at_mm=self.maybe(w.starts_at, f"{field}.starts_at"),
            middle_at_mm=self.maybe(w.middle_at, f"{field}.middle_at"),
            done_by_mm=self.maybe(w.done_by, f"{field}.done_by"),
            angle_rad=self.angle(w.angle, f"{field}.angle"),
            box=False,
        )

    def box_offset(self, w: WrittenBoxOffset, field: str) -> Offset:
        self._one_place(field, starts_at=w.starts_at, done_by=w.done_by)
        rise = self.maybe(w.rise, f"{field}.rise", allow_zero=False)
        return Offset(
            label=self.label("box offset", w.name),
            field=field,
            away_mm=-rise if rise is not None and w.toward == "toward" else rise,
            left_mm=0.0,
            starts_at_mm=self.maybe(w.starts_at, f"{field}.starts_at"),
            middle_at_mm=None,
            done_by_mm=self.maybe(w.done_by, f"{field}.done_by"),
            angle_rad=self.angle(w.angle, f"{field}.angle"),
            box=True,
        )

    def kick(self, w: WrittenKick, field: str) -> Kick:
        self._one_place(field, starts_at=w.starts_at, angle=w.angle)
        return Kick(
            label=self.label("kick", w.name),
            field=field,
            rise_mm=self.length(w.rise, f"{field}.rise", allow_zero=False),
            toward=w.toward,
            starts_at_mm=self.maybe(w.starts_at, f"{field}.starts_at"),
            angle_rad=self.angle(w.angle, f"{field}.angle"),
        )

    def _no_room_for(self, w: WrittenSaddle, field: str, *, sideways: bool) -> None:
        """Refuse a saddle's readings that say nothing about it, so that none is dropped silently."""
        if sideways:
            unused, why = {"height": w.height, "lift": w.lift}, "a saddle to the side is measured by reach"
        elif w.rise is not None:
            unused = {"reach": w.reach, "lift": w.lift} | ({} if w.bends == "4" else {"width": w.width})
            why = "a bare rise is bent as it is, whatever stands below (with bends: 4, width is the straight on top)"
        else:
            unused, why = {"reach": w.reach}, "reach belongs to a saddle to the left or right"
        for name, value in unused.items():
            if value is not None:
                raise InputError.at(
                    f"{field}.{name}", f"{value} is written, but {why}.", hint=f"leave {name} out, or check toward"
                )

    def underside(
        self, w: WrittenSaddle | WrittenObstacle, height_mm: float, width_mm: float | None, field: str
    ) -> float:
        """How far a thing's underside stands off the surface. A round thing is as tall as it is wide: where width and
        lift are both written they must agree within a tape fraction, and the larger thing is kept clear of."""
        lift = self.maybe(w.lift, f"{field}.lift")
        if lift is not None and lift >= height_mm:
            raise InputError.at(
                f"{field}.lift",
                f"the underside ({w.lift}) must be lower than the top ({w.height}).",
                hint="lift is how far its underside stands off the surface",
            )
        if w.over == "square" or width_mm is None:
            return lift or 0.0
        follows = height_mm - width_mm
        if lift is None:
            return follows
        tape = self.tape()
        if abs(lift - follows) > float(tape.step_mm) + 1e-9:
            raise InputError.at(
                f"{field}.lift",
                f"a round thing of {format_length(width_mm, tape)} with its top at"
                f" {format_length(height_mm, tape)} cannot have its underside at {format_length(lift, tape)}.",
                hint=f"top less width is {format_length(follows, tape)}: check height, width and lift, leave lift out,"
                " or take over: square",
                expected="height less width",
                example=f"lift: {format_length(max(follows, 0.0), tape)}",
            )
        return min(lift, follows)

    def keep_clear(self, w: WrittenObstacle, field: str) -> KeepClear:
        clearance = self.written.run.clearance if w.clearance is None else w.clearance
        height = self.length(w.height, f"{field}.height", allow_zero=False)
        width = self.length(w.width, f"{field}.width", allow_zero=False)
        return KeepClear(
            label=self.label("obstacle", w.name),
            field=field,
            centre_mm=self.length(w.centre, f"{field}.centre"),
            over=w.over,
            height_mm=height,
            width_mm=width,
            lift_mm=self.underside(w, height, width, field),
            side_mm=self.length(w.side, f"{field}.side", allow_negative=True),
            depth_mm=self.length(w.depth, f"{field}.depth", allow_zero=False),
            clearance_mm=self.length(clearance, f"{field}.clearance"),
        )
