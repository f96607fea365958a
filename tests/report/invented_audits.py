"""Audits built by hand, so that a report can be tested without any stage before it."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from hypothesis import strategies as st

from linecheck.music.form import Form
from linecheck.music.pitch import pitch_class, pitch_name, spell
from linecheck.terms import (
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
    Function,
    Judgement,
    Key,
    LabelledLine,
    Landing,
    Loss,
    Meter,
    Note,
    PlacedLine,
    Rubric,
    Section,
    SectionScore,
    Take,
    TakeNote,
    TimeFeel,
)

FOUR = Meter(4, 4)
BLUES = ["F7", "Bb7", "F7", "F7", "Bb7", "Bdim7", "F7", "D7", "Gm7", "C7", "F7 D7", "Gm7 C7"]
QUALITIES = {
    "7": (
        "dominant",
        ((0, "1", "root"), (4, "3", "third"), (7, "5", "fifth"), (10, "b7", "seventh")),
    ),
    "m7": (
        "minor-seventh",
        ((0, "1", "root"), (3, "b3", "third"), (7, "5", "fifth"), (10, "b7", "seventh")),
    ),
    "dim7": (
        "diminished-seventh",
        ((0, "1", "root"), (3, "b3", "third"), (6, "b5", "fifth"), (9, "bb7", "seventh")),
    ),
}
LETTERS = "CDEFGAB"
TENSION_DEGREES = {1: "b9", 2: "9", 5: "11", 6: "#11", 8: "b13", 9: "13", 3: "#9", 11: "7", 4: "3"}

# Four bars of walking over a blues, by scale distance above each root, and bars that go wrong.
WALKS = (
    (0, 4, 7, 9),
    (0, -3, -5, -6),
    (0, 2, 4, 5),
    (0, 7, 4, 2),
)


def chord(symbol: str) -> Chord:
    """A chord of the few kinds that the invented tunes use."""
    name = symbol[:2] if symbol[1:2] in ("b", "#") else symbol[:1]
    kind, tones = QUALITIES[symbol[len(name) :]]
    root = pitch_class(name)
    made = tuple(ChordTone((root + up) % 12, degree, fn) for up, degree, fn in tones)
    return Chord(symbol, root, root, name, name, kind, made, (), ())


def blues_chart(title: str = "Gatepost Blues", meter: Meter = FOUR) -> Chart:
    """An invented twelve-bar blues in F with three sections of four bars."""
    bars = []
    for index, symbols in enumerate(BLUES):
        names = symbols.split()
        long = meter.beats * 12 // len(names)
        chords = tuple(ChartChord(chord(n), i * long, long) for i, n in enumerate(names))
        bars.append(Bar(index + 1, "ABC"[index // 4], meter, chords, index % 4 == 0))
    sections = tuple(Section(name, 1 + 4 * i, 4) for i, name in enumerate("ABC"))
    return Chart(
        title, Key("F", minor=False), meter, 132.0, "swing", ("A", "B", "C"), sections, tuple(bars)
    )


def _label(note: Note, here: Chord, following: Note | None, index: int) -> Note:
    """A rough label: chord tone, a step into the next note, else a tension or outside."""
    up = (note.pitch - (here.root or 0)) % 12
    degree, function, approach = TENSION_DEGREES.get(up), None, None
    for tone in here.tones:
        if tone.pitch_class == note.pitch % 12:
            degree, function = tone.degree, tone.function
    if function is None and following is not None and not note.landing:
        apart = following.pitch - note.pitch
        if abs(apart) in (1, 2):
            function = "approach"
            kind = "chromatic" if abs(apart) == 1 else "scale"
            side = "below" if apart > 0 else "above"
            approach = Approach(kind, side, following.pitch, index + 1)
    if function is None:
        function = "tension" if up in (2, 9) else "outside"
    flat_side = spell("CDDEEFGGAABB"[note.pitch % 12], note.pitch % 12)
    name = pitch_name(flat_side, note.pitch)
    return replace(
        note,
        name=name,
        degree=degree,
        function=function,
        function_in_own_place=function,
        approach=approach,
    )


def played_pitches(form: Form, choruses: int) -> list[tuple[int, int]]:
    """(step, pitch) of a walking line; chorus 2 runs a bar ahead from bar 5 to bar 10."""
    found = []
    for chorus in range(choruses):
        for bar in range(len(form.chart.bars)):
            at = chorus * form.steps + bar * 48
            lost = chorus % 4 == 1 and 4 <= bar < 9
            root = form.chord(at + (48 if lost else 0)).root or 0
            base = 28 + (root - 28) % 12
            walk = WALKS[(bar + chorus) % len(WALKS)]
            for beat, up in enumerate(walk):
                pitch = base + up if base + up >= 28 else base + up + 12
                found.append((at + 12 * beat, pitch))
    # A skip, a triplet and a solo break, so that the page has more than quarters to show.
    for chorus in range(choruses):
        at = chorus * form.steps + 3 * 48
        found.append((at + 6, found[chorus * 48 + 12][1]))
        at += 4 * 48
        found += [(at + 28, 45), (at + 32, 43)]
    return sorted(set(found))


def audit_of(
    title: str = "Gatepost Blues",
    choruses: int = 3,
    source: str = "gatepost-take.mid",
    kind="played",
) -> Audit:
    """A whole audit of an invented take; the figures are plausible, not computed by the rules."""
    chart = blues_chart(title)
    form = Form(chart, choruses)
    beat_s = 60 / 132
    pitches = played_pitches(form, choruses)
    rough = []
    for index, (step, pitch) in enumerate(pitches):
        after = pitches[index + 1][0] if index + 1 < len(pitches) else step + 12
        late = ((index * 7) % 11 - 4) * 3.0 if kind == "played" else 0.0
        onset = 1.0 + step / 12 * beat_s + late / 1000
        rough.append(
            Note(
                onset,
                (after - step) / 12 * beat_s * 0.85,
                pitch,
                70 + index % 30,
                step,
                after - 1,
                late,
                form.place(step),
                form.bar(step).section,
                form.chord(step).symbol,
                "C2",
                None,
                None,
                None,
                None,
                anticipation=False,
                ghost=index % 67 == 40,
                landing=form.is_landing(step),
            )
        )
    notes = []
    for index, note in enumerate(rough):
        following = rough[index + 1] if index + 1 < len(rough) else None
        made = _label(note, form.chord(note.step), following, index)
        if note.place.chorus % 4 == 2 and 5 <= note.place.bar < 10:
            own = _label(note, form.chord(note.step + 48), following, index)
            made = replace(made, function_in_own_place=own.function)
        if note.ghost:
            made = replace(made, function=None, function_in_own_place=None, approach=None)
        notes.append(made)
    landings = _landings(form, notes, choruses)
    return _judged(chart, form, tuple(notes), landings, choruses, source, kind)


def _landings(form: Form, notes: list[Note], choruses: int) -> tuple[Landing, ...]:
    at_step = {note.step: (i, note) for i, note in enumerate(notes)}
    found = []
    for chorus in range(choruses):
        for local in form.landings:
            step = chorus * form.steps + local
            index, note = at_step.get(step, (None, None))
            met = note is not None and note.function in ("root", "third", "fifth", "seventh")
            bar = form.bar(step)
            found.append(
                Landing(
                    step,
                    form.place(step),
                    bar.section,
                    form.chord(step).symbol,
                    bar.opens_section and local % 48 == 0,
                    met,
                    note.function if note and met else None,
                    anticipated=False,
                    placement_ms=note.placement_ms if note else None,
                    note=index,
                    counted=True,
                )
            )
    return tuple(found)


def _judged(chart, form, notes, landings, choruses, source, kind) -> Audit:  # noqa: PLR0917
    beat_s = 60 / 132
    losses, spans, scores, sections, costs = [], [], [], [], []
    for chorus in range(1, choruses + 1):
        base = (chorus - 1) * form.steps
        lost = chorus % 4 == 2
        if lost:
            losses.append(Loss(base + 4 * 48, "ahead", 4.0, base + 9 * 48, 0.97))
        here = [n for n in notes if n.place.chorus == chorus and n.function]
        counts: dict[Function, int] = {}
        for note in here:
            counts[note.function] = counts.get(note.function, 0) + 1
        purpose = 1 - counts.get("outside", 0) / len(here)
        mine = [x for x in landings if x.place.chorus == chorus]
        share = sum(x.met for x in mine) / len(mine)
        form_share = 1 - (20 / 48 if lost else 0)
        value = 100 * (0.4 * purpose + 0.4 * share + 0.2 * form_share)
        scores.append(
            ChorusScore(
                chorus, "walking", len(here), counts, purpose, share, form_share, 1.0, value
            )
        )
        sections += [
            SectionScore(chorus, section.name, section.bar, value, share, not lost)
            for section in chart.sections
        ]
        costs += [
            BarCost(
                chorus,
                missed.place.bar,
                missed.section,
                "landings",
                0.8 + missed.place.bar / 20,
                f"beat {missed.place.beat:g} of {missed.chord} was not met by a chord tone",
            )
            for missed in mine
            if not missed.met
        ]
        if lost:
            costs += [
                BarCost(chorus, bar, "B", "form", 1.4 - bar / 100, "the line is a bar ahead")
                for bar in range(5, 10)
            ]
    edge = 0
    for loss in losses:
        spans += [
            FormSpan(edge, loss.step, 0.0, 0.99),
            FormSpan(loss.step, loss.recovered_step, 4.0, 0.97),
        ]
        edge = loss.recovered_step
    spans.append(FormSpan(edge, choruses * form.steps, 0.0, 0.99))
    total = sum(s.commitment for s in scores) / len(scores)
    one = Feel(132.0, 0.01, 4.0, 11.0, 1.7, 0.85, 0.06, 84.0, 7.0)
    quick = replace(one, tempo=138.0, tempo_change=0.05, swing_ratio=None)
    feel = TimeFeel(one, tuple(quick if c == 1 else one for c in range(choruses)))
    line = PlacedLine(
        (),
        "tempo-map" if kind == "played" else "written",
        tuple(1.0 + i * beat_s for i in range(choruses * form.beats + 1)),
        132.0,
        1.7 if kind == "played" else None,
        4.0,
        11.0,
        choruses,
        tuple(spans),
        tuple(losses),
        feel=feel if kind == "played" else None,
    )
    take = Take(
        source,
        kind,
        tuple(TakeNote(n.onset_s, n.duration_s, n.pitch, n.velocity) for n in notes),
        None,
        line="track 2 'Bass'",
    )
    return Audit(
        chart,
        take,
        line,
        LabelledLine(notes, landings, ("walking",) * choruses),
        Judgement(
            tuple(scores),
            tuple(sections),
            total,
            tuple(sorted(costs, key=lambda c: -c.points)),
            Rubric(
                "default", {"purpose": 40.0, "landings": 40.0, "form": 20.0}, "rubric.toml", "0"
            ),
        ),
        ("one note was too soft to be judged",),
    )


@cache
def _model() -> Audit:
    return audit_of(choruses=1)


def audit_with(spans, kind="written", meter=None):
    """An audit whose only notes are F1 at these (step, end_step)."""
    model = _model()
    note = replace(model.labels.notes[0], name="F1", pitch=29)
    notes = tuple(replace(note, step=start, end_step=end) for start, end in spans)
    return replace(
        model,
        chart=blues_chart(meter=meter) if meter else model.chart,
        take=replace(model.take, kind=kind),
        labels=replace(model.labels, notes=notes, landings=()),
    )


@st.composite
def lines(draw):
    """Lines of any rhythm on any grid, with pickups, overlaps and notes after the form."""
    grid = draw(st.sampled_from([1, 2, 3, 4, 6, 12]))
    places = draw(st.lists(st.integers(-60, 580), min_size=1, max_size=30, unique=True))
    steps = sorted({p // grid * grid for p in places})
    return [(s, s + draw(st.integers(0, 70))) for s in steps]
