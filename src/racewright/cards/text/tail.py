"""What stands under every answer, the same on each door: findings, what is not included, what to take care of."""

from __future__ import annotations

import re
from collections.abc import Sequence
from textwrap import wrap
from typing import TYPE_CHECKING

from racewright.codebook.edition import marked
from racewright.errors import SEVERITY_WORDS, Finding
from racewright.printable import printable

if TYPE_CHECKING:
    from racewright.operations.common import Answer

#: The head of what is left out, where it stands before the first table, and what stands there where nothing is.
LEFT_OUT = "NOT INCLUDED"
NOTHING_LEFT_OUT = "Nothing known is left out."

_COLOUR = re.compile("\x1b\\[[0-9;]*m")


def finding_line(finding: Finding) -> str:
    """'problem: bend 2: ... [raceway.degrees; NFPA 70-2023 358.26]'."""
    basis = marked(finding.citation, finding.standing) if finding.citation else ""
    where = f"{finding.where}: " if finding.where and not finding.says_where(at_start=True) else ""
    source = "; ".join(filter(None, (finding.rule, basis)))
    return f"{SEVERITY_WORDS[finding.severity]}: {where}{finding.message} [{source}]"


def problems(findings: Sequence[Finding], *, width: int = 100) -> list[str]:
    """The problems alone, for a text that says them before its figures; [] where there are none."""
    lines: list[str] = []
    for finding in findings:
        if finding.severity == "problem":
            lines += wrap(finding_line(finding), width, subsequent_indent="  ")
    return ["", *lines, ""] if lines else []


def left_out(not_included: Sequence[str], *, width: int = 100) -> list[str]:
    """The lines above a bill or a cut list: what is left out of it, or that nothing is known to be."""
    lines = [LEFT_OUT]
    for text in not_included or (NOTHING_LEFT_OUT,):
        lines += wrap(text, width, initial_indent="- ", subsequent_indent="  ")
    return lines


def tail(
    findings: Sequence[Finding], not_included: Sequence[str], cautions: Sequence[str], *, width: int = 100
) -> list[str]:
    """The lines below an answer, worst finding first; [] where there is nothing of all three."""
    rank = {"problem": 0, "caution": 1, "info": 2}
    lines: list[str] = []
    for finding in sorted(findings, key=lambda f: rank[f.severity]):
        lines += wrap(finding_line(finding), width, subsequent_indent="  ")
    for title, texts in (("Not included", not_included), ("Take care", cautions)):
        if texts:
            lines += ["", title]
            for text in texts:
                lines += wrap(text, width, initial_indent="- ", subsequent_indent="  ")
    return ["", *lines] if lines and lines[0] else lines


def tail_below(text: str, answer: Answer, *, notes: bool = True) -> list[str]:
    """The lines below a text, without what it says itself: nothing is said twice, and nothing can be left out but the
    notes among the findings, where they are not wanted. A text may break its lines wherever it likes."""
    said = _unbroken(_COLOUR.sub("", text))

    def is_new(words: str) -> bool:
        return _unbroken(words) not in said

    findings = [finding for finding in answer.findings if is_new(finding.message)]
    findings = [finding for finding in findings if notes or finding.severity != "info"]
    return tail(findings, tuple(filter(is_new, answer.not_included)), tuple(filter(is_new, answer.cautions)))


def _unbroken(text: str) -> str:
    return "".join(printable(text).split())
