"""What holds of every synthetic player, and of the ways of being adrift of some."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from linecheck.music.form import Form
from tests.synthetic import fifth_player, second_player, sixth_player, third_player
from tests.synthetic.charts import named_charts
from tests.synthetic.drawn_takes import KINDS, PlayerModule, draw_take
from tests.synthetic.fitted_players import FITTED_PLAYERS, line_of
from tests.synthetic.players import graduate

ALL = (second_player, graduate, *FITTED_PLAYERS)


def name_of(who: object) -> str | None:
    return who.__name__.rpartition(".")[2] if hasattr(who, "__name__") else None


def symbols_of(charts) -> set[tuple[str, ...]]:
    return {tuple(c.chord.symbol for b in chart.bars for c in b.chords) for chart in charts}


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("who", ALL, ids=name_of)
def test_a_take_is_its_kind(who: PlayerModule, kind: str) -> None:
    rng = np.random.default_rng(4)
    for _ in range(4):
        take = draw_take(rng, kind, who)
        offsets = [t.offset_beats for t in take.truth]
        assert len(offsets) == {"clean": 0, "two": 2}.get(kind.split(maxsplit=1)[0], 1)
        assert all((o is None) == kind.startswith("adrift") for o in offsets)
        assert all(a.end_step <= b.step for a, b in pairwise(take.line))
        assert take.line[-1].step < take.choruses * Form(take.chart).steps
        if who is third_player:
            assert take.line[-1].end_step <= take.choruses * Form(take.chart).steps
        assert who is second_player or all(28 <= n.pitch <= 67 for n in take.line)


@pytest.mark.parametrize("who", ALL, ids=name_of)
def test_a_take_is_the_same_for_a_seed(who: PlayerModule) -> None:
    first, second = (draw_take(np.random.default_rng(9), "adrift solo", who) for _ in range(2))
    assert (first.line, first.truth, first.way) == (second.line, second.truth, second.way)


@pytest.mark.parametrize("who", ALL, ids=name_of)
def test_the_charts_of_a_player_stand_nowhere_else(who: PlayerModule) -> None:
    own = symbols_of(who.charts())
    assert len(own) == 15
    assert not own & symbols_of(named_charts())
    assert not any(own & symbols_of(other.charts()) for other in ALL if other is not who)


def _explained(form: Form, line: list[third_player.LineNote], offset: int) -> float:
    """Share of the notes on landings that are chord tones, ``offset`` beats on in the form."""
    hits = []
    for note in line:
        step = note.step + offset * 12
        chord = form.chord(step)
        if form.is_landing(step) and chord is not None:
            hits.append(note.pitch % 12 in {t.pitch_class for t in chord.tones})
    return sum(hits) / max(1, len(hits))


@pytest.mark.parametrize("way", third_player.ADRIFT_WAYS)
def test_no_offset_explains_a_line_of_the_third_player_adrift(way: str) -> None:
    rng = np.random.default_rng(5)
    best, clean = [], []
    for the_chart in third_player.charts():
        form = Form(the_chart)
        player = third_player.draw_player(rng)
        args = (form, 5, 69, rng, player)
        clean.append(_explained(form, third_player.walk(*args), 0))
        lost = third_player.adrift(*args, way, third_player.walk)
        best.append(max(_explained(form, lost, o) for o in range(form.beats)))
    assert np.mean(best) < np.mean(clean) - 0.1


@pytest.mark.parametrize("way", fifth_player.ADRIFT_WAYS)
@pytest.mark.parametrize("play", [fifth_player.walk, fifth_player.solo])
def test_adrift_stays_in_its_stretch_and_on_the_bass(way: str, play: fifth_player.Play) -> None:
    rng = np.random.default_rng(2)
    for chart in fifth_player.charts():
        player = fifth_player.draw_player(rng)
        line = fifth_player.adrift(Form(chart), 20, 60, rng, player, way, play)
        assert all(20 * 12 - 12 < n.step < n.end_step <= 60 * 12 for n in line)
        assert all(28 <= n.pitch <= 67 for n in line)


@pytest.mark.parametrize("way", sixth_player.ADRIFT_WAYS)
def test_the_sixth_player_adrift_stays_on_the_neck_and_off_the_form(way: str) -> None:
    rng = np.random.default_rng(2)
    fits = []
    for the_chart in sixth_player.charts()[:6]:
        form = Form(the_chart)
        player = sixth_player.draw_player(rng)
        line = sixth_player.adrift(form, 20, 60, rng, player, way, sixth_player.walk)
        assert line
        assert all(28 <= n.pitch <= 67 and n.step < 60 * 12 for n in line)
        fits.append(sixth_player._fit(form, line))
    assert np.mean(fits) < 0.72


@pytest.mark.parametrize("who", FITTED_PLAYERS, ids=name_of)
def test_a_line_that_is_fitted_on_is_in_place_or_adrift_as_asked(who: PlayerModule) -> None:
    form = Form(who.charts()[0])
    shares = [[], []]
    for seed in range(12):
        for adrift in (False, True):
            rng = np.random.default_rng(seed)
            line = line_of(who, form, 3, rng, solo=False, adrift=adrift)
            assert line[-1].step < 3 * form.steps
            shares[adrift].append(_explained(form, line, 0))
    assert np.mean(shares[True]) < np.mean(shares[False]) - 0.2
