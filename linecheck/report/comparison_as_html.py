"""A comparison as a page to hand to the student: one file that asks nothing of any network."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.music.keys import key_text
from linecheck.report import comparison_in_words as words
from linecheck.report.comparison_told import told
from linecheck.report.figures import counted, meter_text, plain
from linecheck.report.handout import CAUTIONS, sentence
from linecheck.report.html_frame import rendered

if TYPE_CHECKING:
    from linecheck.comparison_terms import Comparison

__all__ = ["write_comparison_html"]


def write_comparison_html(comparison: Comparison) -> str:
    """The whole page as text."""
    chart = comparison.chart
    return rendered(
        ("linecheck.report", "handout_page", "comparison.html"),
        title=plain(chart.title) or "Untitled",
        tune=f"{key_text(chart.key)} · {meter_text(chart.meter)} · "
        f"{counted(len(chart.bars), 'bar')} a chorus",
        sides=[words.side_sentence(comparison.before), words.side_sentence(comparison.after)],
        compared=told(comparison, unfolded=True),
        warnings=[sentence(plain(w)) for w in dict.fromkeys(comparison.warnings)],
        cautions=CAUTIONS[1:],
    )
