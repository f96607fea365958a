"""The key of a take: what an audit comes from, and nothing else of the program."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import linecheck
from linecheck.grade.keys import _ABOVE, _BUT

PACKAGE = Path(linecheck.__file__).parent
BELOW = [
    file
    for file in sorted(PACKAGE.rglob("*.py"))
    if file.relative_to(PACKAGE).parts[0] not in {*_ABOVE, "__init__.py"}
]


@pytest.mark.parametrize("name", sorted({*_ABOVE, _BUT}))
def test_every_name_is_there(name):
    assert (PACKAGE / name).exists()


@pytest.mark.parametrize("file", BELOW, ids=lambda file: file.relative_to(PACKAGE).as_posix())
def test_no_audit_comes_from_what_is_left_out(file):
    left_out = {name.removesuffix(".py") for name in _ABOVE}
    for node in ast.walk(ast.parse(file.read_bytes())):
        names = [node.module or ""] if isinstance(node, ast.ImportFrom) else []
        names += [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
        for name in names:
            package, _, rest = name.partition(".")
            assert package != "linecheck" or rest.partition(".")[0] not in left_out, name


def test_what_comes_from_an_audit_is_left_out():
    """Of the folders, all that the steps never use."""
    folders = {path.parent.name for path in PACKAGE.glob("*/__init__.py")}
    assert folders - _ABOVE == {"hear", "judge", "label", "music", "place", "read"}
