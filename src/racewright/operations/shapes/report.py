"""What is said about one shape: the answer's parts, and the report that a shape fills while it is worked out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import degrees
from typing import Literal

from racewright.bends import roles
from racewright.bends.choices import Choice
from racewright.bends.model import Bend
from racewright.cards.words import TAUGHT_SHOE
from racewright.cautions import cautions_for, in_order
from racewright.errors import Finding, InputError
from racewright.marks.mark import mark_mm
from racewright.marks.thumb import Rule, bends_of_rule, exact_marks_mm
from racewright.operations.choices import ChoiceRow, choice_row
from racewright.operations.common import Answer, Length, Part, Table, length_of
from racewright.sequence.care import bending_care
from racewright.sequence.words import read_words
from racewright.tools.benders import HOOKS, REFERENCES, BenderProfile, HookEnd, Reference, is_taught, raceway_of
from racewright.tools.profile_checks import USUAL_RAD, check_profile
from racewright.units.angle import format_angle, format_degrees, hand_angle
from racewright.units.tape import TapeStyle, format_length, read_tape

_PULL = (
    "Bend to: what the pointer shows while you bend, with this tool's springback; let go, the bend opens to its angle."
)
FAR_LEG_MM = 304.8  # straight drawn beyond the last bend where no length was given


class ShoeUsed(Part, frozen=True, kw_only=True):
    """A bender that the marks are for. `taught`: its figures are the trade's, not measured on it."""

    name: str
    radius: Length
    standing: str
    taught: bool


class ShapeFact(Part, frozen=True, kw_only=True):
    """One figure: `mm` for a length, `deg` for an angle, neither for words; `text` as it is shown, with its unit."""

    label: str
    text: str
    mm: float | None = None
    deg: float | None = None


class ShapeMark(Part, frozen=True, kw_only=True):
    """Where the pencil goes if the bend is made on this reference with the hook toward this end."""

    hook: HookEnd
    reference: Reference
    at: Length


class ShapeBend(Part, frozen=True, kw_only=True):
    """One bend: where its arc lies along the conduit; any one of its marks makes it. Roll: clockwise from A to B.
    `called`: its role as a card says it; `angle` and `roll` as they are shown; `bend_to`: what the pointer shows while
    it is bent, '' where the tool's springback is not known: the angle is read after letting go then."""

    role: str
    called: str
    angle: str
    bend_to: str
    roll: str
    angle_deg: float
    roll_deg: float
    arc_start_mm: float
    arc_end_mm: float
    marks: tuple[ShapeMark, ...]


class RuleMarkBeside(Part, frozen=True, kw_only=True):
    """A mark by the rule and the exact one made the same way; `out_by` is the difference of the two readings."""

    label: str
    reference: Reference
    hook: HookEnd
    rule: Length
    exact: Length
    out_by: Length


class RuleBeside(Part, frozen=True, kw_only=True):
    """A rule of thumb beside the exact marks, and where each of the two lands."""

    name: str
    how: str
    source: str
    marks: tuple[RuleMarkBeside, ...]
    rule_lands: str
    exact_lands: str


class ShapeChoices(Part, frozen=True, kw_only=True):
    """The same shape at other angles."""

    title: str
    rows: tuple[ChoiceRow, ...]


class ShapeAnswer(Answer, frozen=True, kw_only=True):
    """Everything that is said about one shape. `counted_from` says what 0 is on the marks, `measured` what the figures
    are measured to; `benders` has one for each size of a rack; `taught`: what that means where the figures of one are
    only taught ('' where none is); `pull`: what "bend to" means where a tool's springback is known ('' elsewhere)."""

    shape: str
    title: str
    tape: TapeStyle
    benders: tuple[ShoeUsed, ...]
    taught: str
    pull: str
    facts: tuple[ShapeFact, ...]
    measured: str
    counted_from: str
    bends: tuple[ShapeBend, ...]
    cut_length: Length | None
    rules: tuple[RuleBeside, ...]
    tables: tuple[Table, ...]
    choices: ShapeChoices | None
    notes: tuple[str, ...]


def bend_to(shoe: BenderProfile, angle_rad: float) -> str:
    """What the pointer shows while a bend is made that is left with this angle; '' where springback is not known."""
    pointer = shoe.pointer_rad(angle_rad)
    return "" if pointer is None else hand_angle(degrees(pointer))


class Report:
    """Filled by a shape, line by line. `shoes` are those of a rack of several sizes, from conduit 1 on."""

    def __init__(self, shape: str, title: str, bender: BenderProfile, tape: TapeStyle) -> None:
        self.shape, self.title, self.bender, self.tape = shape, title, bender, tape
        self.shoes: tuple[BenderProfile, ...] = ()
        self.facts: list[ShapeFact] = []
        self.bends: tuple[Bend, ...] = ()
        self.counted_from = "end A"
        self.cut_length_mm: float | None = None
        self.rise_mm: float | None = None
        self.rules: list[RuleBeside] = []
        self.tables: list[Table] = []
        self.other_angles: ShapeChoices | None = None
        self.notes: list[str] = []
        self.findings: list[Finding] = []

    def shown(self, value_mm: float) -> str:
        """A length as the tape shows it, with its unit."""
        return format_length(value_mm, self.tape)

    def length(self, label: str, value_mm: float) -> None:
        """Add a length."""
        self.facts.append(ShapeFact(label=label, text=self.shown(value_mm), mm=value_mm))

    def cut(self, value_mm: float) -> None:
        """The piece's cut length, where it is known."""
        self.length("cut length", value_mm)
        self.cut_length_mm = value_mm

    def angle(self, label: str, value_rad: float) -> None:
        """Add an angle."""
        self.facts.append(ShapeFact(label=label, text=format_angle(value_rad), deg=degrees(value_rad)))

    def words(self, label: str, text: str) -> None:
        """Add a line of words."""
        self.facts.append(ShapeFact(label=label, text=text))

    def pull(self, shoe: BenderProfile, angle_rad: float, of: str) -> None:
        """What the pointer shows while a bend of a rack is made on this shoe, where its springback is known."""
        if to := bend_to(shoe, angle_rad):
            self.words(f"{of}: bend to", f"{to} {read_words('under load', degrees(angle_rad))}")

    def table(self, title: str, head: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> None:
        """Add a table."""
        self.tables.append(Table(title=title, head=head, rows=tuple(rows)))

    def choices(self, title: str, rows: Sequence[Choice]) -> None:
        """The same shape at other angles."""
        self.other_angles = ShapeChoices(title=title, rows=tuple(choice_row(row, self.tape) for row in rows))

    def beside(
        self,
        make: Callable[[], Rule],
        exact: Sequence[Bend],
        length_mm: float | None,
        words: Callable[[Sequence[Bend], float], str],
    ) -> None:
        """Put a rule of thumb beside the exact bends, marked by the same references and hooks; `words` say where bends
        land on a piece of that length. Where the rule cannot be used, a note says so."""
        try:
            rule = make()
        except InputError as error:
            note = f"rule of thumb: {error.message}"
            self.notes += [note] if note not in self.notes else []
            return
        made = bends_of_rule(rule, self.bender)
        length = length_mm or max(exact[-1].arc_end_mm, made[-1].arc_end_mm) + FAR_LEG_MM
        try:
            lands = words(made, length)
        except InputError as error:
            lands = f"cannot be bent: {error.message}"
        marks = tuple(
            RuleMarkBeside(
                label=mark.label,
                reference=mark.reference,
                hook=mark.hook,
                rule=length_of(mark.mark_mm, self.tape),
                exact=length_of(exact_mm, self.tape),
                out_by=length_of(self._shown_mm(mark.mark_mm) - self._shown_mm(exact_mm), self.tape),
            )
            for mark, exact_mm in zip(rule.marks, exact_marks_mm(rule, exact, self.bender), strict=True)
        )
        self.rules.append(
            RuleBeside(
                name=rule.name,
                how=rule.how,
                source=rule.source,
                marks=marks,
                rule_lands=lands,
                exact_lands=words(exact, length),
            )
        )

    def answer(self, measured: str) -> ShapeAnswer:
        """The report as an answer, with what the checks of ends and shoes find."""
        shoes = tuple(dict.fromkeys(self.shoes or (self.bender,)))
        found = [*self.findings, *_hold_findings(self)]
        bent = [bend.angle_rad for bend in self.bends] or USUAL_RAD
        found += [finding for shoe in shoes for finding in check_profile(shoe, raceway_of(shoe), bent)]
        return ShapeAnswer(
            shape=self.shape,
            title=self.title,
            tape=self.tape,
            benders=tuple(
                ShoeUsed(
                    name=shoe.name,
                    radius=length_of(shoe.radius_mm, self.tape),
                    standing=shoe.standing,
                    taught=is_taught(shoe),
                )
                for shoe in shoes
            ),
            taught=TAUGHT_SHOE if any(is_taught(shoe) for shoe in shoes) else "",
            pull=_PULL if any(bend_to(shoe, 0.0) for shoe in shoes) else "",
            facts=tuple(self.facts),
            measured=measured,
            counted_from=self.counted_from,
            bends=tuple(self._bend(bend) for bend in self.bends),
            cut_length=None if self.cut_length_mm is None else length_of(self.cut_length_mm, self.tape),
            rules=tuple(self.rules),
            tables=tuple(self.tables),
            choices=self.other_angles,
            notes=tuple(self.notes),
            findings=tuple(found),
            cautions=cautions_for(*in_order(work for shoe in shoes for work in bending_care(shoe))),
        )

    def _shown_mm(self, value_mm: float) -> float:
        return read_tape(value_mm, self.tape).shown_mm

    def _bend(self, bend: Bend) -> ShapeBend:
        start, end = bend.arc_start_mm, bend.arc_end_mm
        return ShapeBend(
            role=bend.role,
            called=roles.in_words(bend.role),
            angle=format_degrees(degrees(bend.angle_rad)),
            bend_to=bend_to(self.bender, bend.angle_rad),
            roll=format_degrees(degrees(bend.roll_rad) % 360.0),
            angle_deg=degrees(bend.angle_rad),
            roll_deg=degrees(bend.roll_rad) % 360.0,
            arc_start_mm=start,
            arc_end_mm=end,
            marks=tuple(
                ShapeMark(
                    hook=hook,
                    reference=reference,
                    at=length_of(mark_mm(start, end, hook, reference, self.bender), self.tape),
                )
                for hook in HOOKS
                for reference in REFERENCES
            ),
        )


def _hold_findings(report: Report) -> list[Finding]:
    """Where an end leaves the hook too little: marks counted from end A, and from the cut length at end B."""
    ends: list[tuple[Literal["A", "B"], float]] = []
    if report.bends and report.counted_from == "end A":
        ends.append(("A", report.bends[0].arc_start_mm))
    if report.bends and report.cut_length_mm is not None:
        ends.append(("B", report.cut_length_mm - report.bends[-1].arc_end_mm))
    return [found for end, straight in ends if (found := _hold(report, end, straight)) is not None]


def _hold(report: Report, end: Literal["A", "B"], straight_mm: float) -> Finding | None:
    """What is said where the hook toward this end has less conduit than it needs, and what would work."""
    bender, shown, other = report.bender, report.shown, "B" if end == "A" else "A"
    left = straight_mm - bender.arrow_lead_mm
    lack = bender.hook_reach_mm - left
    if lack <= 1e-6:
        return None
    past = f"{shown(left)} of conduit lies past the arrow's mark"
    there = past if left >= 0 else "the arrow's mark falls off the conduit"
    turned = (
        f"or turn the hook toward end {other}"
        if straight_mm >= bender.grip_mm
        else f"the hook toward end {other} finds {shown(straight_mm)} of the {shown(bender.grip_mm)} to hold it by"
    )
    return Finding(
        rule="shape.hold",
        severity="caution",
        message=f"hook toward end {end}: {there}, and the hook needs {shown(bender.hook_reach_mm)}: the shoe will not"
        f" hold it. Bend it from a piece {shown(lack)} longer at end {end}, or more, and cut it after; {turned}.",
        citation="common practice, no source",
        measured=left,
        allowed=bender.hook_reach_mm,
        unit="mm",
    )
