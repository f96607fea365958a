"""Days and weeks in the names of files and folders."""

from __future__ import annotations

import pytest

from linecheck.read.days_in_names import is_week, name_without_day


@pytest.mark.parametrize(
    ("name", "week", "rest"),
    [
        ("2026-01-12", True, ""),
        ("2026-01-12 blues", True, "blues"),
        ("Woche 2026-01-12", True, ""),
        ("week of 2026-01-12", True, ""),
        ("KW 10", True, ""),
        ("2026 KW10", True, ""),
        ("week 3, blues", True, "blues"),
        ("Jörg_2026-01-12", False, "Jörg"),
        ("Abgaben KW 10", False, "Abgaben"),
        ("2026-99-99", False, "2026-99-99"),
        ("weekend 2", False, "weekend 2"),
        ("Bass 10", False, "Bass 10"),
        ("J. B.", False, "J. B."),
    ],
)
def test_a_day_or_a_week_is_no_part_of_a_name(name, week, rest):
    assert is_week(name) is week
    assert name_without_day(name) == rest
