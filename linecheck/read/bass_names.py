"""What calls a part a bass: its name, in the languages that players use, or its program.

A name alone can mislead: a "Bass Drum" or a "Bass Clarinet" is no bass.
Programs by General MIDI 1 (1991), counted from 1: 33 to 40 are basses, 44 is Contrabass.
"""

from __future__ import annotations

import re

__all__ = ["BASS_PROGRAMS", "instrument_of", "names_a_bass"]

# Program number from 0: its name in General MIDI 1.
BASS_PROGRAMS = {
    32: "Acoustic Bass",
    33: "Electric Bass (finger)",
    34: "Electric Bass (pick)",
    35: "Fretless Bass",
    36: "Slap Bass 1",
    37: "Slap Bass 2",
    38: "Synth Bass 1",
    39: "Synth Bass 2",
    43: "Contrabass",
}
# The sixteen groups of eight programs in General MIDI 1; the fifth are the basses.
_GROUPS = (
    "a piano", "a tuned percussion instrument", "an organ", "a guitar", "a bass",
    "a string instrument", "strings or a choir", "a brass instrument", "a reed instrument",
    "a flute or pipe", "a synthesizer lead", "a synthesizer pad", "a synthesizer effect",
    "a folk instrument", "a percussion instrument", "a sound effect",
)  # fmt: skip
# A word of a name says bass when it is one of these words, or begins or ends with a stem.
_BASS_WORDS = frozenset(("bs", "cb", "db", "bas", "bajo", "upright", "бас", "μπάσο"))
_BASS_STEMS = (
    "bass",  # English, German, Italian, French, Hungarian, Norwegian
    "basgita",  # Dutch, Turkish, Polish
    "baix",  # Portuguese, Catalan
    "contrabas",  # English, Dutch, Romanian
    "contrabbass",  # Italian
    "contrebass",  # French
    "contrabaj",  # Spanish
    "contrabaix",  # Portuguese, Catalan
    "kontrabas",  # German, Danish, Polish, Czech
    "контрабас",  # Russian, Ukrainian, Bulgarian
    "κοντραμπάσο",  # Greek
    "ベース",  # Japanese
    "コントラバス",
    "贝斯",  # Chinese
    "貝斯",
    "低音提琴",
    "베이스",  # Korean
)
_BASS_ENDS = ("bass", "basse", "basso", "bőgő", "ベース", "베이스")
_WHOLE_NAMES = frozenset(("b", "b."))  # as scores shorten it; within a name a B is a B
# Words that make a bass of another kind, or no bass at all.
_OTHER_WORDS = frozenset(
    """
    drum drums bassdrum kick snare perc percussion schlagzeug batterie cassa caisse trommel bombo
    clarinet klarinette clarinette bassoon basson basset contrabassoon oboe flute recorder sax
    saxophone trombone posaune tuba trumpet horn
    voice voices vocal vocals choir chor singer soprano alto tenor
    clef staff
    """.split()  # noqa: SIM905 (a column of forty words reads worse)
)
_WORD = re.compile(r"[^\W\d_]+")


def instrument_of(program: int) -> str:
    """What a program (from 0) sounds like: ``instrument_of(25) == "a guitar"``."""
    return "a bass" if program in BASS_PROGRAMS else _GROUPS[program // 8]


def names_a_bass(name: str) -> bool | None:
    """Whether a name is that of a bass; None where it names neither a bass nor another of these.

    ``names_a_bass("Kontrabass 2")`` is True, of ``"Bass Drum"`` False, of ``"Line"`` None.
    """
    words = [word.casefold() for word in _WORD.findall(name)]
    if any(word in _OTHER_WORDS for word in words):
        return False
    if name.casefold().strip() in _WHOLE_NAMES:
        return True
    if any(
        word in _BASS_WORDS or word.startswith(_BASS_STEMS) or word.endswith(_BASS_ENDS)
        for word in words
    ):
        return True
    return None
