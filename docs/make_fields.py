"""Write the tables of fields in docs/plan-json.md, survey-file.md and job.md, and docs/survey.schema.json, from the
structs.

Run: python docs/make_fields.py

With --check nothing is written; the exit code is 1 where one of them is out of date.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import msgspec

from racewright.plan.model import Plan
from racewright.records.entry import What
from racewright.survey.from_data import survey_json_schema
from racewright.survey.written import WrittenSurvey

DOCS = Path(__file__).parent
MARK = "<!-- Below this line: written by docs/make_fields.py from the structs. Do not edit. -->\n"


def words(schema: dict[str, Any]) -> str:
    """What a JSON schema takes, in a few words."""
    if "$ref" in schema:
        return str(schema["$ref"]).rpartition("/")[2]
    if "enum" in schema:
        return ", ".join(f"`{json.dumps(value)}`" for value in schema["enum"])
    if "const" in schema:
        return f"`{json.dumps(schema['const'])}`"
    if "anyOf" in schema:
        return " or ".join(dict.fromkeys(words(part) for part in schema["anyOf"]))
    kind = schema.get("type", "anything")
    if kind == "array":
        parts = schema.get("prefixItems")
        return f"{len(parts)} of {words(parts[0])}" if parts else f"list of {words(schema.get('items') or {})}"
    inner = schema.get("additionalProperties")
    return f"{words(inner)} by name" if isinstance(inner, dict) and inner else str(kind)


def tables(root: Any) -> str:
    """One table for each struct under `root`, the root first where it is one itself."""
    _, parts = msgspec.json.schema_components([root], ref_template="#/{name}")
    out = []
    for name in sorted(parts, key=lambda part: (part != getattr(root, "__name__", ""), part)):
        fields = parts[name].get("properties", {})
        if not fields:
            continue
        about = " ".join(str(parts[name].get("description", "")).split())
        rows = "".join(f"| `{field}` | {words(schema)} |\n" for field, schema in fields.items())
        out.append(f"\n**{name}**: {about}\n\n| field | what it is |\n|---|---|\n{rows}")
    return "".join(out)


def written() -> dict[Path, str]:
    """Each file with the text that it should have."""
    out = {DOCS / "survey.schema.json": json.dumps(survey_json_schema(), indent=2) + "\n"}
    for name, root in (("plan-json.md", Plan), ("survey-file.md", WrittenSurvey), ("job.md", What)):
        head, mark, _ = (DOCS / name).read_text(encoding="utf-8").partition(MARK)
        out[DOCS / name] = head + (mark or f"\n## Every field\n\n{MARK}") + tables(root)
    return out


def main() -> int:
    """Write, or compare with --check."""
    stale = {path: text for path, text in written().items() if path.read_text(encoding="utf-8") != text}
    if "--check" in sys.argv[1:]:
        return int(bool(stale))
    for path, text in stale.items():
        path.write_text(text, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
