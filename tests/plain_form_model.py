"""A plain model of where in the form a line is, to hold the inference of the package against.

Nothing is fitted: what a note is to the chord of its place has a share set by hand, for walking and
for solo, by four kinds of place; adrift every pitch class is as likely. The best path over all
offsets and adrift (the package's own search and costs of a slip) is cut at a log-likelihood ratio.
It says how hard a player's takes are: what is far above it is worth its complexity.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from linecheck.place.form_candidates import slip_costs, smaller_way
from linecheck.place.form_evidence import CODES, NO_CHORD, PLACES, form_tables, line_codes
from linecheck.place.form_path import best_path
from linecheck.terms import STEPS_PER_BEAT, Loss

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.music.form import Form
    from tests.synthetic.lines import LineNote

LEAST_NATS = 12.0  # a stretch gains so much over in place
LEAST_BARS = 2
# Shares, from memory: root, third, fifth, seventh, other tensions, tensions far from a tone,
# a half step from a tone, the rest. By place: a chord change or beat one, another strong beat, a
# weak one, an off-beat.
WALKING = (
    (0.62, 0.12, 0.12, 0.05, 0.04, 0.01, 0.03, 0.01),
    (0.22, 0.20, 0.20, 0.12, 0.14, 0.02, 0.08, 0.02),
    (0.13, 0.14, 0.17, 0.10, 0.20, 0.04, 0.18, 0.04),
    (0.15, 0.16, 0.18, 0.11, 0.20, 0.04, 0.13, 0.03),
)
SOLO = (
    (0.22, 0.25, 0.20, 0.14, 0.11, 0.02, 0.05, 0.01),
    (0.17, 0.20, 0.19, 0.14, 0.17, 0.03, 0.08, 0.02),
    (0.14, 0.17, 0.17, 0.13, 0.21, 0.04, 0.11, 0.03),
    (0.13, 0.15, 0.16, 0.12, 0.24, 0.05, 0.12, 0.03),
)
ROW_OF_PLACE = (0, 0, 0, 1, 2, 1, 3, 3, 0, 1)
PITCH_CLASSES = (1.0, 1.0, 1.0, 1.0, 2.2, 1.0, 3.5, 1.5)  # of each kind over a chord, on average


def _table(shares: Sequence[Sequence[float]]) -> np.ndarray:
    """Log chance of one pitch class, by place and by what it is to the chord."""
    table = np.full((PLACES, CODES), np.log(1 / 12))
    table[:, :NO_CHORD] = np.log(np.array(shares) / PITCH_CLASSES)[list(ROW_OF_PLACE)]
    return table


def losses_of(line: list[LineNote], form: Form, *, solo: bool) -> list[Loss]:
    """The losses that the plain model reports in a line of one style; ``form`` has its choruses."""
    beats = (form.choruses or 0) * form.beats
    steps, ends, pitches, _ = (np.array(c, dtype=np.int64) for c in zip(*line, strict=True))
    tables, codes = form_tables(form), line_codes(steps, ends, pitches).between(0, beats)
    scores = _table(SOLO if solo else WALKING)[
        tables.places[codes.phases], tables.codes[codes.pitch_classes]
    ]
    there = (codes.beats[:, None] + np.arange(form.beats)) % form.beats
    gain = np.zeros((beats, form.beats + 1), dtype=np.float32)
    weights = codes.weights
    np.add.at(gain[:, :-1], codes.beats, np.take_along_axis(scores, there, 1) * weights[:, None])
    np.add.at(gain[:, -1], codes.beats, np.log(1 / 12) * weights)
    gain -= gain[:, :1].copy()
    found = []
    for s in best_path(gain, slip_costs(form)):
        long = s.stop - s.start >= LEAST_BARS * form.chart.meter.beats
        if not s.state or not long or gain[s.start : s.stop, s.state].sum() < LEAST_NATS:
            continue
        adrift = s.state == form.beats
        offset = None if adrift else float(smaller_way(s.state, form.beats))
        kind = "adrift" if offset is None else "ahead" if offset > 0 else "behind"
        found.append(Loss(s.start * STEPS_PER_BEAT, kind, offset, None, 1.0, certain=True))
    return found
