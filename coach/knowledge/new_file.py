"""What a new file of the user's own is written with: an id from a name, a value in YAML on one line. Text out, pure."""

from __future__ import annotations

import re
from typing import Any

import yaml

__all__ = ["id_from_name", "yaml_value"]


def id_from_name(name: str, otherwise: str) -> str:
    """A kebab-case id: "Our Club (2026)" becomes "our-club-2026"; the other one when nothing is left."""
    return "-".join(re.findall(r"[a-z0-9]+", name.lower())) or otherwise


def yaml_value(value: Any) -> str:
    """A value in YAML on one line, quoted where YAML would take it for something else; 10.0 is written 10."""
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    text = yaml.safe_dump(value, default_flow_style=True, allow_unicode=True, width=10**6).strip()
    return text.removesuffix("\n...").strip()
