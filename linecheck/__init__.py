"""linecheck: reads a chart and a jazz bass line and says of every note why it is there.

In a notebook::

    import linecheck

    audit = linecheck.audit("blues.toml", "tuesday.mid")
    linecheck.tables.notes(audit)

Everything in ``__all__`` is public; each name is loaded when it is first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from linecheck.version import __version__

if TYPE_CHECKING:
    from linecheck import tables
    from linecheck.comparison import compare, compare_audits
    from linecheck.comparison_terms import Comparison
    from linecheck.faults import (
        ChartFault,
        CostsFault,
        InputFault,
        JournalFault,
        OptionFault,
        OutputFault,
        ReferenceFault,
        RubricFault,
        TakeFault,
        WatchFault,
    )
    from linecheck.grade import grade_folder
    from linecheck.left_hand import fingering
    from linecheck.practice import PracticePlan, drill
    from linecheck.reference_lines import profile_of_audits, reference
    from linecheck.report import WRITERS
    from linecheck.steps import audit, read_chart, read_reference, read_rubric, read_take
    from linecheck.terms import (
        Audit,
        Chart,
        Fingering,
        Landing,
        Loss,
        Note,
        Rubric,
        Take,
    )

__all__ = [
    "WRITERS",
    "Audit",
    "Chart",
    "ChartFault",
    "Comparison",
    "CostsFault",
    "Fingering",
    "InputFault",
    "JournalFault",
    "Landing",
    "Loss",
    "Note",
    "OptionFault",
    "OutputFault",
    "PracticePlan",
    "ReferenceFault",
    "Rubric",
    "RubricFault",
    "Take",
    "TakeFault",
    "WatchFault",
    "__version__",
    "audit",
    "compare",
    "compare_audits",
    "drill",
    "fingering",
    "grade_folder",
    "profile_of_audits",
    "read_chart",
    "read_reference",
    "read_rubric",
    "read_take",
    "reference",
    "tables",
]

_HOMES = {
    "linecheck.comparison_terms": ("Comparison",),
    "linecheck.comparison": ("compare", "compare_audits"),
    "linecheck.reference_lines": ("profile_of_audits", "reference"),
    "linecheck.steps": ("audit", "read_chart", "read_reference", "read_rubric", "read_take"),
    "linecheck.terms": (
        "Audit",
        "Chart",
        "Fingering",
        "Landing",
        "Loss",
        "Note",
        "Rubric",
        "Take",
    ),
    "linecheck.faults": (
        "ChartFault",
        "CostsFault",
        "InputFault",
        "JournalFault",
        "OptionFault",
        "OutputFault",
        "ReferenceFault",
        "RubricFault",
        "TakeFault",
        "WatchFault",
    ),
    "linecheck.left_hand": ("fingering",),
    "linecheck.grade": ("grade_folder",),
    "linecheck.practice": ("PracticePlan", "drill"),
    "linecheck.report": ("WRITERS",),
}
_HOME = {name: home for home, names in _HOMES.items() for name in names}


def __getattr__(name: str) -> object:
    """Load a public name when it is first used, so that ``import linecheck`` costs nothing."""
    if name == "tables":
        return import_module("linecheck.tables")
    if name not in _HOME:
        raise AttributeError(f"module 'linecheck' has no attribute {name!r}")
    value: object = getattr(import_module(_HOME[name]), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
