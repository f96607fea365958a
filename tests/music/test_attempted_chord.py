"""Whether a text that is no chord symbol was meant as one."""

from __future__ import annotations

import pytest

from linecheck.music.attempted_chord import is_attempted_chord

REMARKS = """
Intro|Fine|rit.|Head|HEAD|Bridge|BRIDGE|Ad lib.|As written|a tempo|Drums|Bass|Best|Desc.|Hi-hat|Hi
Half time|Gtr|Gtr 1|Etc.|Dim.|dim.|bis|Bis|End|Chorus 2|Vamp|swing it|E-Bass|Allegro|(H7)|1.|2x|arco
f|p|mf|cresc.|Fast|Ballad|Add drums|Background|al Coda|Homer|Es ist gut|Horns|Cue|Ens.|Guitar solo
das Thema|fis|es|Q7|x2
"""
CHORDS = """
H7|H|Hm7|Hmaj7|Es|As7|Fis|Fis7|Bes7|Cis|Des|C/H|E7/Gis|B7b|♭B7|bB7|Dmaj77|dm7|am|bb7|es7|D7 swing
A tempo|Em7 A7|Cmja7|Cmjaor7|Gmaj7/Xy|C7(b9|Csus#4|G7#|Es7x|H7x|Dm.|Am7b5b|C°x|F-9x|Gsus 4 4
"""


@pytest.mark.parametrize("text", REMARKS.replace("\n", "|").strip("|").split("|"))
def test_remarks(text):
    assert not is_attempted_chord(text)


@pytest.mark.parametrize("text", CHORDS.replace("\n", "|").strip("|").split("|"))
def test_attempts(text):
    assert is_attempted_chord(text)
