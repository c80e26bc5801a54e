"""Walk the survey: legs, turns and features become corner points in the room, every reading taken to the axis.

Notation (mm, radians)
  D   outside diameter         R   centreline radius
  h, n, l   heading, surface normal, left: l = n x h (facing h with the surface underfoot)
  x   plan distance along h from the leg's first corner point; the tape's zero lies at x0
  a, b   how far the axis stands off the leg's first line: away from the surface, and to the left
  outer lines of two straights at a turn of angle A meet D/2 tan(A/2) beyond the axes' corner: the back of the bend
"""

from __future__ import annotations

from math import atan2, cos, hypot, isclose, pi, tan

from racewright.bends import roles
from racewright.bends.shape import tangent_to_point
from racewright.catalogue.raceways import Raceway
from racewright.errors import Finding, InputError, LimitError, about
from racewright.geometry.solids import Obstacle
from racewright.geometry.vector import EX, EZ, Vec, add, along, cross, dot, norm, rotate, scale, unit
from racewright.route.choose import choose_offset_angle, place_saddle
from racewright.route.model import BendLimits, Corner, Crossing, Dimension, PlacedObstacle, Route, RoutedShape
from racewright.route.readings import RIGHT_ANGLE, corner_x_mm, gap_mm, zero_x_mm
from racewright.route.surface import GIVE_MM, SPRUNG_MM, LegSurface, box_offset_ends, box_rise_mm, lying_spans
from racewright.route.things import LegLine, column, crossing, keep_clear
from racewright.survey.model import KeepClear, Kick, Leg, Offset, Saddle, Survey, Turn
from racewright.units.said import said_least
from racewright.units.tape import format_length


def route_survey(
    survey: Survey, raceway: Raceway, limits: BendLimits, *, insert_a_mm: float, insert_b_mm: float
) -> Route:
    """The path of a survey for a conduit and the radius and straight that the bender needs (`limits`).

    `insert_*_mm`: how far the conduit goes into each end's fitting past its face. Raises InputError where readings
    contradict each other, LimitError where a feature has no room.
    """
    return _Walk(survey, raceway, limits, insert_a_mm, insert_b_mm).route()


class _Walk:
    def __init__(self, survey: Survey, raceway: Raceway, limits: BendLimits, ins_a: float, ins_b: float) -> None:
        self.survey = survey
        self.half = raceway.outside_diameter_mm / 2.0
        self.limits = limits
        self.radius = limits.radius_mm
        self.ins_a, self.ins_b = ins_a, ins_b
        self.strap_height = survey.stand_off_mm + self.half
        self.height = self.strap_height if survey.start.height_mm is None else survey.start.height_mm
        self.line = LegLine((0.0, 0.0, self.height), EX, EZ)
        self.corners: list[Corner] = []
        self.obstacles: list[PlacedObstacle] = []
        self.shapes: list[RoutedShape] = []
        self.dimensions: list[Dimension] = []
        self.findings: list[Finding] = []
        self.surfaces: list[tuple[Vec, Vec]] = [((0.0, 0.0, 0.0), EZ)]
        self.carriers = [LegSurface(0, (0.0, 0.0, 0.0), EZ, outside=False)]
        self.box_ends = box_offset_ends(survey)
        self.start_met = isclose(self.height, self.strap_height, abs_tol=GIVE_MM)
        self.a = self.b = 0.0
        self.x0 = self.base_x = 0.0
        self.slope: tuple[float, float] = (0.0, 0.0)
        self.last_x, self.last_name = -self.ins_a, "end A"

    # --- the walk -------------------------------------------------------------------------------------------------

    def route(self) -> Route:
        survey = self.survey
        start_x = -self.ins_a if survey.legs[0].measured_from == "face" else 0.0
        start = along(self.line.origin, self.line.heading, start_x)
        self.base_x = start_x
        end = start
        for index, leg in enumerate(survey.legs):
            turn = survey.turns[index] if index < len(survey.turns) else None
            end_x = self._leg_end(leg, turn)
            self._features(leg, end_x, turn)
            if index == 0 and not self.start_met:
                self._height_finding("start", self.height)
            if turn is None:
                with about(leg.field):
                    end = self._finish(leg, end_x)
            else:
                with about(turn.field):
                    self._turn(leg, turn, end_x, index)
        points = (start, *(c.point for c in self.corners), end)
        return Route(
            start=start,
            end=end,
            corners=tuple(self.corners),
            obstacles=tuple(self.obstacles),
            shapes=tuple(self.shapes),
            dimensions=tuple(self.dimensions),
            findings=tuple(self.findings),
            surfaces=tuple(self.surfaces),
            lies=lying_spans(points, self.carriers, self.strap_height),
        )

    def _length(self, value_mm: float) -> str:
        return format_length(value_mm, self.survey.tape)

    def _leg_end(self, leg: Leg, turn: Turn | None) -> float:
        """x of the axes' corner at the leg's end (or of the face or stop of the end fitting)."""
        x = self.x0 + leg.length_mm
        self._leg_dimension(leg, x, last=turn is None)
        return x if turn is None else corner_x_mm(leg, turn, x, self.half, self.survey)

    def _leg_dimension(self, leg: Leg, end_x: float, *, last: bool) -> None:
        span, to = leg.span_words
        if last and self.survey.end.kind == "none" and leg.measured_to == "face":  # no fitting whose face it would be
            to = "end B" if len(self.survey.legs) == 1 else f"end B, from {span}"
        self.dimensions.append(
            Dimension(
                start=self.line.place(self.x0),
                end=self.line.place(end_x),
                text=f"{self._length(leg.length_mm)} to {to}",
                side=scale(self.line.normal, -1.0),
                field=f"{leg.field}.leg",
            )
        )

    def _features(self, leg: Leg, end_x: float, turn: Turn | None) -> None:
        for feature in leg.features:
            if self.slope != (0.0, 0.0):
                raise InputError.at(
                    feature.field,
                    "nothing may follow a kick on the same leg.",
                    hint="put the kick last, just before the turn",
                )
            with about(feature.field):
                if isinstance(feature, Saddle):
                    self._saddle(feature, end_x)
                elif isinstance(feature, Offset):
                    self._offset(feature, end_x, turn)
                elif isinstance(feature, Kick):
                    self._kick(feature, end_x)
                else:
                    self._keep_clear(feature)

    def _turn(self, leg: Leg, turn: Turn, end_x: float, index: int) -> None:
        label = f"turn {index + 1}"
        self._in_order(end_x, label)
        corner = self.line.place(end_x, self.a, self.b)
        came = self._direction()
        old_height = self.height + self.a
        _, h, n = self.line
        left = self.line.left
        angle = turn.angle_rad
        if turn.way in ("left", "right"):
            h = rotate(h, n, angle if turn.way == "left" else -angle)
            self.height = old_height
        else:
            axis = scale(left, -1.0 if turn.way == "away" else 1.0)
            h, n = rotate(h, axis, angle), rotate(n, axis, angle)
            self.height = gap_mm(turn, self.survey) + self.half
            self.surfaces.append((along(corner, n, -self.height), n))
        bent = atan2(norm(cross(came, h)), dot(came, h))  # the turn's angle, but for a kick before it
        square = isclose(bent, RIGHT_ANGLE, abs_tol=1e-9)
        if self.slope != (0.0, 0.0) and leg.measured_to in ("back", "inside") and not isclose(angle, RIGHT_ANGLE):
            raise InputError.at(
                f"{leg.field}.to",
                f"behind a kick, the {leg.measured_to} of a turn that is not square has no reading.",
                hint="measure this leg to center, where the middle lines of the two straights meet",
                expected="center",
                example="to: center",
            )
        previous = self.shapes[-1] if self.shapes else None
        role: str = roles.STUB
        if not square:
            role = roles.KICK
        elif previous is not None and previous.kind == "turn" and self._back_to_back(index, previous.angle_rad):
            role = roles.BACK_TO_BACK
        reach = self.half * tan(bent / 2.0)
        self.shapes.append(
            RoutedShape(
                kind="turn",
                label=label,
                first=len(self.corners),
                count=1,
                rise_mm=0.0,
                angle_rad=bent,
                plan_from_base_mm=end_x + reach - self.base_x,
            )
        )
        self.corners.append(Corner(corner, label, role, turn.field))
        foot, normal = self.surfaces[-1]
        self.carriers.append(LegSurface(len(self.corners), foot, normal, outside=turn.way == "toward"))
        self.line = LegLine(corner, h, n)
        self.a, self.b, self.slope = 0.0, 0.0, (0.0, 0.0)
        self.base_x = self.radius * tan(bent / 2.0)
        self.last_x, self.last_name = 0.0, label
        self.x0 = zero_x_mm(self.survey.legs[index + 1], turn, old_height, reach)

    def _back_to_back(self, index: int, before_rad: float) -> bool:
        """Whether this 90 and the turn before it are a U: two 90s the same way. Opposite ways they are a Z."""
        same = self.survey.turns[index].way == self.survey.turns[index - 1].way
        return same and isclose(before_rad, RIGHT_ANGLE, abs_tol=1e-9)

    def _direction(self) -> Vec:
        """Where the conduit heads at the leg's end: along the leg, or aside after a kick."""
        rise, shift = self.slope
        return unit(add(self.line.heading, add(scale(self.line.normal, rise), scale(self.line.left, shift))))

    def _finish(self, leg: Leg, end_x: float) -> Vec:
        height = self.height + self.a
        wanted = self.survey.end.height_mm
        if wanted is not None and not isclose(height, wanted, abs_tol=GIVE_MM):
            self._height_finding("end", wanted)
        self._in_order(end_x + (self.ins_b if leg.measured_to == "face" else 0.0), "end B")
        point = self.line.place(end_x, self.a, self.b)
        if leg.measured_to == "stop":
            return point
        return along(point, self._direction(), self.ins_b)

    def _height_finding(self, which: str, knockout_mm: float) -> None:
        """The run leaves or meets a knockout off the height that it has there: at the start it does not lie in its
        straps, at the end it misses the knockout."""
        run_mm = self.strap_height if which == "start" else self.height + self.a
        off = abs(knockout_mm - run_mm)
        told = f"The knockout at the {which} sits {self._length(knockout_mm)} off the surface and the conduit's middle"
        if which == "start":
            told += f" in its straps {self._length(run_mm)}: it leaves the box {self._length(off)} off its straps."
        else:
            told += f" {self._length(run_mm)}: it misses the knockout by {self._length(off)}."
        self.findings.append(
            Finding(
                rule="run.end-height",
                severity="problem" if which == "end" and off > SPRUNG_MM else "caution",
                message=f"{told} A box_offset there takes it out" + (", or a spacer." if off <= SPRUNG_MM else "."),
                citation="common practice, no source",
                where=which,
                measured=knockout_mm,
                allowed=run_mm,
                unit="mm",
            )
        )

    # --- features -------------------------------------------------------------------------------------------------

    def _shape(self, kind: str, label: str, count: int, x: float, **more: float | bool | str | Crossing | None) -> None:
        self.shapes.append(
            RoutedShape(
                kind=kind,  # type: ignore[arg-type]
                label=label,
                first=len(self.corners),
                count=count,
                plan_from_base_mm=x - self.base_x,
                **more,  # type: ignore[arg-type]
            )
        )

    def _toward(self, way: str) -> tuple[float, float]:
        return {"away": (1.0, 0.0), "toward": (-1.0, 0.0), "left": (0.0, 1.0), "right": (0.0, -1.0)}[way]

    def _saddle(self, saddle: Saddle, end_x: float) -> None:
        x = self.x0 + saddle.centre_mm
        sideways = saddle.toward in ("left", "right")
        da, db = self._toward(saddle.toward)
        level = 0.0 if sideways else self.height + self.a
        placed = place_saddle(saddle, level, self.half, self.limits, self.survey.tape)
        self.findings.extend(placed.findings)
        top = saddle.reach_mm if sideways else saddle.height_mm
        if top is not None and sideways:
            self._obstacle(saddle, column(self.line, saddle, x, self.height, self.a, self.b, db))
        elif top is not None:
            foot = self.line.place(x, -self.height, self.b)
            self._obstacle(
                saddle,
                crossing(self.line, foot, saddle.over, top_mm=top, lift_mm=saddle.lift_mm, width_mm=saddle.width_mm),
            )
        self._mark_reading(x, f"{self._length(saddle.centre_mm)} to middle of {saddle.label}", f"{saddle.field}.centre")
        if placed.bends == 0:
            return
        angle, rise = placed.angle_rad, placed.rise_mm
        kind = "saddle 3" if placed.bends == 3 else "saddle 4"
        self._shape(
            kind,
            saddle.label,
            placed.bends,
            x,
            rise_mm=rise,
            angle_rad=angle,
            flat_mm=placed.flat_mm,
            away_mm=da * rise,
            left_mm=db * rise,
            chosen=saddle.angle_rad is None or saddle.bends == "auto",
            detail=placed.detail,
            crossing=placed.crossing,
        )
        a, b = self.a, self.b
        if placed.bends == 3:
            # the corner stands R (1/cos A - 1) above the apex of the arc
            high = rise + self.radius * (1.0 / cos(angle) - 1.0)
            run = high / tan(angle)
            self._corner(x - run, a, b, saddle.label, roles.SADDLE_OUTER, saddle.field)
            self._corner(x, a + da * high, b + db * high, saddle.label, roles.SADDLE_CENTER, saddle.field)
            self._corner(x + run, a, b, saddle.label, roles.SADDLE_OUTER, saddle.field)
            reach = x + run
        else:
            setback = self.radius * tan(angle / 2.0)
            inner = placed.flat_mm / 2.0 + setback
            outer = inner + rise / tan(angle)
            for at, high in ((-outer, 0.0), (-inner, rise), (inner, rise), (outer, 0.0)):
                self._corner(x + at, a + da * high, b + db * high, saddle.label, roles.SADDLE_FOUR, saddle.field)
            reach = x + outer
        self.dimensions.append(
            Dimension(
                start=self.line.place(x, a, b),
                end=self.line.place(x, a + da * rise, b + db * rise),
                text=f"rise {self._length(rise)}",
                side=self.line.heading,
            )
        )
        turned = angle if placed.bends in (3, 4) else 0.0
        self.base_x = reach + self.radius * tan(turned / 2.0)

    def _obstacle(self, thing: Saddle | KeepClear, solid: tuple[Obstacle, Vec]) -> None:
        if thing.lift_mm < -float(self.survey.tape.step_mm):
            high, wide = thing.height_mm or 0.0, (thing.height_mm or 0.0) - thing.lift_mm
            self.findings.append(
                Finding(
                    rule="run.sunk",
                    severity="caution",
                    message=(
                        f"{thing.label}: round, {self._length(wide)} wide and only {self._length(high)} high, so it was"
                        f" taken as sunk {self._length(-thing.lift_mm)} into the surface: check height and width, or"
                        " take over: square."
                    ),
                    citation="geometry",
                    where=thing.label,
                    measured=thing.height_mm,
                    unit="mm",
                )
            )
        self.obstacles.append(
            PlacedObstacle(
                name=thing.label, field=thing.field, solid=solid[0], wanted_mm=thing.clearance_mm, at=solid[1]
            )
        )

    def _keep_clear(self, thing: KeepClear) -> None:
        x = self.x0 + thing.centre_mm
        self._obstacle(thing, keep_clear(self.line, thing, x, self.height, self.b))
        self._mark_reading(x, f"{self._length(thing.centre_mm)} to middle of {thing.label}", f"{thing.field}.centre")

    def _offset(self, offset: Offset, end_x: float, turn: Turn | None) -> None:
        away = offset.away_mm
        if away is None:
            height = self.height + self.a
            away = box_rise_mm(offset, self.survey, self.box_ends, height_mm=height, strap_mm=self.strap_height)
        if offset.box and isclose(self.height + away, self.strap_height, abs_tol=GIVE_MM):
            self.start_met = True
        rise = hypot(away, offset.left_mm)
        angle = offset.angle_rad or choose_offset_angle(
            rise, self._room(offset, end_x, turn), self.limits, small=offset.box
        )
        run, setback = rise / tan(angle), self.radius * tan(angle / 2.0)
        if offset.starts_at_mm is not None:
            x, reading, word = self.x0 + offset.starts_at_mm + setback, offset.starts_at_mm, "start"
        elif offset.done_by_mm is not None:
            x, reading, word = self.x0 + offset.done_by_mm - setback - run, offset.done_by_mm, "end"
        else:
            assert offset.middle_at_mm is not None
            x, reading, word = self.x0 + offset.middle_at_mm - run / 2.0, offset.middle_at_mm, "middle"
        least = 2.0 * self.radius * (1.0 - cos(angle))
        if rise < least - 1e-9:
            raise LimitError(
                f"{offset.label}: {self._length(rise)} is less than the least rise of two"
                f" {angle * 180.0 / pi:.4g} degree bends on this bender, {said_least(least)}.",
                hint="use a flatter angle, or leave the angle to auto",
                quantity="rise",
                asked=rise,
                limit=least,
            )
        kind = "box offset" if offset.box else ("rolling offset" if away and offset.left_mm else "offset")
        self._shape(
            kind,
            offset.label,
            2,
            x,
            rise_mm=rise,
            angle_rad=angle,
            away_mm=away,
            left_mm=offset.left_mm,
            chosen=offset.angle_rad is None,
        )
        self._corner(x, self.a, self.b, offset.label, roles.OFFSET_FIRST, offset.field)
        before = self.line.place(x + run / 2.0, self.a, self.b)
        self.a += away
        self.b += offset.left_mm
        self._corner(x + run, self.a, self.b, offset.label, roles.OFFSET_SECOND, offset.field)
        name = {"start": "starts_at", "end": "done_by", "middle": "middle_at"}[word]
        said = f"{self._length(reading)} to {word} of {offset.label}"
        self._mark_reading(self.x0 + reading, said, f"{offset.field}.{name}")
        self.dimensions.append(
            Dimension(
                start=before,
                end=self.line.place(x + run / 2.0, self.a, self.b),
                text=f"rise {self._length(rise)}",
                side=self.line.heading,
            )
        )
        self.base_x = x + run + setback

    def _room(self, offset: Offset, end_x: float, turn: Turn | None) -> float:
        """How much of the leg the offset may take from its first arc's start to its last arc's end."""
        last = end_x - (self.radius * tan(turn.angle_rad / 2.0) if turn else 0.0)
        if offset.starts_at_mm is not None:
            return last - self.x0 - offset.starts_at_mm
        if offset.done_by_mm is not None:
            return self.x0 + offset.done_by_mm - self.base_x
        assert offset.middle_at_mm is not None
        middle = self.x0 + offset.middle_at_mm
        return 2.0 * min(middle - self.base_x, last - middle)

    def _kick(self, kick: Kick, end_x: float) -> None:
        da, db = self._toward(kick.toward)
        if kick.angle_rad is not None:
            angle = kick.angle_rad
            x = end_x - kick.rise_mm / tan(angle)
        else:
            assert kick.starts_at_mm is not None
            angle = self._kick_angle(kick, end_x - self.x0 - kick.starts_at_mm)
            x = end_x - kick.rise_mm / tan(angle)
        self._shape("kick", kick.label, 1, x, rise_mm=kick.rise_mm, angle_rad=angle, away_mm=da, left_mm=db)
        self._corner(x, self.a, self.b, kick.label, roles.KICK, kick.field)
        self.a += da * kick.rise_mm
        self.b += db * kick.rise_mm
        self.slope = (da * tan(angle), db * tan(angle))
        self.base_x = x + self.radius * tan(angle / 2.0) * cos(angle)
        start_x = x - self.radius * tan(angle / 2.0)
        self._mark_reading(
            start_x, f"{self._length(start_x - self.x0)} to start of {kick.label}", f"{kick.field}.starts_at"
        )

    def _kick_angle(self, kick: Kick, travel: float) -> float:
        """The angle whose arc starts `travel` before the corner and is aside by the rise there."""
        found = tangent_to_point(travel, kick.rise_mm, self.radius) if travel > 0.0 else None
        if found is None or found[0] > RIGHT_ANGLE:
            raise LimitError(
                f"{kick.label}: {self._length(kick.rise_mm)} aside within {self._length(max(travel, 0.0))}"
                " cannot be reached.",
                hint="start the kick earlier, or make it smaller",
                quantity="travel",
                asked=travel,
                limit=max(kick.rise_mm * (2.0 * self.radius - kick.rise_mm), 0.0) ** 0.5,
            )
        return found[0]

    def _corner(self, x: float, a: float, b: float, shape: str, role: str, field: str) -> None:
        self._in_order(x, shape)
        self.corners.append(Corner(self.line.place(x, a, b), shape, role, field))
        self.last_x, self.last_name = x, shape

    def _in_order(self, x: float, name: str) -> None:
        """Refuse a corner that lies before the one before it: the features overlap, or stand outside the leg."""
        if x < self.last_x - 1e-6:
            short = self.last_x - x
            raise LimitError(
                f"{name} comes {self._length(short)} too early: {self.last_name} reaches past it.",
                hint="move them apart, use a steeper angle, or check which reading belongs to which",
                quantity="run between them",
                asked=x,
                limit=self.last_x,
            )

    def _mark_reading(self, x: float, text: str, field: str) -> None:
        self.dimensions.append(
            Dimension(
                start=self.line.place(self.x0, self.a, self.b),
                end=self.line.place(x, self.a, self.b),
                text=text,
                side=self.line.normal,
                field=field,
            )
        )
