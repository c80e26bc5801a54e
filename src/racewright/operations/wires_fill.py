"""The smallest raceway for a set of wires; whether wires go into a raceway, and how many more."""

from __future__ import annotations

from racewright.cards.text.wires import fit_words, size_words
from racewright.catalogue.raceways import find_raceway
from racewright.codebook.edition import Edition, load_edition
from racewright.errors import InputError
from racewright.operations.common import LengthText, Name
from racewright.operations.known import Known
from racewright.operations.wires_common import CodeAnswer, CodeRequest, Texts, by_the_code, told_of
from racewright.wires.conductors import parse_group, parse_groups
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

    wires: Texts
    raceway: Name
    nipple: LengthText = ""


class WiresSizeAnswer(CodeAnswer, frozen=True, kw_only=True):
    """The smallest trade size that takes them, and how far it is filled."""

    result: FillSize


class WiresFitRequest(CodeRequest, frozen=True, kw_only=True):
    """Do `wires` go into `raceway` of `trade_size`, and how many of the wire `more` ('12 THHN') beside them."""

    raceway: Name
    trade_size: Name
    wires: Texts = ()
    more: Name = ""
    nipple: LengthText = ""


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
    with told_of({"size": "trade_size", "type": "raceway"}):
        raceway = find_raceway(request.raceway, request.trade_size)
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
