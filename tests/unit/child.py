"""Work in a forked process, where it may become somebody else or be killed."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import Any


def in_child(work: Callable[..., Any]) -> int:
    """Run in a forked process; returns its exit code, 0 where nothing was raised."""
    child = os.fork()
    if child == 0:
        code = 1
        try:
            work()
            code = 0
        except BaseException:
            import traceback

            traceback.print_exc()
        finally:
            os._exit(code)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
