"""A command's options: from the fields of a request, and figures such as '2=47'."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Collection, Mapping, Sequence
from types import MappingProxyType
from typing import Any, TypeAlias

import msgspec
from msgspec import inspect

from racewright.errors import InputError
from racewright.field_words import one_word

Actions: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"

#: Fields that have another name on the command line.
OTHER_NAMES = {"bender_name": "--bender"}
#: What stands for a value in a command's help, by the end of its field's name.
_UNITS = {"_lb_per_ft": "LB/FT", "_ohm_per_kft": "OHM", "_percent": "PERCENT", "_in3": "IN3", "_lb": "LB", "_a": "A"}
_METAVARS = {"c": "DEGREES", "f": "DEGREES", "carrying": "N"}


class Fields:
    """Adds options by hand, each the field of a request (`dest`, where the option is not called the same)."""

    def __init__(self, parser: argparse.ArgumentParser) -> None:
        self._parser, self._told = parser, dict[str, str]()
        parser.set_defaults(told=self._told)

    def __call__(self, name: str, help_text: str, **more: Any) -> None:
        """One option, or one argument without dashes; what is not given is left to the request's own default."""
        if name.startswith("-"):
            more["default"] = None
            if more.get("action") != "store_true" and "choices" not in more:
                more.setdefault("metavar", _metavar(name, str(more.get("dest", ""))))
        action = self._parser.add_argument(name, help=help_text, **more)
        self._told[action.dest] = name if name.startswith("-") else str(action.metavar or name)


def action(
    actions: Actions, name: str, *, help: str, parents: Sequence[argparse.ArgumentParser] = ()
) -> argparse.ArgumentParser:
    """One action of a command: what it does stands in the command's list, and above its own options."""
    return actions.add_parser(name, parents=parents, help=help, description=f"{help[0].upper()}{help[1:]}.")


def option_of(field: str) -> str:
    """'second_stub' -> '--second-stub'."""
    return OTHER_NAMES.get(field, "--" + field.replace("_", "-"))


def add_options(
    parser: argparse.ArgumentParser,
    request: type[msgspec.Struct],
    *,
    leave_out: Collection[str] = (),
    names: Mapping[str, str] = MappingProxyType({}),
    lists: Mapping[str, Callable[[str], Any]] = MappingProxyType({}),
) -> dict[str, str]:
    """One option a field; what is not given is left to the request's own default. Gives the fields' options. `names`:
    of fields that are called otherwise here; one without dashes is an argument. A field of several texts may be
    repeated, but for those of `lists`, whose reader makes all of it from one text."""
    kind = inspect.type_info(request)
    assert isinstance(kind, inspect.StructType)
    called = {field.name: names.get(field.name) or option_of(field.name) for field in kind.fields}
    for field in kind.fields:
        if field.name not in leave_out:
            _add(parser, field, called[field.name], lists.get(field.name))
    return called


def given(args: argparse.Namespace, request: type[msgspec.Struct]) -> dict[str, Any]:
    """What was typed, by the request's field."""
    values = {name: getattr(args, name, None) for name in request.__struct_fields__}
    values = {name: tuple(value) if isinstance(value, list) else value for name, value in values.items()}
    return {name: value for name, value in values.items() if value is not None}


def options_of(request: type[msgspec.Struct], at: str = "") -> Mapping[str, str]:
    """The request's fields, below `at`, by the option that gives them, for `cli.answers.asked`."""
    return {f"{at}.{name}".lstrip("."): option_of(name) for name in request.__struct_fields__}


def _add(
    parser: argparse.ArgumentParser, field: inspect.Field, option: str, whole_list: Callable[[str], Any] | None
) -> None:
    kind: Any = field.type
    help_text, extra = "", {}
    if isinstance(kind, inspect.Metadata):
        help_text = str((kind.extra_json_schema or {}).get("description", ""))
        extra, kind = kind.extra or {}, kind.type
    if isinstance(kind, inspect.UnionType):
        kind = next(one for one in kind.types if not isinstance(one, inspect.NoneType))
    several = isinstance(kind, inspect.VarTupleType)
    names = [option] if "centre" not in option else [option, option.replace("centre", "center")]
    more: dict[str, Any] = {"help": _with_default(help_text, field.default)}
    repeated = several and option.startswith("-") and whole_list is None
    more["help"] += "; may be repeated" if repeated else ""
    if not option.startswith("-"):
        many: dict[str, Any] = {"nargs": "+" if field.required else "*"} if several else {}
        parser.add_argument(field.name, metavar=option, **many, **more)
        return
    more |= {"dest": field.name, "required": field.required}
    if isinstance(kind, inspect.BoolType):
        parser.add_argument(*names, action="store_true", default=None, **more)
        return
    if isinstance(kind, inspect.LiteralType):
        more |= {"choices": kind.values, "type": int if isinstance(kind.values[0], int) else one_word}
    elif isinstance(kind, inspect.IntType) and kind.le is not None:
        more |= {"type": whole(option, kind.ge or 0, kind.le), "metavar": "N"}
    else:
        more["metavar"] = extra.get("metavar") or _metavar(option, field.name)
        if isinstance(kind, inspect.IntType | inspect.FloatType):
            more["type"] = int if isinstance(kind, inspect.IntType) else float
    if repeated:
        more["action"] = "append"
    elif several:
        more["type"] = whole_list
    if len(names) > 1:
        more["action"] = GivenOnce
    parser.add_argument(*names, **more)


def _metavar(option: str, field: str) -> str:
    """'--sidewall-limit' of `sidewall_limit_lb_per_ft` -> 'LB/FT'; '--size' -> 'SIZE'."""
    last = option.rpartition("-")[2]
    unit = next((words for end, words in _UNITS.items() if field.endswith(end)), "")
    return unit or _METAVARS.get(last, last.upper())


def _with_default(text: str, default: object) -> str:
    told = default not in ("", None, False, 0, ()) and default is not msgspec.NODEFAULT
    return f"{text} ({default})" if told and not text.endswith(")") and "nothing is said" not in text else text


class GivenOnce(argparse.Action):
    """An option of two spellings that is given once."""

    def __call__(
        self,
        parser: argparse.ArgumentParser,
        namespace: argparse.Namespace,
        values: str | Sequence[Any] | None,
        option_string: str | None = None,
    ) -> None:
        """Keep the value; refuse a second one."""
        if getattr(namespace, self.dest) is not None:
            names = " or ".join(self.option_strings)
            raise InputError(f"{names} is given twice.", hint="keep one of the two", field=self.option_strings[0])
        setattr(namespace, self.dest, values)


def whole(option: str, least: int, most: int) -> Callable[[str], int]:
    """The type of an option that counts something. Raises InputError where it is no whole number of that range."""

    def read(text: str) -> int:
        bare = text.strip()
        if len(bare) > 20 or not bare.removeprefix("-").isdecimal() or not least <= int(bare) <= most:
            raise InputError(
                f"{option}: '{bare[:20]}' cannot be taken: a whole number from {least:,} to {most:,} belongs there.",
                hint=f"for example {f'{option} ' if option.startswith('-') else ''}{max(least, 1)}",
                field=option,
                expected=f"{least} to {most}",
            )
        return int(bare)

    return read


def figure(option: str) -> Callable[[str], float]:
    """The type of an option that is a figure without a unit. Raises InputError where it is none."""

    def read(text: str) -> float:
        try:
            return float(text)
        except ValueError:
            raise InputError(
                f"{option}: '{text.strip()[:20]}' cannot be taken: a number belongs there.",
                hint=f"for example {option} 2.5",
                field=option,
            ) from None

    return read


def copies(option: str, most: int) -> Callable[[str], tuple[int, ...]]:
    """The type of an option that names copies of a run: '14', '1-14', '1,3,5-7'. Raises InputError."""

    def read(text: str) -> tuple[int, ...]:
        found: dict[int, None] = {}
        for part in text.split(","):
            first, _, last = part.partition("-")
            number = whole(option, 1, most)
            low, high = number(first), number(last or first)
            if low > high:
                raise InputError(
                    f"{option}: '{part.strip()[:20]}' ends before it begins.",
                    hint=f"for example {option} 1-14",
                    field=option,
                )
            found.update(dict.fromkeys(range(low, high + 1)))
        return tuple(found)

    return read


def degrees(text: str, option: str) -> float:
    """An angle up to half a turn. Raises InputError naming the option."""
    from racewright.units.angle import read_degrees

    return read_degrees(text, least=-180.0, most=180.0, field=option, hint="write it as 47 or 46.5", example="47")


def pair(text: str, option: str, example: str) -> tuple[str, str]:
    """The two sides of '='. Raises InputError naming the option."""
    left, equals, right = text.partition("=")
    if not equals or not left.strip() or not right.strip():
        raise InputError(
            f"'{text}' does not say where and how much.",
            hint=f"write {option} {example}",
            field=option,
            example=example,
        )
    return left.strip(), right.strip()


def mark_number(text: str, option: str) -> int:
    """Which mark, from 1. Raises InputError naming the option."""
    if not text.isascii() or not text.isdigit() or len(text) > 9:
        raise InputError(f"'{text}' is no mark's number.", hint="marks count from end A, the first is 1", field=option)
    return int(text)


def piece_arguments(parser: argparse.ArgumentParser, epilog: str) -> None:
    """The file of a bent piece, which piece of it, and how the answer is printed."""
    parser.formatter_class, parser.epilog = argparse.RawDescriptionHelpFormatter, epilog
    file = "the survey file that the piece was planned from, or the plan as JSON"
    parser.add_argument("file", metavar="FILE", help=file)
    count = whole("--piece", 1, 1000)
    parser.add_argument("--piece", type=count, default=1, metavar="N", help="which piece of the run (1)")
    parser.add_argument("--bender", metavar="NAME", help="use this bender instead of the survey's (not with a plan)")
    parser.add_argument("--json", action="store_true", help="print the answer as JSON")
