"""The public surface, written out, and what importing it costs."""

from __future__ import annotations

import subprocess
import sys

import pytest

import linecheck

PUBLIC = [
    "WRITERS", "Audit", "Chart", "ChartFault", "Comparison", "CostsFault", "Fingering",
    "InputFault", "JournalFault", "Landing", "Loss", "Note", "OptionFault", "OutputFault",
    "PracticePlan", "ReferenceFault", "Rubric", "RubricFault", "Take", "TakeFault",
    "WatchFault", "__version__", "audit", "compare", "compare_audits", "drill", "fingering",
    "grade_folder", "profile_of_audits", "read_chart", "read_reference", "read_rubric",
    "read_take", "reference", "tables",
]  # fmt: skip


def test_the_public_names_are_these():
    assert linecheck.__all__ == PUBLIC
    assert set(PUBLIC) <= set(dir(linecheck))


@pytest.mark.parametrize("name", PUBLIC)
def test_every_public_name_loads_and_is_documented(name):
    thing = getattr(linecheck, name)
    assert name in ("__version__", "WRITERS") or thing.__doc__


def test_another_name_is_an_attribute_error():
    with pytest.raises(AttributeError, match="no attribute 'adit'"):
        _ = linecheck.adit


def test_importing_costs_nothing():
    code = "import sys; before = set(sys.modules); import linecheck; print(*sorted(set(sys.modules) - before))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    allowed = {
        "linecheck",
        "importlib",
        "typing",
        "warnings",
        "re",
        "enum",
        "collections",
        "functools",
    }
    assert {n.partition(".")[0] for n in done.stdout.split()} - allowed <= sys.stdlib_module_names
