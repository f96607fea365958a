from __future__ import annotations

from pathlib import Path

import linecheck

TUNES = Path(__file__).parents[2] / "demo_tunes"


def test_a_played_line_comes_with_the_feel_of_every_chorus():
    line = linecheck.audit(
        TUNES / "charts" / "gravel_and_rain.toml", TUNES / "takes" / "gravel_tomasz.mid"
    ).line
    assert line.feel is not None
    assert len(line.feel.choruses) == line.choruses
    assert abs(line.feel.whole.tempo - line.tempo_bpm) < 2
    assert line.feel.whole.placement_spread_ms > 0


def test_a_written_line_has_none():
    found = linecheck.audit(
        TUNES / "charts" / "slow_ferry.toml", TUNES / "takes" / "slow_ferry_bram.musicxml"
    )
    assert found.line.feel is None
