"""What is met on a leg of a random survey, as a person would write it, and the survey's readings as text."""

from __future__ import annotations

from fractions import Fraction
from math import ceil, radians, sin, tan
from random import Random

INCH = 25.4
#: raceway: (outside diameter, rough bend radius) in inches; only for leaving room.
ROOM = {
    "EMT 1/2": (0.706, 4.5),
    "EMT 3/4": (0.922, 5.5),
    "EMT 1": (1.163, 6.7),
    "EMT 1-1/4": (1.51, 9.6),
    "RMC 1/2": (0.84, 5.5),
    "RMC 3/4": (1.05, 6.7),
    "RMC 1": (1.315, 9.6),
    "IMC 1/2": (0.815, 5.5),
    "IMC 3/4": (1.029, 6.7),
    "PVC-40 1/2": (0.84, 4.0),
    "PVC-80 3/4": (1.05, 4.5),
}
WEIGHTS = {"EMT 1/2": 6, "EMT 3/4": 4, "EMT 1": 2, "RMC 1/2": 2, "RMC 3/4": 2, "PVC-40 1/2": 1.6, "PVC-80 3/4": 1.6}
OUTER = (10, 15, 22.5, 30, 45)


class Survey:
    """One survey in the making: the random source, the conduit, and where the run lies over its surface (mm)."""

    def __init__(self, seed: int) -> None:
        self.rng = Random(seed)
        rng = self.rng
        names = list(ROOM)
        self.raceway = rng.choices(names, [WEIGHTS.get(n, 1) for n in names])[0]
        od, radius = ROOM[self.raceway]
        self.od, self.radius = od * INCH, radius * INCH
        self.units = rng.choice(("in", "in", "mm"))
        self.fraction = rng.choice((None, 8, 16, 32)) if self.units == "in" else rng.choice((None, 1))
        # a tape's step in sixteenths of an inch, where lifts are written in those
        self.step_sixteenths = {None: 1, 8: 2, 16: 1}.get(self.fraction, 0) if self.units == "in" else 0
        self.clearance = rng.choice((0.0, 6.35, 12.7))
        self.stand_off = rng.choice((0.0, 0.0, 6.35, 12.7, 25.4))
        self.lie = self.stand_off + self.od / 2
        self.height = self.lie  # of the conduit's middle over the surface, where the writer stands now
        self.names = 0
        self.bends = 0  # so far, near enough: more than nine on one stick only keep the order search busy

    def chance(self, part: float) -> bool:
        return self.rng.random() < part

    def between(self, low_in: float, high_in: float) -> float:
        """Millimetres, from inches."""
        return self.rng.uniform(low_in, high_in) * INCH

    def name(self, what: str) -> str:
        self.names += 1
        return f"{what} {self.names}"


def tape(survey: Survey, mm: float, *, up: bool = False) -> str:
    """A length as somebody writes it: inches to 1/16, feet, mm, cm; plain numbers are in the survey's unit."""
    rng = survey.rng
    unit = survey.units if survey.chance(0.85) else rng.choice(("in", "mm"))
    if unit == "mm":
        whole = ceil(mm - 1e-9) if up else round(mm)
        forms = [f"{whole} mm", f"{whole / 10:.1f} cm"] + ([str(whole)] * 4 if survey.units == "mm" else [])
        return rng.choice(forms)
    sixteenths = ceil(mm / INCH * 16 - 1e-9) if up else round(mm / INCH * 16)
    whole, part = divmod(Fraction(sixteenths, 16), 1)
    frac = f"{part.numerator}/{part.denominator}" if part else ""
    plain = f"{whole} {frac}".strip() if whole or not frac else frac
    dash = f"{whole}-{frac}" if whole and frac else plain
    forms = [f'{plain}"', f"{dash} in", f"{plain} in"]
    if whole >= 12:
        feet, inches = divmod(whole, 12)
        forms.append(f"{feet}' {f'{inches} {frac}'.strip()}\"")
    if survey.units == "in":
        forms += [plain, plain, plain, dash]
    return rng.choice(forms)


def inches(sixteenths: int) -> str:
    whole, part = divmod(Fraction(sixteenths, 16), 1)
    return f"{whole} {part}".removeprefix("0 ").removesuffix(" 0") + " in"


def degrees(survey: Survey, angle: float) -> str:
    if angle % 1:
        return survey.rng.choice((f"{angle}", f"{int(angle)} 1/2"))
    return str(angle)


def offset_room(radius: float, rise: float, angle: float) -> float:
    """Plan length of an offset, first arc's start to second arc's end."""
    return rise / tan(radians(angle)) + 2 * radius * tan(radians(angle) / 2)


def least_offset(survey: Survey, angle: float) -> float:
    """A rise that this angle makes with some straight between the arcs."""
    a = radians(angle)
    return sin(a) * (2 * survey.radius * tan(a / 2) + 2.6 * INCH)


def write_offset(survey: Survey, at: float) -> tuple[dict[str, object], float]:
    """An offset that may begin at reading `at`; its fields and the reading behind it."""
    rng = survey.rng
    angle = rng.choice(OUTER)
    true = max(least_offset(survey, angle), survey.between(1.5, 4.5))
    kind = rng.choice(("rise", "rise", "shift", "both"))
    raised = survey.height - survey.lie
    down = raised > 20 and survey.chance(0.9)
    if down:
        kind = rng.choice(("rise", "rise", "both"))
    fields: dict[str, object] = {"name": survey.name("offset")}
    up = side = 0.0
    if kind == "rise":
        up = true
    elif kind == "shift":
        side = true
    else:
        up, side = true * 0.7, true * 0.8
    if down:
        up = raised * rng.choice((1.0, 0.7))
        true = up if kind == "rise" else max(1.2 * up, survey.between(1.5, 4))
        side = 0.0 if kind == "rise" else true
        fields["toward"] = "toward"
    if up:
        fields["rise"] = tape(survey, up, up=not down)
        survey.height += -up if "toward" in fields else up
    if side:
        fields["shift"] = tape(survey, side, up=True)
        if survey.chance(0.95):
            fields["side"] = rng.choice(("left", "right"))
    given = survey.chance(0.7) and true >= least_offset(survey, angle) - 1e-6
    if given:
        fields["angle"] = degrees(survey, angle)
        room = offset_room(survey.radius, true * 1.1 + 1, angle)
    else:
        if survey.chance(0.3):
            fields["angle"] = "auto"
        room = 6 * true + 2.5 * survey.radius
    place = rng.choice(("starts_at", "middle_at", "done_by"))
    fields[place] = tape(survey, at + {"starts_at": 0.0, "middle_at": room / 2, "done_by": room}[place], up=True)
    return {"offset": fields}, at + room + 20


def write_saddle(survey: Survey, at: float) -> tuple[dict[str, object], float]:
    rng = survey.rng
    fields: dict[str, object] = {"name": survey.name("pipe")}
    toward = rng.choice(("away", "away", "left", "right"))
    bends = rng.choice(("3", "4", "auto", None))
    if toward != "away" or survey.chance(0.3):
        fields["toward"] = toward
    width = lift = 0.0
    what = rng.choice(("rise", "round", "round", "square", "square"))
    angle = rng.choice((15, 22.5, 22.5, 30, 45))
    floor = least_offset(survey, angle)
    clear = survey.clearance
    if what != "rise" and survey.chance(0.25):
        clear = rng.choice((3.0, 10.0))
        fields["clearance"] = tape(survey, clear, up=True)
    rise = max(floor, survey.between(1.5, 4))
    if what == "rise":
        fields["rise"] = tape(survey, rise, up=True)
    elif toward == "away":
        over = survey.height - survey.od / 2
        height = max(rise + over - clear, 20.0)
        lift = survey.between(0.25, 1.5) if survey.chance(0.7) else 0.0
        lift = min(lift, height - 12)
        fields |= {"over": what, "height": tape(survey, height, up=True)}
        if lift > 0:
            fields["lift"] = tape(survey, lift)
        width = height - lift
        if what == "square":
            width = survey.between(0.75, 7)
            fields["width"] = tape(survey, width)
    else:
        reach = max(rise - survey.od / 2 - clear, 12.0)
        width = survey.between(1, 6)
        if what == "round":
            width = min(width, 1.8 * reach)
        fields |= {"over": what, "reach": tape(survey, reach, up=True), "width": tape(survey, width)}
    if bends:
        fields["bends"] = bends
    if survey.chance(0.6):
        fields["angle"] = degrees(survey, angle)
    tallest = rise + 0.6 * width + 20
    half = max(offset_room(survey.radius, tallest, 22.5), offset_room(survey.radius, tallest, angle))
    half += 0.8 * width + survey.radius
    fields["centre"] = tape(survey, at + half, up=True)
    return {"saddle": fields}, at + 2 * half + 30


def write_keep_clear(survey: Survey, at: float) -> tuple[dict[str, object], float]:
    rng = survey.rng
    fields: dict[str, object] = {"name": survey.name("thing")}
    height = survey.between(1, 8)
    lift = survey.between(0.5, 3) if survey.chance(0.5) else 0.0
    lift = min(lift, height - 15)
    width = survey.between(1, 6)
    if survey.chance(0.35):
        fields["over"] = "round"
        wide = round(width / INCH * 16)
        under = round(lift / INCH * 16)
        fields |= {"width": inches(wide), "height": inches(wide + under)}
        if under:
            off = rng.choice((-1, 1)) if survey.step_sixteenths and survey.chance(0.4) else 0
            fields["lift"] = inches(under + off * survey.step_sixteenths)
        lift = 0.0
    else:
        if survey.chance(0.5):
            fields["over"] = "square"
        fields |= {"width": tape(survey, width), "height": tape(survey, height, up=True)}
    if lift > 0:
        fields["lift"] = tape(survey, lift)
    depth = 12 * INCH
    if survey.chance(0.6):
        depth = survey.between(1, 20)
        fields["depth"] = tape(survey, depth)
    if survey.chance(0.85):
        far = depth / 2 + survey.od / 2 + survey.clearance + survey.between(0.1, 8)
        if survey.chance(0.2):
            far = depth / 2 + survey.od / 2 + rng.uniform(0.1, 0.8) * max(survey.clearance, 2)
        sign = "" if survey.chance(0.5) else "-"
        fields["side"] = sign + tape(survey, far, up=True)
    if survey.chance(0.2):
        fields["clearance"] = tape(survey, 5)
    fields["centre"] = tape(survey, at + width / 2, up=True)
    return {"keep_clear": fields}, at + width + 20


def write_box_offset(survey: Survey, at: float, *, where: str, rise: float | None) -> tuple[dict[str, object], float]:
    """`where`: start, end or mid. With `rise` (signed, away +) it is written, else it is worked out from a height."""
    rng = survey.rng
    fields: dict[str, object] = {"name": survey.name("box offset")}
    room = 2.6 * survey.radius + 50
    if rise is not None:
        fields["rise"] = tape(survey, abs(rise), up=True)
        if rise < 0:
            fields["toward"] = "toward"
        elif survey.chance(0.3):
            fields["toward"] = "away"
        survey.height += rise
    if where == "end" or survey.chance(0.2):
        fields["done_by"] = tape(survey, at + room, up=True)
    else:
        fields["starts_at"] = tape(survey, at + 12, up=True)
    if survey.chance(0.3):
        fields["angle"] = rng.choice(("10", "8", "auto")) if rise else "auto"
    return {"box_offset": fields}, at + room + 20


def write_kick(survey: Survey, at: float) -> tuple[dict[str, object], float]:
    rng = survey.rng
    toward = rng.choice(("away", "away", "left", "right"))
    angle = rng.choice((10, 15, 20))
    rise = survey.between(1.5, 4)
    if survey.height - survey.lie > 15 and survey.chance(0.9):
        toward, rise = "toward", survey.height - survey.lie - 2
    fields: dict[str, object] = {"name": survey.name("kick"), "rise": tape(survey, rise)}
    if toward != "away" or survey.chance(0.3):
        fields["toward"] = toward
    if survey.chance(0.5):
        fields["starts_at"] = tape(survey, at + 10, up=True)
    else:
        fields["angle"] = degrees(survey, angle)
    if toward in ("away", "toward"):
        survey.height += rise if toward == "away" else -rise
    room = rise / tan(radians(angle)) + survey.radius
    return {"kick": fields}, at + room + 10
