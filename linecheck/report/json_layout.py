"""JSON laid out so that two files can be compared line by line.

Every object in a list has a line of its own, a list of figures is one line. Keys stand in the
order in which they were put in. JSON has no NaN: one would be a fault of the program and raises
ValueError.
"""

from __future__ import annotations

import json
from typing import Any

__all__ = ["json_text"]


def json_text(data: dict[str, Any]) -> str:
    """A dictionary as the text of a JSON file."""
    return _laid_out(data, "", force=True) + "\n"


def _laid_out(value: Any, indent: str, *, force: bool = False) -> str:
    deeper = indent + "  "
    if isinstance(value, list) and value and isinstance(value[0], dict):
        rows = ",\n".join(deeper + _one_line(row) for row in value)
        return f"[\n{rows}\n{indent}]"
    if isinstance(value, dict) and (force or any(isinstance(v, list) for v in value.values())):
        parts = ",\n".join(
            f"{deeper}{_one_line(key)}: {_laid_out(part, deeper)}" for key, part in value.items()
        )
        return f"{{\n{parts}\n{indent}}}"
    return _one_line(value)


def _one_line(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)
