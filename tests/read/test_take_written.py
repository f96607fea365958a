"""A written line as a take: which part, which octave, what is played, when."""

from __future__ import annotations

import pytest

from linecheck.faults import TakeFault
from linecheck.read.take_written import (
    GHOST_VELOCITY,
    read_take_abc,
    read_take_musicxml,
)
from linecheck.terms import FileMeter, Meter, TempoMap
from tests.read.small_scores import (
    BACKWARD,
    BASS_CLEF,
    FORWARD,
    OCTAVE_DOWN,
    TIME_44,
    direction,
    ending,
    measure,
    note,
    part,
    rest,
    score,
)

BASS = TIME_44 + BASS_CLEF
BASS_8VB = BASS.replace("</clef>", "<clef-octave-change>-1</clef-octave-change></clef>")
TIE_ON, TIE_BACK = '<tie type="start"/>', '<tie type="stop"/>'
GUESS = "the file does not say in which octave the part sounds"
HEAD = "X:1\nM:4/4\nL:1/4\nK:C\n"


@pytest.fixture
def read(tmp_path):
    def from_text(text, track=None):
        file = tmp_path / "line.musicxml"
        file.write_text(text, encoding="utf-8")
        return read_take_musicxml(file, track=track)

    return from_text


@pytest.fixture
def read_abc(tmp_path):
    def from_text(text, head=HEAD, track=None):
        file = tmp_path / "line.abc"
        file.write_text(head + text, encoding="utf-8")
        return read_take_abc(file, track=track)

    return from_text


def quarters(*names):
    return measure(*(note(name, 12) for name in names))


def line(take):
    """Pitch@onset+length in quarter notes, as text."""
    return " ".join(f"{n.pitch}@{n.onset_quarters:g}+{n.duration_quarters:g}" for n in take.notes)


def pitches(take):
    return [n.pitch for n in take.notes]


# ---- which octave sounds ---------------------------------------------------------------------


def test_a_transposition_in_the_file_is_what_sounds(read):
    take = read(score(part(quarters("E2", "A2", "D3", "G3"), attributes=BASS + OCTAVE_DOWN)))
    assert pitches(take) == [28, 33, 38, 43]
    assert take.line == "part 1: the only one with notes; sounds by a transposition in the file"
    assert take.warnings == ()
    assert take.kind == "written"


def test_a_clef_with_an_8_is_already_in_the_pitches(read):
    take = read(score(part(quarters("E1", "A1", "D2", "G2"), attributes=BASS_8VB)))
    assert pitches(take) == [28, 33, 38, 43]
    assert "as its clef with an 8 says" in take.line
    assert take.warnings == ()


@pytest.mark.parametrize(
    "name",
    ["Bass", "Double Bass", "Contrabass", "Kontrabass 2", "Upright", "DB", "Walking Bassline"],
)
def test_a_part_called_a_bass_sounds_an_octave_lower(read, name):
    treble = "<clef><sign>G</sign></clef>"
    text = score(part(quarters("E2", "A2", "D3", "G3"), attributes=TIME_44 + treble), names=(name,))
    take = read(text)
    assert pitches(take) == [28, 33, 38, 43]
    assert GUESS in take.warnings[0]
    assert "assumed for a bass" in take.line


def test_an_instrument_that_is_a_bass(read):
    sound = "<score-instrument id='I'><instrument-name>x</instrument-name>{}</score-instrument>"
    program = "<midi-instrument id='I'><midi-program>33</midi-program></midi-instrument>"
    body = part(quarters("E2", "A2", "D3", "G3"))
    for listed in (
        sound.format("<instrument-sound>strings.contrabass</instrument-sound>"),
        sound.format("") + program,
    ):
        assert pitches(read(score(body, names=("Line",), listed=listed)))[0] == 28


def test_a_single_part_in_the_bass_clef_is_taken_for_a_bass(read):
    take = read(score(part(quarters("E2", "A2", "D3", "G3"), attributes=BASS)))
    assert pitches(take) == [28, 33, 38, 43]
    assert GUESS in take.warnings[0]


@pytest.mark.parametrize("name", ["Cello", "Bassoon", "Bass Trombone", "Bass Clarinet", "Piano"])
def test_other_low_instruments_sound_as_written(read, name):
    take = read(score(part(quarters("E2", "A2", "D3", "G3"), attributes=BASS), names=(name,)))
    assert pitches(take) == [40, 45, 50, 55]
    assert take.warnings == ()


def test_a_line_below_the_written_range_sounds_as_it_stands(read):
    take = read(score(part(quarters("E1", "A1", "D2", "G2"), attributes=BASS), names=("Bass",)))
    assert pitches(take) == [28, 33, 38, 43]
    assert "goes below the E of a written bass part" in take.line
    assert take.warnings == ()


def test_a_single_low_note_does_not_hide_a_written_bass_part(read):
    # A low C from an extension, once in a hundred notes.
    low = measure(note("C2", 48))
    bars = [quarters("E2", "A2", "D3", "G3")] * 25
    assert pitches(read(score(part(*bars, low), names=("Bass",))))[:1] == [28]


def test_the_bass_of_a_choir_sounds_as_written(read):
    voice = part(quarters("E3", "A2", "D3", "G3"), attributes=BASS)
    for names in (("Soprano", "Alto", "Tenor", "Bass"), ("Canto", "Alto", "Tenore", "Basso")):
        assert pitches(read(score(voice, voice, voice, voice, names=names))) == [52, 45, 50, 55]


# ---- which part is the bass ------------------------------------------------------------------


def test_the_bass_among_parts(read):
    high = part(quarters("E5", "A5", "D5", "G5"))
    low = part(quarters("E2", "A2", "D3", "G3"), attributes=BASS)
    take = read(score(high, low, names=("Flute", "Contrabass")))
    assert take.line.startswith(
        "part 2 (Contrabass): the bass by its name and its clef and its register;"
    )
    assert pitches(take) == [28, 33, 38, 43]
    assert read(score(high, low)).line.startswith("part 2: the bass by its clef and its register;")
    both = score(high, part(quarters("C5", "C5", "C5", "C5")), names=("One", "Two"))
    assert read(both).line.startswith("part 2 (Two): the lowest part;")


def test_the_part_that_is_asked_for(read):
    high = part(quarters("E5", "A5", "D5", "G5"))
    low = part(quarters("E2", "A2", "D3", "G3"), attributes=BASS)
    text = score(high, low, high, part(measure(rest(48))), names=("Flute", "Bass", "Tuba", "Bell"))
    assert pitches(read(text, track="1"))[0] == 76
    assert read(text, track=" flute ").line.startswith("part 1 (Flute): as asked for; sounds as")
    assert read(text, track="tub").line.startswith("part 3 (Tuba)")
    with pytest.raises(TakeFault, match="no part is called '7'; its parts are: 1 Flute, 2 Bass"):
        read(text, track="7")
    with pytest.raises(TakeFault, match="no part is called 'Drums'"):
        read(text, track="Drums")
    with pytest.raises(TakeFault, match="more than one part is called 'b'"):
        read(text, track="b")
    with pytest.raises(TakeFault, match="part 4 holds no notes"):
        read(text, track="4")


def test_the_lower_staff_of_a_piano(read):
    two = "<staves>2</staves><clef number='1'><sign>G</sign></clef><clef number='2'><sign>F</sign></clef>"
    content = (
        note("E5", 48, inside="<staff>1</staff>")
        + "<backup><duration>48</duration></backup>"
        + note("C3", 48, inside="<voice>5</voice><staff>2</staff>")
    )
    take = read(score(part(measure(content), attributes=TIME_44 + two), names=("Piano",)))
    assert line(take) == "48@0+4"
    assert take.line.startswith("part 1 (Piano), staff 2: ")


def test_no_notes(read):
    with pytest.raises(TakeFault, match=r"line\.musicxml: it holds no notes"):
        read(score(part(measure(rest(48)))))
    drums = "<note><unpitched/><duration>48</duration></note>"
    with pytest.raises(TakeFault, match="it holds no notes"):
        read(score(part(measure(drums))))


# ---- what is played --------------------------------------------------------------------------


def test_ties_are_joined_also_over_a_bar_line(read):
    take = read(
        score(
            part(
                measure(note("E3", 36), note("G3", 12, inside=TIE_ON)),
                measure(
                    note("G3", 24, inside=TIE_BACK + TIE_ON),
                    note("G3", 12, inside=TIE_BACK),
                    note("G3", 12),
                ),
            )
        )
    )
    assert line(take) == "52@0+3 55@3+4 55@7+1"


def test_a_tie_in_the_notation_alone_counts(read):
    tied = "<notations><tied type='{}'/></notations>"
    take = read(
        score(
            part(
                measure(
                    note("E3", 24, inside=tied.format("start")),
                    note("E3", 24, inside=tied.format("stop")),
                )
            )
        )
    )
    assert line(take) == "52@0+4"


def test_a_tie_to_another_pitch_or_to_nothing_is_no_tie(read):
    take = read(
        score(
            part(
                measure(note("E3", 24, inside=TIE_ON), note("F3", 24, inside=TIE_BACK)),
                measure(note("E3", 48, inside=TIE_BACK)),
            )
        )
    )
    assert line(take) == "52@0+2 53@2+2 52@4+4"


def test_a_tie_whose_end_is_not_written(read):
    take = read(score(part(measure(note("E3", 24, inside=TIE_ON), note("E3", 24)))))
    assert line(take) == "52@0+4"


def test_tuplets_are_exact(read):
    triplets = measure(*(note("E3", 4) for _ in range(3)), rest(36))
    take = read(score(part(triplets, measure(rest(48)))))
    assert [n.onset_quarters for n in take.notes] == [0, 1 / 3, 2 / 3]
    assert [n.duration_quarters for n in take.notes] == [1 / 3] * 3


def test_grace_and_cue_notes_are_left_out_and_told(read):
    take = read(
        score(
            part(
                measure(
                    note("D3", 0, before="<grace/>"),
                    note("E3", 24),
                    note("B3", 12, before="<cue/>"),
                    note("G3", 12),
                )
            )
        )
    )
    assert line(take) == "52@0+2 55@3+1"
    assert take.warnings == (
        "1 grace note is left out as an ornament",
        "1 cue note is left out",
    )


def test_chords_are_reduced_to_their_lowest_note(read):
    take = read(
        score(part(measure(note("G3", 24), note("C3", 24, before="<chord/>"), note("E3", 24))))
    )
    assert line(take) == "48@0+2 52@2+2"
    assert take.warnings == ("1 note is left out, above the lowest of a chord",)


def test_a_second_voice_cuts_the_first(read):
    take = read(
        score(
            part(
                measure(
                    note("C3", 48),
                    "<backup><duration>36</duration></backup>",
                    note("E3", 12, inside="<voice>2</voice>"),
                )
            )
        )
    )
    assert line(take) == "48@0+1 52@1+1"
    assert take.warnings == ("1 note is cut short by the next, in another voice",)


@pytest.mark.parametrize(
    "head",
    [
        "<notehead>x</notehead>",
        "<notehead>cross</notehead>",
        '<notehead parentheses="yes">normal</notehead>',
    ],
)
def test_muffled_notes_are_soft_and_short(read, head):
    take = read(score(part(measure(note("E3", 24, inside=head), note("G3", 24)))))
    assert line(take) == "52@0+0.125 55@2+2"
    assert [n.velocity for n in take.notes] == [GHOST_VELOCITY, 80]


def test_slashes_show_a_rhythm_and_are_no_notes(read):
    slash = "<notehead>slash</notehead>"
    take = read(score(part(measure(note("B3", 24, inside=slash), note("G3", 24)))))
    assert line(take) == "55@2+2"


def test_dynamics_are_velocities(read):
    loud = direction("<dynamics><ff/></dynamics>")
    soft = '<sound dynamics="50"/>'
    content = (note("E3", 12), loud, note("E3", 12), soft, note("E3", 12))
    take = read(score(part(measure(*content, note("E3", 12, dynamics="100")))))
    assert [n.velocity for n in take.notes] == [80, 112, 45, 90]


def test_repeats_and_endings_are_played_out(read):
    back = '<repeat direction="backward"/>'
    take = read(
        score(
            part(
                measure(note("C3", 48), FORWARD),
                measure(ending("1", "start"), note("D3", 48), ending("1", "stop", back)),
                measure(ending("2", "start"), note("E3", 48), ending("2", "stop")),
            )
        )
    )
    assert line(take) == "48@0+4 50@4+4 48@8+4 52@12+4"


def test_a_pickup_comes_first_and_its_length_is_told(read):
    take = read(
        score(
            part(
                measure(note("G3", 12), implicit=True),
                measure(note("C3", 48)),
                measure(note("D3", 36), BACKWARD),
                measure(note("E3", 48)),
            ),
        )
    )
    assert take.pickup_quarters == 1.0
    assert line(take) == "55@0+1 48@1+4 50@5+3 55@8+1 48@9+4 50@13+3 52@17+4"
    assert take.meters == (FileMeter(0.0, Meter(4, 4)),)


def test_meters_and_an_irregular_bar(read):
    three = TIME_44.replace("<beats>4", "<beats>3")
    take = read(
        score(
            part(
                measure(note("C3", 48)),
                measure(note("D3", 24), implicit=True),
                measure(note("E3", 48)),
                measure(note("F3", 36), attributes=three),
            )
        )
    )
    assert [(m.quarters, m.meter) for m in take.meters] == [
        (0.0, Meter(4, 4)),
        (4.0, Meter(2, 4)),
        (6.0, Meter(4, 4)),
        (10.0, Meter(3, 4)),
    ]


def test_seconds_follow_the_tempo_marks(read):
    take = read(
        score(
            part(
                measure('<sound tempo="60"/>', note("C3", 48)),
                measure(note("D3", 24), '<sound tempo="240"/>', note("E3", 24)),
            )
        )
    )
    assert [(n.onset_s, n.duration_s) for n in take.notes] == [(0, 4), (4, 2), (6, 0.5)]
    assert take.tempo_map == TempoMap((0.0, 6.0), (0.0, 6.0), (1.0, 0.25))


def test_without_a_tempo_120_quarter_notes_a_minute(read):
    take = read(score(part(quarters("C3", "D3", "E3", "F3"))))
    assert [n.onset_s for n in take.notes] == [0, 0.5, 1.0, 1.5]
    assert take.warnings == ()


def test_chord_symbols_that_nobody_can_read_are_no_matter(read):
    odd = "<harmony><root><root-step>H</root-step></root><kind>odd</kind></harmony>"
    assert line(read(score(part(measure(odd, note("C3", 48)))))) == "48@0+4"


def test_a_sign_that_repeats_the_bar_before(read):
    sign = '<measure-style><measure-repeat type="{}">1</measure-repeat></measure-style>'
    take = read(
        score(
            part(
                quarters("C3", "D3", "E3", "F3"),
                measure(rest(48), attributes=sign.format("start")),
                measure(note("G3", 48), attributes=sign.format("stop")),
            )
        )
    )
    assert line(take) == "48@0+1 50@1+1 52@2+1 53@3+1 48@4+1 50@5+1 52@6+1 53@7+1 55@8+4"


def test_faults_name_part_and_measure(read):
    spoiled = score(part(quarters("C3", "D3", "E3", "F3")), names=("Bass",))
    with pytest.raises(TakeFault, match=r"part Bass, measure 1: the step 'H' was read"):
        read(spoiled.replace("<step>D<", "<step>H<"))
    with pytest.raises(TakeFault, match=r"part Bass, measure 1: the octave '99' was read"):
        read(spoiled.replace("<octave>3<", "<octave>99<"))
    with pytest.raises(TakeFault, match=r"part Bass, measure 1: the duration '' was read"):
        read(spoiled.replace("<duration>12</duration>", ""))


# ---- ABC -------------------------------------------------------------------------------------


def test_abc_pitches_and_lengths(read_abc):
    # C is middle C (ABC 2.1, section 4.1): MIDI number 60.
    take = read_abc("C D/ E/ F3/2 G//G// | c'2 C,,2 | A>B A<B | (3CDE z2 |]\n")
    assert line(take) == (
        "60@0+1 62@1+0.5 64@1.5+0.5 65@2+1.5 67@3.5+0.25 67@3.75+0.25 "
        "84@4+2 36@6+2 69@8+1.5 71@9.5+0.5 69@10+0.5 71@10.5+1.5 "
        "60@12+0.666667 62@12.6667+0.666667 64@13.3333+0.666667"
    )


def test_abc_accidentals_hold_to_the_bar_line(read_abc):
    take = read_abc("^F F =F f | F _B B ^^C |]", HEAD.replace("K:C", "K:G"))
    assert pitches(take) == [66, 66, 65, 77, 66, 70, 70, 62]
    explicit = HEAD.replace("K:C", "K:D exp _b _e ^f")
    assert pitches(read_abc("B E F c |]", explicit)) == [70, 63, 66, 72]


@pytest.mark.parametrize(
    ("directive", "expected"),
    [("", [66, 78, 66]), ("%%propagate-accidentals octave\n", [66, 77, 66]),
     ("I:propagate-accidentals not\n", [66, 77, 65])],
)  # fmt: skip
def test_abc_how_far_accidentals_hold(read_abc, directive, expected):
    assert pitches(read_abc("^F f F z |]", f"X:1\nM:4/4\nL:1/4\n{directive}K:C\n")) == expected


def test_abc_a_pickup_without_room_cuts_the_bar_before(read_abc):
    take = read_abc("C4 | D4 |: G | E4 | F3 :|")
    assert line(take) == "60@0+4 62@4+3 67@7+1 64@8+4 65@12+3 67@15+1 64@16+4 65@20+3"


def test_abc_ties_keep_their_accidental(read_abc):
    assert line(read_abc("z2 ^F2- | F F2 z |]")) == "66@2+3 65@5+2"


def test_abc_grace_notes_chords_and_overlays(read_abc):
    take = read_abc("{ag}C2 [E,GB]2 | C4 & z E z2 |]")
    assert line(take) == "60@0+2 52@2+2 60@4+1 64@5+1"
    assert take.warnings == (
        "2 notes are left out, above the lowest of a chord",
        "1 note is cut short by the next, in another voice",
        "2 grace notes are left out as ornaments",
    )


@pytest.mark.parametrize(
    ("field", "sounding", "guessed"),
    [
        ("K:C clef=bass", 33, True),
        ("K:C bass", 33, True),
        ("K:C clef=bass transpose=-12", 33, False),
        ("K:C clef=bass-8", 33, False),
        ("K:C clef=treble-8", 33, False),
        ("K:C", 45, False),
        ("K:C clef=bass transpose=0", 45, False),
        ("%%MIDI transpose -12\nK:C", 33, False),
        ("%%MIDI program 32\nK:C", 33, True),
    ],
)
def test_abc_octaves(read_abc, field, sounding, guessed):
    take = read_abc("A,, B,, C, D, |]", HEAD.replace("K:C", field))
    assert pitches(take)[0] == sounding
    assert any(GUESS in warning for warning in take.warnings) == guessed


def test_abc_directives_within_a_voice(read_abc):
    head = HEAD.replace("K:C", "V:1\nV:2\nK:C")
    text = "V:1\nc4|\nV:2\n%%MIDI program 1 32\n%%MIDI transpose -24\nc4|\n%%MIDI program 999\n"
    take = read_abc(text, head)
    assert take.line.startswith("part 2: the bass by its instrument and its register; sounds by a")
    assert pitches(take) == [48]


def test_abc_double_flats_in_the_key(read_abc):
    # Fb major has eight flats: B is doubly flat.
    assert pitches(read_abc("B E F G |]", HEAD.replace("K:C", "K:Fb"))) == [69, 63, 64, 66]


def test_abc_tied_chords(read_abc):
    assert line(read_abc("[C-E]2 [C-E-]2- | [CE]4 |]")) == "60@0+8"


def test_abc_octave_option_moves_what_is_typed(read_abc):
    take = read_abc("A B c d |]", HEAD.replace("K:C", "K:C clef=bass octave=-2"))
    assert pitches(take)[0] == 33
    assert GUESS in take.warnings[0]


def test_abc_voices_are_parts(read_abc):
    head = HEAD.replace("K:C", 'V:T name="Horn"\nV:B name="Bass" clef=bass\nK:C')
    text = "V:T\nc d e f | g4 |]\nV:B\nC,2 G,,2 | C,4 |]\n"
    take = read_abc(text, head)
    assert take.line.startswith("part 2 (Bass): the bass by its name and its clef")
    assert line(take) == "36@0+2 31@2+2 36@4+4"
    assert pitches(read_abc(text, head, track="horn"))[0] == 72


def test_abc_muffled_notes(read_abc):
    assert [n.velocity for n in read_abc("C [K:style=x] D [K:style=normal] E z |]").notes] == [
        80,
        GHOST_VELOCITY,
        80,
    ]


def test_abc_dynamics_tempo_and_repeats(read_abc):
    take = read_abc("|: !p!C4 | [Q:1/4=60] !f!D4 :|", HEAD.replace("K:C", "Q:1/4=240\nK:C"))
    assert [n.velocity for n in take.notes] == [49, 96, 49, 96]
    assert [n.onset_s for n in take.notes] == [0, 1, 5, 6]


def test_abc_pickup(read_abc):
    take = read_abc("G | C4 | D3 :|")
    assert take.pickup_quarters == 1.0
    assert line(take) == "67@0+1 60@1+4 62@5+3 67@8+1 60@9+4 62@13+3"


def test_abc_unit_length_follows_the_meter(read_abc):
    # ABC 2.1, section 3.1.7: below 3/4 a sixteenth, else an eighth.
    assert line(read_abc("C4 |", "X:1\nM:2/4\nK:C\n")) == "60@0+1"
    assert line(read_abc("C4 |", "X:1\nM:3/4\nK:C\n")) == "60@0+2"


@pytest.mark.parametrize(
    ("signs", "lengths"),
    [
        ("(2CD", [0.75, 0.75]),
        ("(4CDEF", [0.375] * 4),
        ("(3:2:4CDEF", [1 / 3] * 4),
        ("(5CDEFG", [0.3] * 5),
        ("(3C2D", [2 / 3, 1 / 3]),
    ],
)
def test_abc_tuplets(read_abc, signs, lengths):
    take = read_abc(f"{signs}|]", "X:1\nM:6/8\nL:1/8\nK:C\n")
    assert [n.duration_quarters for n in take.notes] == pytest.approx(lengths)


# ---- names -----------------------------------------------------------------------------------


def names(take):
    return [n.spelled for n in take.notes]


def test_a_line_keeps_the_names_that_are_written(read, read_abc):
    content = (note("Db3", 12), note("C#3", 12), note("E#3", 12), note("Gbb3", 12))
    assert names(read(score(part(measure(*content), attributes=BASS_8VB)))) == [
        "Db", "C#", "E#", "Gbb",
    ]  # fmt: skip
    assert names(read_abc("_D ^C ^E __G | _D D =D ^^F |", HEAD)) == [
        "Db", "C#", "E#", "Gbb", "Db", "Db", "D", "F##",
    ]  # fmt: skip
    assert names(read_abc("B E [K:E] D G- | G F4 |")) == ["B", "E", "D#", "G#", "F#"]


def test_a_transposed_line_is_named_as_it_sounds(read, read_abc):
    down = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"
    content = (note("C3", 12), note("F#3", 12), note("Db3", 24))
    take = read(score(part(measure(*content), attributes=TIME_44 + BASS_CLEF + down)))
    assert names(take) == ["Bb", "E", "Cb"]
    assert names(read_abc("^C _D |", HEAD.replace("K:C", "K:C transpose=-12"))) == ["C#", "Db"]
    # ABC tells how many half steps and not how many letters.
    assert names(read_abc("^C _D |", HEAD.replace("K:C", "K:C transpose=-2"))) == [None, None]
