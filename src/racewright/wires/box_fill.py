"""How much room the wires, clamps, fittings and devices of a box need, and which boxes have it.

Notation: v(s) allowance for one conductor of size s (in3); needed = sum over conductors v(s) + v(largest) for clamps
+ v(largest) per type of support fitting + 2 v(s) per device yoke (per gang, where wider) + v(largest ground) for up to
four grounds and a quarter of it for each further one + v(s) per terminal block.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import msgspec

from racewright.codebook.edition import CM3_PER_IN3, Edition, RuleStep, above_zero
from racewright.errors import Finding, InputError, UnknownName
from racewright.units.length import parse_length

Counted = tuple[int, str]


class BoxContents(msgspec.Struct, frozen=True, kw_only=True):
    """What is in the box, as `(how many, size)`.

    `conductors` end, are spliced or pass through once; `loops` pass through with slack of at least twice the free
    length (two allowances each); pigtails that stay inside are not named. `clamps`: any inside clamp at all.
    `supports`: how many types of luminaire stud or hickey. `devices`: (gangs in all, largest conductor on the yoke).
    `grounds`: equipment grounding conductors. `terminal_blocks`: (how many, largest conductor ended there)."""

    conductors: tuple[Counted, ...] = ()
    loops: tuple[Counted, ...] = ()
    clamps: bool = False
    supports: int = 0
    devices: tuple[Counted, ...] = ()
    grounds: tuple[Counted, ...] = ()
    terminal_blocks: tuple[Counted, ...] = ()


class TabledBox(msgspec.Struct, frozen=True, kw_only=True):
    """A box of the table: trade size, shape, volume. Source and standing of its row."""

    trade_size: str
    shape: str
    volume_in3: float
    source: str
    standing: str

    @property
    def name(self) -> str:
        """'4 x 1 1/2 square'."""
        return f"{self.trade_size} {self.shape}"


class BoxNeed(msgspec.Struct, frozen=True, kw_only=True):
    """Volume that the contents need, in in3 (the table's unit) and cm3; `allowances` counts conductor allowances."""

    needed_in3: float
    needed_cm3: float
    allowances: float
    steps: tuple[RuleStep, ...]


def box_need(contents: BoxContents, edition: Edition) -> BoxNeed:
    """Volume needed. Raises InputError for an empty box, a count below 1, a conductor that the table does not have
    (4 AWG and thicker: pull-box rules), UnknownName for a size that does not exist."""
    present = (*contents.conductors, *contents.loops, *contents.grounds)
    if not present:
        raise InputError(
            "The box has no conductors.",
            hint="name the wires that come into it, for example: 4 of 12 AWG",
            field="wires",
            example="4 x 12",
        )
    if contents.supports < 0:
        raise InputError(
            f"{contents.supports} types of support fitting is no count.",
            hint="write 0 or more",
            field="supports",
            expected="0 or more",
        )
    every = (*present, *contents.devices, *contents.terminal_blocks)
    sizes = {text: _size(text, edition) for many, text in every if _whole(many, text)}
    largest = max((sizes[text] for _, text in present), key=edition.rank)
    total, count = Fraction(0), Fraction(0)
    steps: list[RuleStep] = []

    def add(allowances: Fraction, size: str, what: str, key: str) -> None:
        nonlocal total, count
        volume = allowances * _allowance(size, edition)
        total += volume
        count += allowances
        each = float(_allowance(size, edition))
        text = f"{what}: {float(allowances):g} x {each:.2f} = {float(volume):.4g} in3"
        steps.append(edition.step(text, key))

    for many, text in contents.conductors:
        add(Fraction(many), sizes[text], f"{many} conductor{_s(many)} {sizes[text]}", "box_conductors")
    for many, text in contents.loops:
        add(Fraction(2 * many), sizes[text], f"{many} long loop{_s(many)} {sizes[text]}", "box_conductors")
    if contents.clamps:
        add(Fraction(1), largest, f"inside clamps, as one {largest}", "box_clamps")
    if contents.supports:
        what = f"{contents.supports} type{_s(contents.supports)} of support fitting, as {largest}"
        add(Fraction(contents.supports), largest, what, "box_supports")
    for many, text in contents.devices:
        allowances = many * edition.limit("box_device")
        add(allowances, sizes[text], f"{many} device gang{_s(many)} on {sizes[text]}", "box_devices")
    if contents.grounds:
        many = sum(each for each, _ in contents.grounds)
        thick = max((sizes[text] for _, text in contents.grounds), key=edition.rank)
        further = max(Fraction(0), many - edition.limit("box_grounds_in_one"))
        allowances = 1 + further * edition.limit("box_ground_further")
        add(allowances, thick, f"{many} grounding conductor{_s(many)}, as {thick}", "box_grounds")
    for many, text in contents.terminal_blocks:
        add(Fraction(many), sizes[text], f"{many} terminal block{_s(many)} on {sizes[text]}", "box_terminals")
    return BoxNeed(
        needed_in3=float(total), needed_cm3=float(total * CM3_PER_IN3), allowances=float(count), steps=tuple(steps)
    )


def all_boxes(edition: Edition) -> tuple[TabledBox, ...]:
    """The boxes of the table, in its order. A box marked with its own volume is checked by that volume instead."""
    return tuple(row.read(TabledBox) for row in edition.rows("box_volumes"))


def find_box(text: str, edition: Edition) -> TabledBox:
    """'4 x 1 1/2 square', '4x1-1/2 octagonal', '3 x 2 x 3 1/2 device'. Raises UnknownName with the boxes that exist."""
    wanted = _key(text)
    for box in all_boxes(edition):
        if _key(box.name) == wanted:
            return box
    message = f"No box '{text}' in the table of {edition.name}."
    known = (box.name for box in all_boxes(edition))
    more = "; for another box give its marked volume"
    raise UnknownName.among(message, "boxes", known, field="box", example="4 x 1 1/2 square", more=more)


def boxes_that_hold(need: BoxNeed, edition: Edition, *, shape: str = "") -> tuple[TabledBox, ...]:
    """The table's boxes with room enough, smallest first; `shape` ('square', 'octagonal', 'device', ...) narrows it.

    Raises UnknownName for a shape that is not in the table.
    """
    shapes = tuple(dict.fromkeys(box.shape for box in all_boxes(edition)))
    if shape and shape not in shapes:
        raise UnknownName.among(f"No boxes of shape '{shape}' in the table.", "shapes", shapes, field="shape")
    fitting = [
        box
        for box in all_boxes(edition)
        if box.volume_in3 >= need.needed_in3 - 1e-9 and (not shape or box.shape == shape)
    ]
    return tuple(sorted(fitting, key=lambda box: box.volume_in3))


def check_box(need: BoxNeed, volume_in3: float, edition: Edition, *, name: str = "") -> tuple[Finding, ...]:
    """A problem where a box of `volume_in3` (in3) is too small. Raises InputError for a volume not above 0."""
    above_zero(volume_in3, "Box volume", "in3", "volume")
    if need.needed_in3 <= volume_in3 + 1e-9:
        return ()
    label = name or f"box of {volume_in3:g} in3"
    return (
        Finding(
            rule="box.fill",
            severity="problem",
            message=f"{label} has {volume_in3:g} in3; its contents need {need.needed_in3:g} in3 "
            f"(short by {need.needed_in3 - volume_in3:.4g} in3). Take a deeper box or bring fewer wires in.",
            **edition.cited("box_volume"),
            where=label,
            measured=need.needed_in3,
            allowed=volume_in3,
            unit="in3",
        ),
    )


def parse_counted(texts: Sequence[str], field: str) -> tuple[Counted, ...]:
    """'4 x 12' -> (4, '12'); '12' -> (1, '12'). Raises InputError."""
    found = []
    for text in texts:
        parts = text.lower().replace("×", "x").split("x", 1)
        try:
            many, size = (int(parts[0]), parts[1]) if len(parts) > 1 else (1, parts[0])
        except ValueError:
            raise InputError(
                f"'{text}' cannot be read as a count and a size.",
                hint="write count x size: '4 x 12'",
                field=field,
                expected="count x size",
                example="4 x 12",
            ) from None
        found.append((many, size.strip()))
    return tuple(found)


def _size(text: str, edition: Edition) -> str:
    size = edition.size(text)
    if edition.find("box_allowances", "size", size) is None:
        message = f"The box table has no allowance for {size}; it ends at 6 AWG."
        known = (row.cells["size"] for row in edition.rows("box_allowances"))
        more = "; with 4 AWG or thicker the pull-box rule sets the box's dimensions"
        raise InputError.among(message, "sizes", known, field="size", example="12", more=more)
    return size


def _whole(many: int, text: str) -> bool:
    if many < 1:
        raise InputError(
            f"'{many} x {text}' is no count; leave out what is not there.",
            hint="write 1 or more",
            field="count",
            expected="1 or more",
        )
    return True


def _allowance(size: str, edition: Edition) -> Fraction:
    row = edition.find("box_allowances", "size", size)
    assert row is not None
    return Fraction(row.cells["volume_in3"])


def _key(text: str) -> tuple[str, ...]:
    words = text.lower().replace("×", "x").replace('"', "").replace(" in ", " ").split()
    names = [word for word in words if word.isalpha() and word not in ("x", "in", "box", "deep")]
    size = " ".join(word for word in words if word not in names and word not in ("in", "box", "deep"))
    parts = []
    for part in size.split("x"):
        try:
            parts.append(str(parse_length(part.strip(), "in")))
        except InputError:
            parts.append(part.strip())
    return (*parts, *sorted(names))


def _s(many: int) -> str:
    return "" if many == 1 else "s"
