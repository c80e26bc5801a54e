"""From what is written to what was measured: lengths parsed, choices completed, contradictions refused."""

from __future__ import annotations

import re
from math import radians

from msgspec.structs import replace

from racewright.errors import InputError
from racewright.survey.feature_reader import FeatureReader
from racewright.survey.model import (
    LEAST_TRAVEL_MM,
    Climate,
    EndFitting,
    Feature,
    HandAccuracy,
    KeepClear,
    Kick,
    Leg,
    Saddle,
    Survey,
    Turn,
    said_place,
)
from racewright.survey.written import (
    MeasuredTo,
    WrittenFitting,
    WrittenPart,
    WrittenSurvey,
)
from racewright.units.said import said_least
from racewright.units.tape import format_length


def read_survey(written: WrittenSurvey) -> Survey:
    """The survey in mm and radians. Raises InputError with the field's path for anything that makes no sense."""
    return _Reader(written).survey()


class _Reader(FeatureReader):
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
        scale = self.scale(written.install)
        read = Climate(lowest_c=lowest, highest_c=highest, install_c=install, in_sun=written.sun, scale=scale)
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
            coupled=run.coupled,
            accuracy=self.accuracy(),
            wires=run.wires,
            climate=self.climate(),
            surface=run.surface,
            going=run.going,
            edition=self.written.edition,
        )

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
