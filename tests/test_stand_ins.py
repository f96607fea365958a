"""What is shown where a terminal lacks a sign."""

from __future__ import annotations

import pytest

from linecheck.commands.stand_ins import writable


@pytest.mark.parametrize(
    ("text", "encoding", "shown"),
    [
        ("CΔ7 | EbΔ | F#Δ9", "ascii", "Cmaj7 | Ebmaj7 | F#maj9"),
        ("Bø7 | Aø | Dbø9 | F°7 | G°", "ascii", "Bm7b5 | Am7b5 | Dbm9b5 | Fdim7 | Gdim"),
        ("B♭ø, F♯°: ♭9 ♯11", "ascii", "Bbm7b5, F#dim: b9 #11"),
        ("CΔ Bø F° Größe", "cp1252", "Cmaj7 Bø F° Größe"),
        ("Größe Δ, Søren, Łukasz, Zoë", "ascii", "Grosse maj7, Soren, Lukasz, Zoe"),
        ("a … – “b” 5→1 ± 3", "ascii", 'a ... - "b" 5->1 +/- 3'),
        ("空 \udce4", "ascii", "? ?"),
        ("CΔ Søren …", "utf-8", "CΔ Søren …"),
        ("\udce4", "utf-8", "?"),
        ("Ø", None, "O"),
    ],
)
def test_a_sign_that_cannot_be_shown_is_told_in_letters(text, encoding, shown):
    assert writable(text, encoding) == shown
