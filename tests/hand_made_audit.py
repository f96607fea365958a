"""An audit made by hand, so that reports are tested without reading or judging anything.

A chart of four bars in F, three choruses: the first is clean walking, the second misses landings
and holds a ghost, the third runs one bar ahead from bar 2 and does not come back.
"""

from __future__ import annotations

from linecheck.music.form import Form
from linecheck.terms import (
    FUNCTIONS,
    Approach,
    Audit,
    Bar,
    BarCost,
    Chart,
    ChartChord,
    Chord,
    ChordTone,
    ChorusScore,
    Feel,
    FormSpan,
    Judgement,
    Key,
    LabelledLine,
    Landing,
    Loss,
    Meter,
    Note,
    Pattern,
    PlacedLine,
    PlacedNote,
    Rubric,
    Section,
    SectionScore,
    Take,
    TakeNote,
    Tension,
    TimeFeel,
)

_FUNCTION_NAMES = ("root", "third", "fifth", "seventh")


def chord(symbol: str, root: int, *tones: str, bass: int | None = None) -> Chord:
    """A chord of tones given as ``"4 3"`` (semitones from the root, degree)."""
    made = tuple(
        ChordTone((root + int(semitones)) % 12, degree, function)
        for (semitones, degree), function in zip(
            (tone.split() for tone in tones), _FUNCTION_NAMES, strict=False
        )
    )
    name = symbol[: 2 if symbol[1:2] == "b" else 1]
    return Chord(
        symbol=symbol,
        root=root,
        bass=root if bass is None else bass,
        root_name=name,
        bass_name=symbol.partition("/")[2] or name,
        kind="dominant",
        tones=made,
        tensions=(),
        available=(Tension((root + 2) % 12, "9"), Tension((root + 9) % 12, "13")),
    )


F7 = chord("F7", 5, "0 1", "4 3", "7 5", "10 b7")
BB7 = chord("Bb7", 10, "0 1", "4 3", "7 5", "10 b7")
GM7 = chord("Gm7", 7, "0 1", "3 b3", "7 5", "10 b7")
C7 = chord("C7/E", 0, "0 1", "4 3", "7 5", "10 b7", bass=4)
NO_CHORD = Chord("N.C.", None, None, "", "", "none", (), (), ())
FOUR = Meter(4, 4)


def bar(number: int, section: str, *chords: Chord, opens: bool = False) -> Bar:
    """A bar of 4/4 shared equally by its chords."""
    steps = 48 // len(chords)
    placed = tuple(ChartChord(c, i * steps, steps) for i, c in enumerate(chords))
    return Bar(number, section, FOUR, placed, opens)


def hand_made_chart(title: str = "Hand-made Stomp") -> Chart:
    """Four bars, two sections."""
    return Chart(
        title=title,
        key=Key("F", minor=False),
        meter=FOUR,
        tempo=120.0,
        feel="swing",
        form=("A", "B"),
        sections=(Section("A", 1, 2), Section("B", 3, 2)),
        bars=(
            bar(1, "A", F7, opens=True),
            bar(2, "A", BB7),
            bar(3, "B", GM7, C7, opens=True),
            bar(4, "B", F7),
        ),
        source="hand_made.toml",
    )


# Pitch and function of every beat of a chorus.
_WALK = (
    (41, "root"), (45, "third"), (48, "fifth"), (47, "approach"),
    (46, "root"), (50, "third"), (46, "root"), (44, "approach"),
    (43, "root"), (46, "third"), (40, "third"), (43, "fifth"),
    (41, "root"), (45, "third"), (48, "fifth"), (42, "outside"),
)  # fmt: skip
_DEGREES = {"root": "1", "third": "3", "fifth": "5", "approach": "b5", "outside": "#1"}
_NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
CHORUSES = 3
FEEL = Feel(
    tempo=120.0,
    tempo_change=0.01,
    placement_mean_ms=7.25,
    placement_spread_ms=11.5,
    swing_ratio=1.8333333,
    length_share=0.9,
    length_spread=0.04,
    loudness=86.0,
    loudness_spread=1.4,
)


def hand_made_audit(title: str = "Hand-made Stomp", source: str = "hand_made.mid") -> Audit:
    """The audit that the module's text describes."""
    chart = hand_made_chart(title)
    form = Form(chart, CHORUSES)
    notes = [_pickup()]
    for beat in range(16 * CHORUSES):
        notes.append(_note(form, beat, len(notes)))
    landings = tuple(
        _landing(form, chorus * form.steps + step, notes)
        for chorus in range(CHORUSES)
        for step in form.landings
    )
    losses = (
        Loss(2 * 192 + 48, "ahead", 4.0, None, 0.934567),
        Loss(192 + 96, "adrift", None, 192 + 144, 0.61, certain=False),
    )
    spans = (FormSpan(0, 2 * 192 + 48, 0.0, 0.99), FormSpan(2 * 192 + 48, 3 * 192, 4.0, 0.934567))
    return Audit(
        chart=chart,
        take=_take(notes, source),
        line=PlacedLine(
            notes=tuple(
                PlacedNote(n.onset_s, n.duration_s, n.pitch, n.velocity, n.step, n.end_step, 4.0)
                for n in notes
            ),
            grid="tempo-map",
            beats_s=tuple(2 + 0.5 * beat for beat in range(16 * CHORUSES + 1)),
            tempo_bpm=120.0,
            swing_ratio=1.8333333,
            placement_mean_ms=7.25,
            placement_spread_ms=11.5,
            choruses=CHORUSES,
            spans=spans,
            losses=losses,
            feel=TimeFeel(FEEL, (FEEL,) * CHORUSES),
        ),
        labels=LabelledLine(
            tuple(notes), landings, ("walking", "walking", "mixed"), 0, CHORUSES * form.steps
        ),
        judgement=_judgement(notes),
        warnings=("three notes of two at a time: the lower one was kept",),
        patterns=(Pattern("one direction", "walking", "up", 3, 4, ((1, 1), (1, 2), (2, 1))),),
    )


def _take(notes: list[Note], source: str) -> Take:
    heard = tuple(TakeNote(n.onset_s, n.duration_s, n.pitch, n.velocity) for n in notes)
    return Take(source, "played", heard, None, line="track 2 (Bass)")


def _pickup() -> Note:
    place = Form(hand_made_chart()).place(-6)
    return Note(
        1.75, 0.2, 40, 80, -6, 0, 3.0, place, None, None, "E2", None, None, None, None,
        anticipation=False, ghost=False, landing=False,
    )  # fmt: skip


def _note(form: Form, beat: int, index: int) -> Note:
    pitch, function = _WALK[beat % 16]
    chorus = beat // 16
    if chorus == 1 and beat % 16 in (4, 8):
        pitch, function = pitch + 1, "outside"
    ghost = chorus == 1 and beat % 16 == 14
    step = beat * 12
    approach = None
    if function == "approach":
        target = _WALK[(beat + 1) % 16][0]
        side = "above" if pitch > target else "below"
        approach = Approach("chromatic", side, target, index + 1)
    section = form.bar(step)
    in_force = form.chord(step)
    lost = chorus == 2 and beat % 16 >= 4
    return Note(
        onset_s=2 + beat * 0.5 + 0.004,
        duration_s=0.45 if not ghost else 0.05,
        pitch=pitch,
        velocity=30 if ghost else 84 + beat % 5,
        step=step,
        end_step=step + 12,
        placement_ms=4.0,
        place=form.place(step),
        section=section.section if section else None,
        chord=in_force.symbol if in_force else None,
        name=f"{_NAMES[pitch % 12]}{pitch // 12 - 1}",
        degree=_DEGREES[function],
        function=None if ghost else function,
        function_in_own_place="root" if lost else None if ghost else function,
        approach=approach,
        anticipation=False,
        ghost=ghost,
        landing=form.is_landing(step),
    )


def _landing(form: Form, step: int, notes: list[Note]) -> Landing:
    index = 1 + step // 12
    note = notes[index]
    in_force, at = form.chord(step), form.bar(step)
    met = note.function in _FUNCTION_NAMES
    return Landing(
        step=step,
        place=form.place(step),
        section=at.section if at else "",
        chord=in_force.symbol if in_force else "",
        opens_section=bool(at and at.opens_section and form.place(step).beat == 1),
        met=met,
        function=note.function if met else None,
        anticipated=False,
        placement_ms=4.0,
        note=index,
        counted=True,
    )


def _judgement(notes: list[Note]) -> Judgement:
    choruses = []
    for chorus in range(1, CHORUSES + 1):
        own = [n for n in notes if n.place.chorus == chorus and n.function is not None]
        functions = {f: sum(n.function == f for n in own) for f in FUNCTIONS}
        purpose = 1 - functions["outside"] / len(own)
        landings = 3 / 5 if chorus == 2 else 1.0
        form_share = 0.25 if chorus == 3 else 1.0
        total = 100 * (0.4 * purpose + 0.3 * landings + 0.3 * form_share)
        style = "mixed" if chorus == 3 else "walking"
        choruses.append(
            ChorusScore(
                chorus, style, len(own), functions, purpose, landings, form_share, 1.0, total
            )
        )
    sections = tuple(
        SectionScore(c, name, first, 90.0 - c, 1.0, not (c == 2 and name == "B"))
        for c in range(1, CHORUSES + 1)
        for name, first in (("A", 1), ("B", 3))
    )
    return Judgement(
        choruses=tuple(choruses),
        sections=sections,
        commitment=sum(c.commitment for c in choruses) / CHORUSES,
        costs=(
            BarCost(3, 3, "B", "form", 7.5, "one bar ahead"),
            BarCost(2, 2, "A", "landings", 3.2, "B2 is no chord tone of Bb7"),
        ),
        rubric=Rubric("default", {"purpose": 4, "landings": 3, "form": 3}, "rubric.toml", "a1b2"),
    )
