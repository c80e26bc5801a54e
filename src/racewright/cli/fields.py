"""Options that are the fields of a request: what is not given keeps the request's own default."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from racewright.operations.common import Request


class Fields:
    """Adds options to a parser, each the field of a request (`dest`, where the option is not called the same)."""

    def __init__(self, parser: argparse.ArgumentParser) -> None:
        self._parser, self._told = parser, dict[str, str]()
        parser.argument_default = argparse.SUPPRESS
        parser.set_defaults(told=self._told)

    def __call__(self, name: str, help_text: str, **more: Any) -> None:
        """One option, or one argument without dashes."""
        action = self._parser.add_argument(name, help=help_text, **more)
        self._told[action.dest] = name if name.startswith("-") else str(action.metavar or name)


def request_of(operation: str, args: argparse.Namespace) -> Request:
    """The request that the options make."""
    from racewright.operations.operations import OPERATIONS

    kind = OPERATIONS[operation].request
    given = {field: value for field, value in vars(args).items() if field in kind.__struct_fields__}
    return kind(**{field: tuple(value) if isinstance(value, list) else value for field, value in given.items()})
