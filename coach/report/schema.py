"""The JSON Schema (draft 2020-12) of the report file, made from the shapes; the package ships it as a file.

`python -m coach.report.schema > coach/report/rehearsal-report.schema.json` renews the shipped file.
"""

from __future__ import annotations

import json
import sys
from types import NoneType, UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints, is_typeddict

from coach.report.shape import ReportDict

__all__ = ["SCHEMA_FILE", "render_schema", "schema"]

SCHEMA_FILE = "rehearsal-report.schema.json"
_PLAIN: dict[Any, dict[str, object]] = {
    str: {"type": "string"},
    bool: {"type": "boolean"},
    int: {"type": "integer", "minimum": 0},
    float: {"type": "number", "minimum": 0},
    NoneType: {"type": "null"},
}


def schema() -> dict[str, object]:
    """The whole schema; keys beyond the listed ones are allowed."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A rehearsal report of coach",
        **_describe(ReportDict),
    }


def render_schema() -> str:
    """The schema as the shipped file's text."""
    return json.dumps(schema(), indent=2) + "\n"


def _describe(shape: Any) -> dict[str, object]:
    if is_typeddict(shape):
        hints = get_type_hints(shape)
        properties = {key: _describe(kind) for key, kind in hints.items()}
        return {"type": "object", "description": shape.__doc__, "properties": properties, "required": list(hints)}
    if get_origin(shape) is list:
        return {"type": "array", "items": _describe(get_args(shape)[0])}
    if get_origin(shape) is Literal:
        return {"enum": list(get_args(shape))}
    if get_origin(shape) in (UnionType, Union):
        return {"anyOf": [_describe(part) for part in get_args(shape)]}
    return _PLAIN[shape]


if __name__ == "__main__":
    sys.stdout.write(render_schema())
