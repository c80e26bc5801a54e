"""The room that wires need: in a raceway, in a box, and the least size of a pull box."""

from __future__ import annotations

from math import inf
from typing import Annotated

import msgspec

from racewright.cards.text.wires import box_words, fit_words, pull_box_words, size_words
from racewright.catalogue.raceways import find_raceway
from racewright.codebook.edition import Edition, load_edition
from racewright.errors import Finding, InputError, told_of
from racewright.operations.common import Known, LengthText, Name
from racewright.operations.wires_common import (
    CodeAnswer,
    CodeRequest,
    Nipple,
    RacewayType,
    Texts,
    TradeSize,
    Wires,
    by_the_code,
    within,
)
from racewright.units.length import parse_length
from racewright.wires.box_fill import (
    BoxContents,
    BoxNeed,
    TabledBox,
    box_need,
    boxes_that_hold,
    check_box,
    find_box,
    parse_counted,
)
from racewright.wires.conductors import parse_group, parse_groups
from racewright.wires.pull_box import PullBox, check_pull_box, parse_pull, pull_box
from racewright.wires.wire_fill import (
    OVAL_BORE,
    Fill,
    FillSize,
    MoreFit,
    check_fill,
    how_many_fit,
    is_nipple,
    size_raceway,
)

#: What the rules look at -> the field of the request.
_FIELDS = {"size": "wires", "insulation": "wires", "cable": "wires", "type": "raceway"}


class WiresSizeRequest(CodeRequest, frozen=True, kw_only=True):
    """`wires` as '3 x 8 THHN', '1 x 10 bare', 'cable 0.46 in'; `raceway` a type ('EMT'); `nipple` the length of
    a nipple from one box to the next, '' for a run."""

    wires: Wires
    raceway: RacewayType
    nipple: Nipple = ""


class WiresSizeAnswer(CodeAnswer, frozen=True, kw_only=True):
    """The smallest trade size that takes them, and how far it is filled."""

    result: FillSize


class WiresFitRequest(CodeRequest, frozen=True, kw_only=True):
    """Do `wires` go into `raceway` of trade size `size`, and how many of the wire `more` ('12 THHN') beside them."""

    raceway: RacewayType
    size: TradeSize
    wires: Wires = ()
    more: Annotated[
        Name,
        msgspec.Meta(
            title="How many more of", description="also say how many further wires of this kind go in: '12 THHN'"
        ),
    ] = ""
    nipple: Nipple = ""


class WiresFitAnswer(CodeAnswer, frozen=True, kw_only=True):
    """`fill` null where no wires were named, `more` null where it was not asked how many further ones go in."""

    fill: Fill | None
    more: MoreFit | None


def size(request: WiresSizeRequest, _known: Known) -> WiresSizeAnswer:
    """Raises InputError, UnknownName, LimitError (no trade size takes them, too long for a nipple)."""
    book = load_edition(request.edition)
    with told_of(_FIELDS):
        nipple = is_nipple(request.nipple, book)
        found = size_raceway(request.raceway, parse_groups(request.wires, book), book, nipple=nipple)
    return WiresSizeAnswer(
        result=found,
        not_included=_not_included(found.fill, book, nipple=nipple),
        **by_the_code(size_words(found), book, found.fill.steps, found.fill.findings),
    )


def fit(request: WiresFitRequest, _known: Known) -> WiresFitAnswer:
    """Raises InputError, UnknownName, LimitError (too long for a nipple)."""
    book = load_edition(request.edition)
    if not request.wires and not request.more:
        raise InputError("No wires were named.", hint="name wires, or a wire to count: '12 THHN'", field="wires")
    with told_of({"type": "raceway"}):
        raceway = find_raceway(request.raceway, request.size)
    fill = more = None
    with told_of(_FIELDS):
        nipple = is_nipple(request.nipple, book)
        groups = parse_groups(request.wires, book) if request.wires else ()
        fill = check_fill(raceway, groups, book, nipple=nipple) if groups else None
    if request.more:
        with told_of(dict.fromkeys((*_FIELDS, "wires"), "more")):
            more = how_many_fit(raceway, parse_group(request.more, book).wire, book, beside=groups, nipple=nipple)
    shown = fill or (more.fill_with_more if more else None)
    return WiresFitAnswer(
        fill=fill,
        more=more,
        not_included=_not_included(shown, book, nipple=nipple),
        **by_the_code(
            fit_words(raceway.name, fill, more), book, shown.steps if shown else (), shown.findings if shown else ()
        ),
    )


def _not_included(fill: Fill | None, book: Edition, *, nipple: bool) -> tuple[str, ...]:
    """Fill knows neither heat nor the oval bore of a bend."""
    said = []
    free = book.limit("free_count")
    if fill is not None and fill.count > free and not nipple:
        said.append(f"Heat: more than {free} current-carrying wires in one raceway carry less; work the ampacity too.")
    if fill is not None and fill.jam_ratio is not None:
        put_on = f"some pulling guides put {OVAL_BORE:g} on the ratio of jamming"
        said.append(f"The oval bore of a bend: {put_on}; measure where it is close.")
    return tuple(said)


class WiresBoxRequest(CodeRequest, frozen=True, kw_only=True):
    """What is in the box, each as count and size ('4 x 12'): `wires` in, long unbroken `loops`, `grounds`, `devices`
    (gangs and the wire on them), `terminal_blocks`; `clamps` inside it, and how many types of luminaire stud or hickey
    (`supports`). `box` of the table ('4 x 1 1/2 square') or its marked `volume_in3` is checked; `shape` narrows the
    boxes that are named: square, octagonal, device, masonry, cast."""

    wires: Annotated[Texts, msgspec.Meta(title="Conductors in", description="conductors in, '4 x 12'")] = ()
    loops: Annotated[Texts, msgspec.Meta(title="Long unbroken loops", description="long unbroken loops, '2 x 12'")] = ()
    grounds: Annotated[
        Texts, msgspec.Meta(title="Grounding conductors", description="grounding conductors, '3 x 12'")
    ] = ()
    devices: Annotated[
        Texts, msgspec.Meta(title="Devices", description="device gangs and the wire on them, '1 x 12'")
    ] = ()
    terminal_blocks: Annotated[
        Texts, msgspec.Meta(title="Terminal blocks", description="terminal blocks, '1 x 12'")
    ] = ()
    clamps: Annotated[bool, msgspec.Meta(title="Clamps inside", description="there are clamps inside the box")] = False
    supports: Annotated[
        int,
        msgspec.Meta(
            title="Stud or hickey types", description="types of luminaire stud or hickey, where there are any"
        ),
    ] = 0
    box: Annotated[
        Name,
        msgspec.Meta(
            title="Box to check", description="a box of the table, '4 x 1 1/2 square'", extra={"choose": "boxes"}
        ),
    ] = ""
    volume_in3: Annotated[
        float | None,
        msgspec.Meta(
            title="Its marked volume", description="marked volume of the box in cubic inches", extra={"unit": "in³"}
        ),
    ] = None
    shape: Annotated[
        Name,
        msgspec.Meta(
            title="Only boxes of shape",
            description="only boxes of this shape: square, octagonal, device, masonry, cast",
            extra={"choose": "box shapes"},
        ),
    ] = ""


class WiresBoxAnswer(CodeAnswer, frozen=True, kw_only=True):
    """The room needed, and the boxes of the table that have it, smallest first."""

    need: BoxNeed
    boxes: tuple[TabledBox, ...]


class WiresPullboxRequest(CodeRequest, frozen=True, kw_only=True):
    """`pulls` as 'straight left 2 -> right 2', 'angle left 3 -> bottom 3', 'u top 2 -> top 2'; `conductor` the thickest
    in it, `bare` where that one is. A box of inside `width` (left to right) and `height` is checked."""

    pulls: Annotated[
        Texts,
        msgspec.Meta(
            title="Pulls", description="'straight left 2 -> right 2', 'angle left 3 -> bottom 3', 'u top 2 -> top 2'"
        ),
    ]
    conductor: Annotated[
        Name, msgspec.Meta(title="Thickest conductor", description="thickest conductor in it (4 where nothing is said)")
    ] = "4"
    bare: Annotated[bool, msgspec.Meta(title="It is bare", description="that conductor is bare")] = False
    width: Annotated[
        LengthText,
        msgspec.Meta(title="Width of a box to check", description="inside width of a box to check, left to right"),
    ] = ""
    height: Annotated[
        LengthText,
        msgspec.Meta(title="Height of a box to check", description="inside height of a box to check, top to bottom"),
    ] = ""


class WiresPullboxAnswer(CodeAnswer, frozen=True, kw_only=True):
    """The least inside dimensions."""

    result: PullBox


def box(request: WiresBoxRequest, _known: Known) -> WiresBoxAnswer:
    """Raises InputError (an empty box, a wire that the box table does not have), UnknownName."""
    book = load_edition(request.edition)
    within(request.supports, "supports", 0, 100, whole=True)
    lists = {name: getattr(request, name) for name in ("wires", "loops", "grounds", "devices", "terminal_blocks")}
    with told_of({"size": "wires", "count": "wires", "volume": "volume_in3"}):
        counted = {name: parse_counted(texts, name) for name, texts in lists.items()}
        need = box_need(
            BoxContents(conductors=counted.pop("wires"), clamps=request.clamps, supports=request.supports, **counted),
            book,
        )
        named = find_box(request.box, book) if request.box else None
        volume = named.volume_in3 if named else request.volume_in3
        findings: tuple[Finding, ...] = ()
        if volume is not None:
            findings = check_box(need, volume, book, name=named.name if named else "")
        holding = boxes_that_hold(need, book, shape=request.shape)
    words = box_words(need, named.name if named else "", volume, not findings, holding)
    return WiresBoxAnswer(need=need, boxes=holding, **by_the_code(words, book, need.steps, findings))


def pullbox(request: WiresPullboxRequest, _known: Known) -> WiresPullboxAnswer:
    """Raises InputError (a pull that cannot be read), UnknownName."""
    book = load_edition(request.edition)
    with told_of({"size": "conductor", "pull": "pulls"}):
        need = pull_box(
            [parse_pull(text) for text in request.pulls],
            book,
            largest_conductor=request.conductor,
            insulated=not request.bare,
        )
    findings = need.findings
    if request.width or request.height:
        sides = {"width": request.width, "height": request.height}
        width, height = (
            float(parse_length(text, field=side, allow_zero=False)) if text else inf for side, text in sides.items()
        )
        findings += check_pull_box(need, width, height, book)
    return WiresPullboxAnswer(result=need, **by_the_code(pull_box_words(need), book, need.steps, findings))
