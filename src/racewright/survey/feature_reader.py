"""What is met on a leg, from what is written: saddles, offsets, kicks, things to keep clear of."""

from __future__ import annotations

from racewright.errors import InputError
from racewright.survey.field_reader import FieldReader
from racewright.survey.model import Feature, KeepClear, Kick, Offset, Saddle
from racewright.survey.written import (
    Written,
    WrittenBoxOffset,
    WrittenFeature,
    WrittenKick,
    WrittenObstacle,
    WrittenOffset,
    WrittenSaddle,
)
from racewright.units.tape import format_length


class FeatureReader(FieldReader):
    """Reads the things that are met on a leg; readings that contradict each other or say nothing are refused."""

    def feature(self, written: WrittenFeature, field: str) -> Feature:
        """One thing that is met on a leg."""
        given = [n for n in ("saddle", "offset", "box_offset", "kick", "keep_clear") if getattr(written, n) is not None]
        if len(given) != 1:
            raise InputError.at(
                field,
                f"one thing at a time, and this has {len(given)}.",
                hint="begin each thing met on a leg with its own dash: - saddle: ...",
            )
        if written.saddle is not None:
            return self._saddle(written.saddle, f"{field}.saddle")
        if written.offset is not None:
            return self._offset(written.offset, f"{field}.offset")
        if written.box_offset is not None:
            return self._box_offset(written.box_offset, f"{field}.box_offset")
        if written.kick is not None:
            return self._kick(written.kick, f"{field}.kick")
        assert written.keep_clear is not None
        return self._keep_clear(written.keep_clear, f"{field}.keep_clear")

    def _saddle(self, w: WrittenSaddle, field: str) -> Saddle:
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
            lift_mm=0.0 if height is None else self._underside(w, height, width, field),
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

    def _offset(self, w: WrittenOffset, field: str) -> Offset:
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

    def _box_offset(self, w: WrittenBoxOffset, field: str) -> Offset:
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

    def _kick(self, w: WrittenKick, field: str) -> Kick:
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

    def _underside(
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

    def _keep_clear(self, w: WrittenObstacle, field: str) -> KeepClear:
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
            lift_mm=self._underside(w, height, width, field),
            side_mm=self.length(w.side, f"{field}.side", allow_negative=True),
            depth_mm=self.length(w.depth, f"{field}.depth", allow_zero=False),
            clearance_mm=self.length(clearance, f"{field}.clearance"),
        )
