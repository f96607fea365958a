"""What ``--musicxml`` writes is a take again, and its audit says the same of every note."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from linecheck.report.as_musicxml import write_musicxml
from linecheck.steps import audit

TUNES = Path(__file__).parent.parent / "demo_tunes"
TAKES = tomllib.loads((TUNES / "takes.toml").read_text(encoding="utf-8"))["take"]


def said(found):
    return [
        (n.pitch, n.step, n.function, n.degree, n.ghost, n.anticipation, n.approach, n.chord)
        for n in found.labels.notes
    ]


def certain_losses(found):
    """What is only a "perhaps" may come and go with the lengths, which are written rounded."""
    return [(x.step, x.kind, x.offset_beats) for x in found.line.losses if x.certain]


@pytest.mark.parametrize("take", TAKES, ids=lambda take: take["name"])
def test_an_audit_of_the_written_line_says_the_same(take, tmp_path):
    chart = TUNES / take["chart"]
    played = audit(chart, TUNES / take["file"])
    file = tmp_path / "written.musicxml"
    file.write_text(write_musicxml(played), encoding="utf-8")
    written = audit(chart, file)
    assert said(written) == said(played)
    assert [x.met for x in written.labels.landings] == [x.met for x in played.labels.landings]
    assert certain_losses(written) == certain_losses(played)
    assert written.judgement.commitment == pytest.approx(played.judgement.commitment)
    assert written.line.grid == "written"
    assert written.warnings == written.take.warnings == ()
