"""The players that the form inference is fitted on, and lines of them; ``lines`` is one more.

``second_player`` and ``players.graduate`` are not among them: they judge.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.synthetic import fifth_player, fourth_player, sixth_player, third_player
from tests.synthetic.lines import LineNote, monophonic
from tests.synthetic.players import (
    by_heart,
    cells_and_drills,
    cheapest_path,
    fourths_and_fives,
    key_centres,
    listening_beginner,
    long_lines,
    metric_shares,
    phrase_plans,
    pushed_bass,
    reharmonizer,
    riff_player,
    singer,
    small_vocabulary,
    sparse_singer,
    stock_patterns,
    suspender,
    voice_leading,
)

if TYPE_CHECKING:
    import numpy as np

    from linecheck.music.form import Form
    from tests.synthetic.drawn_takes import PlayerModule

FITTED_PLAYERS: tuple[PlayerModule, ...] = (
    third_player,
    fourth_player,
    fifth_player,
    sixth_player,
    by_heart,
    cells_and_drills,
    cheapest_path,
    fourths_and_fives,
    key_centres,
    listening_beginner,
    long_lines,
    metric_shares,
    phrase_plans,
    pushed_bass,
    reharmonizer,
    riff_player,
    singer,
    small_vocabulary,
    sparse_singer,
    stock_patterns,
    suspender,
    voice_leading,
)


def line_of(
    who: PlayerModule, form: Form, choruses: int, rng: np.random.Generator, *, solo: bool, adrift: bool
) -> list[LineNote]:  # fmt: skip
    """So many choruses of a player, in place throughout or adrift throughout."""
    play = who.solo if solo else who.walk
    player, stop = who.draw_player(rng), choruses * form.beats
    if not adrift:
        return monophonic(play(form, 0, stop, rng, player))
    way = str(rng.choice(who.ADRIFT_WAYS))
    return monophonic(who.adrift(form, 0, stop, rng, player, way, play))
