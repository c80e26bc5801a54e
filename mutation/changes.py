"""Small wrong changes of a Python source, each at one place: a slip of the hand, or a formula remembered wrongly.

Texts are left alone (their words are held elsewhere), and so is what no reader gets: annotations, docstrings, `raise`,
`assert`, and the `strict` of a zip.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass

COMPARED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.GtE,
    ast.GtE: ast.Lt,
    ast.Gt: ast.LtE,
    ast.LtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
}
#: At a whole number the limit itself is a case of its own; between measured lengths it is none.
LIMITS: dict[type[ast.cmpop], type[ast.cmpop]] = {ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt}
WORKED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
}
TWINS = {
    a: b
    for one, other in (
        ("max", "min"),
        ("sin", "cos"),
        ("any", "all"),
        ("floor", "ceil"),
        ("left", "right"),
        ("first", "last"),
    )
    for a, b in ((one, other), (other, one))
}
#: A figure below it only keeps rounding out of a choice.
TOLERANCE = 1e-3
#: Calls that mean the same with their first two arguments swapped.
EITHER_WAY = {"add", "distance", "dot", "hypot", "isclose", "zip"}
TEXTS = (ast.JoinedStr, ast.List, ast.Tuple, ast.ListComp)


@dataclass(frozen=True)
class Change:
    """One change: `was` becomes `now` at the `nth` such place of the function `within` ("" for the module itself)."""

    path: str
    within: str
    kind: str
    was: str
    now: str
    nth: int
    line: int
    text: str
    """What stands in the source instead, from byte `start` to `end`."""
    start: int
    end: int

    @property
    def key(self) -> str:
        """Names the change as long as its function holds the same places, wherever the function stands."""
        return f"{self.path} {self.within or '(module)'}: {self.was} -> {self.now}" + (
            f" #{self.nth + 1}" if self.nth else ""
        )

    def made(self, source: bytes) -> bytes:
        """The source with this change."""
        return source[: self.start] + self.text.encode() + source[self.end :]


def _is_text(node: ast.expr) -> bool:
    return isinstance(node, TEXTS) or (isinstance(node, ast.Constant) and isinstance(node.value, str))


@dataclass(frozen=True)
class Way:
    """What a node becomes; what is said of it, where the node's whole text would be too long."""

    kind: str
    wrong: ast.AST
    was: str = ""
    now: str = ""


def _short(node: ast.AST) -> str:
    """The node's text on one line of at most 60 signs."""
    text = " ".join(ast.unparse(node).split())
    return text if len(text) <= 60 else f"{text[:40]} ... {text[-15:]}"


def _call(node: ast.Call, one: ast.expr, two: ast.expr) -> str:
    return f"{_short(node.func)}({_short(one)}, {_short(two)}{', ...' if len(node.args) > 2 or node.keywords else ''})"


def _like(node: ast.AST, **parts: object) -> ast.AST:
    """The same node with other parts."""
    return type(node)(**{**dict(ast.iter_fields(node)), **parts})


def _of_expression(node: ast.AST) -> Iterator[Way]:
    match node:
        case ast.Compare(left=left, ops=[op], comparators=[right]):
            yield Way("comparison", _like(node, ops=[COMPARED[type(op)]()]))
            whole = any(isinstance(side, ast.Constant) and type(side.value) is int for side in (left, right))
            if whole and type(op) in LIMITS:
                yield Way("limit", _like(node, ops=[LIMITS[type(op)]()]))
        case ast.BinOp(left=left, op=op, right=right) if type(op) in WORKED and not (_is_text(left) or _is_text(right)):
            yield Way("arithmetic", _like(node, op=WORKED[type(op)]()))
        case ast.UnaryOp(op=ast.USub(), operand=ast.Constant(value=float() as value)) if value < TOLERANCE:
            pass
        case ast.UnaryOp(op=ast.USub() | ast.Not(), operand=operand):
            yield Way("sign" if isinstance(node.op, ast.USub) else "not", operand)
        case ast.BoolOp(op=op):
            yield Way("and/or", _like(node, op=ast.Or() if isinstance(op, ast.And) else ast.And()))
        case ast.IfExp(body=body, orelse=orelse):
            yield Way("if/else", _like(node, body=orelse, orelse=body))
        case ast.Constant(value=bool()):
            yield Way("constant", ast.Constant(value=not node.value))
        case ast.Constant(value=int() as count):
            yield Way("constant", ast.Constant(value=count + 1))
        case ast.Constant(value=float() as value) if not 0.0 < value < TOLERANCE:
            yield Way("constant", ast.Constant(value=float(f"{value * 1.1:.6g}") if value else 1.0))
        case ast.Call():
            yield from _of_call(node)


def _of_call(node: ast.Call) -> Iterator[Way]:
    if isinstance(node.func, ast.Name) and node.func.id in TWINS:
        yield Way("twin", _like(node, func=ast.Name(id=TWINS[node.func.id])))
    plain = not any(isinstance(arg, ast.Starred) for arg in node.args)
    if plain and len(node.args) >= 2 and ast.dump(node.args[0]) != ast.dump(node.args[1]):
        one, two, *rest = node.args
        if not (isinstance(node.func, ast.Name) and node.func.id in {*TWINS, *EITHER_WAY, "isinstance"}):
            yield Way("order", _like(node, args=[two, one, *rest]), _call(node, one, two), _call(node, two, one))
    for i, keyword in enumerate(node.keywords):
        if keyword.arg is not None and keyword.arg not in {"message", "hint", "citation", "strict"}:
            less = _like(node, keywords=node.keywords[:i] + node.keywords[i + 1 :])
            yield Way("keyword", less, f"{_short(node.func)}(..., {_short(keyword)})", "it left out")


def _of_statement(node: ast.AST) -> Iterator[Way]:
    match node:
        case ast.Expr(value=ast.Call() | ast.Yield() | ast.YieldFrom()):
            yield Way("dropped", ast.Pass() if isinstance(node.value, ast.Call) else ast.parse("yield from ()").body[0])
        case ast.AugAssign(op=op) if type(op) in WORKED and not _is_text(node.value):
            yield Way("arithmetic", _like(node, op=WORKED[type(op)]()))
        case ast.Continue() | ast.Break():
            yield Way("dropped", ast.Pass())


def _left_alone(node: ast.AST) -> bool:
    if isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING":
        return True
    if isinstance(node, ast.keyword) and node.arg == "strict":
        return True
    named = isinstance(node, ast.FunctionDef) and node.name in {"__repr__", "__str__"}
    return named or isinstance(node, (ast.Raise, ast.Assert, ast.JoinedStr, ast.Import, ast.ImportFrom, ast.arg))


def _children(node: ast.AST) -> Iterator[ast.AST]:
    """The parts of a node that a person's figures go through."""
    for name, value in ast.iter_fields(node):
        if name in {"annotation", "returns", "decorator_list", "bases", "keywords"} and not isinstance(node, ast.Call):
            continue
        yield from (part for part in (value if isinstance(value, list) else [value]) if isinstance(part, ast.AST))


def changes(path: str, source: bytes) -> list[Change]:
    """All changes of one source, in its order."""
    starts = [0]
    for line in source.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    found: list[Change] = []
    met: dict[tuple[str, str, str], int] = {}

    def look(node: ast.AST, within: str) -> None:
        if _left_alone(node):
            return
        if isinstance(node, (ast.FunctionDef, ast.ClassDef, ast.AsyncFunctionDef)):
            within = f"{within}.{node.name}".lstrip(".")
        ways = _of_statement(node) if isinstance(node, ast.stmt) else _of_expression(node)
        for way in ways:
            text = ast.unparse(ast.fix_missing_locations(way.wrong))
            text = f"({text})" if isinstance(way.wrong, ast.expr) else text
            was, now = way.was or _short(node), way.now or _short(way.wrong)
            nth = met.get((within, was, now), -1) + 1
            met[within, was, now] = nth
            begin = starts[node.lineno - 1] + node.col_offset  # type: ignore[attr-defined]
            end = starts[node.end_lineno - 1] + node.end_col_offset  # type: ignore[attr-defined]
            found.append(Change(path, within, way.kind, was, now, nth, node.lineno, text, begin, end))  # type: ignore[attr-defined]
        for child in _children(node):
            look(child, within)

    look(ast.parse(source), "")
    return found
