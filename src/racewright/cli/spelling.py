"""`center` and `centre`: the command line takes both, and refuses both at once."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import Any

from racewright.errors import InputError


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
