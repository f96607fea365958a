"""A chart in another key: the same form, every chord as far from the tonic as before.

Tunes are practised through the keys, and a player may know one in another key than the chart has.
Names keep their letters' distance, as in a transposed part (common practice): the b3 of F is Ab,
that of E is G. Where that would ask for two accidentals, or for Cb, Fb, E# or B# outside the scale,
the name is that of the key.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from linecheck.faults import ChartFault, OptionFault
from linecheck.music.chord_symbol import read_chord
from linecheck.music.chord_tokens import plain, root_at
from linecheck.music.keys import (
    MOST_SIGNS,
    key_moved,
    key_text,
    names_in_key,
    read_key,
    says_major,
    scale_names,
    signature,
)
from linecheck.music.pitch import LETTERS, RARE_NAMES, pitch_class, spell
from linecheck.terms import Key, Remark

if TYPE_CHECKING:
    from linecheck.terms import Bar, Chart, Chord

__all__ = ["in_key", "key_in_title", "named_key"]

_IN_KEY = re.compile(r" in [A-G][b#]?m?$")


def named_key(key: object) -> str | None:
    """A key as an option gives it, as text; None: the chart's own.

    Raises:
        OptionFault: it is no key.
    """
    if key is None:
        return None
    if not isinstance(key, str):
        raise OptionFault(f"key is {key!r:.40}; expected a tonic such as 'Bb', or 'Dm' for minor")
    _asked(key)
    return key.strip()


def _asked(key: str) -> Key:
    """The key, of more than seven signs too: G# alone may be meant for a chart in minor."""
    try:
        return read_key(key)
    except ChartFault as fault:
        try:
            return Key(read_key(f"{key.strip()}m").tonic, minor=False)
        except ChartFault:
            raise OptionFault(f"key: {fault.problem}") from None


def key_in_title(title: str) -> str:
    """What ``in_key`` adds to a title: ``" in Bb"``; "" where there is no such end."""
    found = _IN_KEY.search(title)
    return found[0] if found else ""


def in_key(chart: Chart, key: str) -> Chart:
    """The chart in another key.

    Args:
        chart: the chart.
        key: a tonic ("Bb"); a mode may stand with it ("Dm"), and is that of the chart.

    Returns:
        The chart with the key in its title, or the chart itself where it is in that key.

    Raises:
        OptionFault: it is no key, or one of the other mode.
    """
    asked = _asked(key)
    old, new = chart.key, Key(asked.tonic, chart.key.minor)
    modes = ("major", "minor")
    if (asked.minor and not old.minor) or (old.minor and says_major(key)):
        raise OptionFault(
            f"key is {key}, and the chart is in {key_text(old)}, {modes[old.minor]}; name a key of "
            "the same mode"
        )
    if abs(signature(new)) > MOST_SIGNS:
        new = key_moved(new, 0)  # Db over a chart in minor is C#m, G# over one in major Ab
    if new == old:
        return chart
    move = _Move(old, new)
    return replace(
        chart,
        title=chart.title and f"{chart.title} in {key_text(new)}",
        key=new,
        bars=move.bars(chart.bars),
        intro=move.bars(chart.intro),
        ending=move.bars(chart.ending),
        warnings=(
            Remark(f"the chart is in {key_text(old)} and is read in {key_text(new)}"),
            *chart.warnings,
        ),
    )


class _Move:
    """From one key to another: every name and chord once."""

    def __init__(self, old: Key, new: Key) -> None:
        self.new = new
        self.letters = LETTERS.index(new.tonic[0]) - LETTERS.index(old.tonic[0])
        self.half_steps = pitch_class(new.tonic) - pitch_class(old.tonic)
        self.moved: dict[str, Chord] = {}

    def bars(self, bars: tuple[Bar, ...]) -> tuple[Bar, ...]:
        return tuple(
            replace(bar, chords=tuple(replace(c, chord=self.chord(c.chord)) for c in bar.chords))
            for bar in bars
        )

    def chord(self, chord: Chord) -> Chord:
        if chord.root is None:
            return chord
        if chord.symbol not in self.moved:
            self.moved[chord.symbol] = read_chord(self.symbol(chord.symbol))
        return self.moved[chord.symbol]

    def symbol(self, symbol: str) -> str:
        """The symbol with its root, and its bass where that is a note, moved."""
        text = plain(symbol)
        root = root_at(text, 0)
        assert root is not None  # noqa: S101  (a chord has been read from it)
        name, end = root
        rest, bass = text[end:], ""
        before, slash, after = rest.rpartition("/")
        below = root_at(after.strip(), 0) if slash else None
        if below is not None and below[1] == len(after.strip()):
            rest, bass = before, f"/{self.name(below[0])}"
        return f"{self.name(name)}{rest}{bass}"

    def name(self, name: str) -> str:
        letter = LETTERS[(LETTERS.index(name[0]) + self.letters) % 7]
        pc = (pitch_class(name) + self.half_steps) % 12
        moved = spell(letter, pc)
        rare = moved in RARE_NAMES and moved not in scale_names(self.new).values()
        return names_in_key(self.new)[pc] if rare or len(moved) > 2 else moved
