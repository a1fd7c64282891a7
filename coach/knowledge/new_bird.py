"""A new bird's file from answers, with a comment for every value. Pure."""

from __future__ import annotations

import re
from collections.abc import Sequence

from coach.knowledge.model import Fault
from coach.knowledge.new_file import yaml_value

__all__ = ["bird_text", "fault_id"]


def fault_id(say: str, taken: Sequence[str]) -> str:
    """An id from the words that tell a fault, different from those taken."""
    words = [word for word in re.findall(r"[a-z0-9]+", say.lower()) if word not in ("on", "the", "a", "of", "in", "her", "his")]
    base = "-".join(words[:3]) or "fault"
    names = [base, *(f"{base}-{n}" for n in range(2, len(taken) + 3))]
    return next(name for name in names if name not in taken)


def bird_text(id_: str, name: str, card: str, sex_age: str, faults: Sequence[Fault] = ()) -> str:
    """The bird's file."""
    lines = [
        f"# Your own bird. Then: coach bird check {id_}.yaml",
        "format: bird/1",
        f"id: {yaml_value(id_)}",
        f"name: {yaml_value(name)}",
        f"card: {yaml_value(card)}  # the id of a breed card, or the path of your own",
        f"sex_age: {yaml_value(sex_age)}  # cock, hen, cockerel, pullet; a duck: old drake, young duck; a turkey: tom, jake",
        "# Honest faults that you want to point out; telling one well is a strength.",
    ]
    if not faults:
        return "\n".join([*lines, "faults: []", *_example()]) + "\n"
    lines.append("faults:")
    for fault in faults:
        lines += _fault(fault)
    return "\n".join(lines) + "\n"


def _fault(fault: Fault) -> list[str]:
    rows = [
        f"  - id: {yaml_value(fault.id)}",
        f"    region: {yaml_value(fault.region)}  # where it is seen",
        f"    say: {yaml_value(fault.say)}",
    ]
    if fault.also:
        rows.append(f"    also: {yaml_value(list(fault.also))}  # other words that tell it")
    if fault.plan:
        rows.append(f"    plan: {yaml_value(fault.plan)}  # what you mean to do about it")
    if fault.plan_words:
        rows.append(f"    plan_words: {yaml_value(list(fault.plan_words))}  # words that show you told the plan")
    return rows


def _example() -> list[str]:
    return [
        "#  - id: bent-toe",
        "#    region: legs",
        "#    say: bent toe on the right foot",
        "#    plan: keep her for eggs and not for breeding",
    ]
