"""The room that wires and devices need in a box, and the least size of a pull box."""

from __future__ import annotations

from math import inf

from racewright.cards.text.wires import box_words, pull_box_words
from racewright.codebook.edition import load_edition
from racewright.errors import Finding
from racewright.operations.common import LengthText, Name
from racewright.operations.known import Known
from racewright.operations.wires_common import CodeAnswer, CodeRequest, Texts, by_the_code, told_of, within
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
from racewright.wires.pull_box import PullBox, check_pull_box, parse_pull, pull_box


class WiresBoxRequest(CodeRequest, frozen=True, kw_only=True):
    """What is in the box, each as count and size ('4 x 12'): `wires` in, long unbroken `loops`, `grounds`, `devices`
    (gangs and the wire on them), `terminal_blocks`; `clamps` inside it, and how many types of luminaire stud or hickey
    (`supports`). `box` of the table ('4 x 1 1/2 square') or its marked `volume_in3` is checked; `shape` narrows the
    boxes that are named: square, octagonal, device, masonry, cast."""

    wires: Texts = ()
    loops: Texts = ()
    grounds: Texts = ()
    devices: Texts = ()
    terminal_blocks: Texts = ()
    clamps: bool = False
    supports: int = 0
    box: Name = ""
    volume_in3: float | None = None
    shape: Name = ""


class WiresBoxAnswer(CodeAnswer, frozen=True, kw_only=True):
    """The room needed, and the boxes of the table that have it, smallest first."""

    need: BoxNeed
    boxes: tuple[TabledBox, ...]


class WiresPullboxRequest(CodeRequest, frozen=True, kw_only=True):
    """`pulls` as 'straight left 2 -> right 2', 'angle left 3 -> bottom 3', 'u top 2 -> top 2'; `conductor` the thickest
    in it, `bare` where that one is. A box of inside `width` (left to right) and `height` is checked."""

    pulls: Texts
    conductor: Name = "4"
    bare: bool = False
    width: LengthText = ""
    height: LengthText = ""


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
