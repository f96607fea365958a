"""The words with one meaning, as frozen dataclasses, and remarks. No logic stands here.

Units stand in the names: ``_s`` seconds, ``_ms`` milliseconds, ``_beats`` beats.
A *step* is a twelfth of a beat, so that eighths (6), triplets (4) and sixteenths (3) are whole
steps. A *beat* is one unit of the meter's lower figure: a 4/4 bar has four, a 6/8 bar six.
Step 0 of a chart is beat one of its first bar; step 0 of a line is beat one of chorus 1, bar 1.
Pitch classes are 0 to 11 with C = 0; pitches are MIDI numbers as they sound (A4 = 69 = 440 Hz,
ISO 16; General MIDI), so the open strings of the bass are E1 = 28, A1 = 33, D2 = 38, G2 = 43.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import PurePath
from typing import TYPE_CHECKING, Any, Literal, Self, TypeAlias

if TYPE_CHECKING:
    from linecheck.comparison_terms import Comparison
    from linecheck.reference_terms import ReferenceReading

STEPS_PER_BEAT = 12

Function: TypeAlias = Literal["root", "third", "fifth", "seventh", "approach", "tension", "outside"]
FUNCTIONS: tuple[Function, ...] = (
    "root",
    "third",
    "fifth",
    "seventh",
    "approach",
    "tension",
    "outside",
)
CHORD_TONES: frozenset[Function] = frozenset(("root", "third", "fifth", "seventh"))
ApproachKind: TypeAlias = Literal["chromatic", "scale", "double", "enclosure", "from the fifth"]
Direction: TypeAlias = Literal["above", "below"]
Style: TypeAlias = Literal["walking", "solo", "mixed"]
WatchVerdict: TypeAlias = Literal["holds", "better", "same", "worse", "not played"]
LossKind: TypeAlias = Literal["ahead", "behind", "adrift"]
GridKind: TypeAlias = Literal["tempo-map", "tracked", "written"]
TakeKind: TypeAlias = Literal["played", "written", "audio"]
DoubtKind: TypeAlias = Literal[
    "chart",
    "meter",
    "key",
    "beginning",
    "track",
    "octave",
    "pitches",
    "click",
    "whole",
    "recording",
]


class Remark(str):
    """What is said of a take or a chart, in one line: a text that knows what it means.

    ``doubt`` is what it puts in question, None where it only tells how something was read.
    ``names`` are the pieces of it that come from the user's files (of tracks, parts, sections …),
    as they stand in it; all else is linecheck's own.
    """

    __slots__ = ("doubt", "names")
    doubt: DoubtKind | None
    names: tuple[str, ...]

    def __new__(
        cls, text: str, doubt: DoubtKind | None = None, names: tuple[str, ...] = ()
    ) -> Self:
        """A remark with its doubt and its names."""
        remark = super().__new__(cls, text)
        remark.doubt, remark.names = doubt, names
        return remark

    def __reduce__(self) -> tuple[type[Remark], tuple[Any, ...]]:
        """Itself, for copies and other processes."""
        return Remark, (str(self), self.doubt, self.names)


# ---- the chart -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class ChordTone:
    """A tone of a chord: pitch class, spelled degree ("b3"), and which of the four it is."""

    pitch_class: int
    degree: str
    function: Function


@dataclass(frozen=True, slots=True)
class Tension:
    """A tension over a chord: pitch class and spelled degree ("#11")."""

    pitch_class: int
    degree: str


@dataclass(frozen=True, slots=True)
class Chord:
    """A chord as its symbol gives it.

    ``root`` and ``bass`` are pitch classes; both are None for N.C. ``bass`` equals ``root``
    where the symbol has no slash. ``tensions`` are those that the symbol names, ``available``
    those that a line may use over it (the contract's table and whatever the symbol names).
    ``kind`` is the row of the table of chord types: "dominant", "minor-seventh", …
    """

    symbol: str
    root: int | None
    bass: int | None
    root_name: str
    bass_name: str
    kind: str
    tones: tuple[ChordTone, ...]
    tensions: tuple[Tension, ...]
    available: tuple[Tension, ...]


@dataclass(frozen=True, slots=True)
class Meter:
    """``beats`` units of a ``1/unit`` note a bar."""

    beats: int
    unit: int


@dataclass(frozen=True, slots=True)
class Key:
    """A tonic's name ("Bb") and the mode; spelling follows it."""

    tonic: str
    minor: bool


@dataclass(frozen=True, slots=True)
class ChartChord:
    """A chord where it stands: ``step`` from its bar's beat one, ``steps`` long within the bar."""

    chord: Chord
    step: int
    steps: int


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar of the chart. ``number`` counts from 1 in its chorus (or intro, or ending).

    Every step of a bar is under exactly one of ``chords``; a repeated chord (``%``) is written
    out. ``opens_section`` is true for the first bar of each section.
    """

    number: int
    section: str
    meter: Meter
    chords: tuple[ChartChord, ...]
    opens_section: bool


@dataclass(frozen=True, slots=True)
class Section:
    """A section where it stands in the form: name, first bar, length in bars."""

    name: str
    bar: int
    bars: int


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart as it was understood. ``bars`` is one chorus."""

    title: str
    key: Key
    meter: Meter
    tempo: float | None
    feel: Literal["swing", "straight"] | None
    form: tuple[str, ...]
    sections: tuple[Section, ...]
    bars: tuple[Bar, ...]
    intro: tuple[Bar, ...] = ()
    ending: tuple[Bar, ...] = ()
    source: str = ""
    warnings: tuple[Remark, ...] = ()


# ---- the take --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class TakeNote:
    """A note as the file gives it. ``onset_quarters`` is None where the file has no beats.

    ``cents`` is how far a note that was heard lies above (+) or below (−) ``pitch`` in equal
    temperament at the take's own tuning; None where nothing is claimed: the take is no recording,
    the note is too short or too faint, it slides, or the place is in doubt. The middle of a
    vibrato counts.

    ``fingering`` ("0" open, "1" to "4", "T" thumb; else as it is written) and ``string`` (1 is the
    highest) are the marks of a written line, None where it has none. ``written_at`` is where the
    note stands in a MusicXML file: part from 1, measure from 0, ``<note>`` of the measure from 0.
    ``spelled`` is the name that a written line gives the pitch, as it sounds and without an octave
    ("Db"), ``ghost`` whether it writes the note as a ghost; None in a take that was played.
    """

    onset_s: float
    duration_s: float
    pitch: int
    velocity: int
    onset_quarters: float | None = None
    duration_quarters: float | None = None
    cents: float | None = None
    fingering: str | None = None
    string: int | None = None
    written_at: tuple[int, int, int] | None = None
    spelled: str | None = None
    ghost: bool | None = None


@dataclass(frozen=True, slots=True)
class TempoMap:
    """Piecewise constant tempo.

    From ``quarters[i]`` (at ``seconds[i]``) on, one quarter note lasts
    ``seconds_per_quarter[i]``. The first entry is at quarter 0.
    """

    quarters: tuple[float, ...]
    seconds: tuple[float, ...]
    seconds_per_quarter: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class FileMeter:
    """A meter of the take's own file, from ``quarters`` on (always a bar line)."""

    quarters: float
    meter: Meter


@dataclass(frozen=True, slots=True)
class DoubtfulStretch:
    """A stretch of a recording whose notes cannot be trusted, and why in a few words."""

    from_s: float
    to_s: float
    why: str


@dataclass(frozen=True, slots=True)
class Recording:
    """What is known of the recording that a take was heard in.

    ``tuning_hz`` is the take's own A4; where ``tuning_measured`` is false too few notes stood
    still to tell, and it is 440. ``doubtful`` stretches are in the order of time and may overlap.
    """

    duration_s: float
    sample_rate: int
    channels: int
    tuning_hz: float
    tuning_measured: bool
    doubtful: tuple[DoubtfulStretch, ...] = ()


@dataclass(frozen=True, slots=True)
class Take:
    """A line as its file gives it: notes in the order of their onsets, one at a time.

    ``tempo_map`` and ``meters`` are the file's own grid; whether they can be trusted is for
    ``place`` to say. ``line`` says which track or part was read, and why. ``pickup_quarters`` is
    the length of a notated pickup bar at the start of a written line. ``recording`` is there
    where the take was heard in one (kind "audio"), which has neither tempo map nor meters.
    """

    source: str
    kind: TakeKind
    notes: tuple[TakeNote, ...]
    tempo_map: TempoMap | None
    meters: tuple[FileMeter, ...] = ()
    line: Remark = Remark("")  # noqa: RUF009  (it is frozen)
    pickup_quarters: float = 0.0
    warnings: tuple[Remark, ...] = ()
    recording: Recording | None = None


# ---- the line in time and form ---------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Place:
    """Where in the form. ``chorus`` 0 is before chorus 1; a pickup has no bar and no beat."""

    chorus: int
    bar: int | None
    beat: float | None


@dataclass(frozen=True, slots=True)
class PlacedNote:
    """A note at the place it was meant for: ``step`` (may be negative) from chorus 1, beat one.

    ``end_step`` is where it stops, never before ``step``. ``placement_ms`` is how far the attack
    lies after (+) or before (−) that place by the grid; for a swung off-beat the place is the
    take's own mean off-beat. ``cents``, ``spelled`` and ``ghost`` as in ``TakeNote``.
    """

    onset_s: float
    duration_s: float
    pitch: int
    velocity: int
    step: int
    end_step: int
    placement_ms: float
    cents: float | None = None
    spelled: str | None = None
    ghost: bool | None = None


@dataclass(frozen=True, slots=True)
class FormSpan:
    """A stretch of the line at one offset to the form clock, ``end_step`` exclusive.

    ``offset_beats`` None is adrift. ``confidence`` is 0 to 1.
    """

    step: int
    end_step: int
    offset_beats: float | None
    confidence: float


@dataclass(frozen=True, slots=True)
class Loss:
    """A form loss. ``step`` is the earliest place that the evidence supports.

    ``recovered_step`` is None where the line does not come back. A loss that is only possible
    (``certain`` false) is reported as "perhaps" and touches no score. ``other_offsets``: those that
    the notes speak for as well, since they are over the same chords throughout the loss, and that
    are about as likely; nobody can tell which of them it was.
    """

    step: int
    kind: LossKind
    offset_beats: float | None
    recovered_step: int | None
    confidence: float
    certain: bool = True
    other_offsets: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Feel:
    """Time feel of a chorus, or of the whole take, as facts.

    None: too few notes show it; of a written line all but the tempo, since nothing was played.

    ``tempo`` is beats a minute (of the chart's mean length, where it mixes 4/4 with 6/8),
    ``tempo_change`` the share by which it ends faster (+) or slower (−) than it begins.
    ``placement_*`` as in ``PlacedNote``, mean and one standard deviation. ``length_share`` is how
    much of the time to the next note a walking note sounds (1: legato), ``loudness`` the velocity
    of walking notes; their spreads are one standard deviation.
    """

    tempo: float | None
    tempo_change: float | None
    placement_mean_ms: float | None
    placement_spread_ms: float | None
    swing_ratio: float | None
    length_share: float | None
    length_spread: float | None
    loudness: float | None
    loudness_spread: float | None


@dataclass(frozen=True, slots=True)
class TimeFeel:
    """The time feel of a take: of the whole, and of every chorus from chorus 1."""

    whole: Feel
    choruses: tuple[Feel, ...]


@dataclass(frozen=True, slots=True)
class PlacedLine:
    """The line in time and form: what ``place`` hands on.

    ``beats_s[i]`` is the time of beat i, from beat one of chorus 1, bar 1 to the last beat that
    sounds. ``tempo_bpm`` is quarter notes a minute. ``choruses`` counts those that were begun (a
    last hit on the one begins none).
    ``spans`` cover the line from its first judged step to its last without a gap. ``shows_form``
    is false where the line does not show where in the form it is: then nobody can tell.
    """

    notes: tuple[PlacedNote, ...]
    grid: GridKind
    beats_s: tuple[float, ...]
    tempo_bpm: float
    swing_ratio: float | None
    placement_mean_ms: float
    placement_spread_ms: float
    choruses: int
    spans: tuple[FormSpan, ...]
    losses: tuple[Loss, ...]
    warnings: tuple[Remark, ...] = ()
    feel: TimeFeel | None = None
    shows_form: bool = True


# ---- the labels ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Approach:
    """How a note leads: the kind, the side it comes from, and the note it leads to.

    ``direction`` is None for an enclosure and from the fifth. ``target`` is the target's pitch,
    ``target_note`` its index in the line.
    """

    kind: ApproachKind
    direction: Direction | None
    target: int
    target_note: int


@dataclass(frozen=True, slots=True)
class Note:
    """A note with its place and its label.

    ``chord`` and ``section`` are those in force at its place (for an anticipation its new
    chord); ``name`` is its pitch ("Bb1"), spelled as it is written, a played one by what it leads
    to, else by chord and key.
    ``function`` is None for a ghost, a pickup, or over N.C.; ``function_in_own_place`` also where
    the line is adrift. ``landing`` is true where its place is a landing. ``cents`` as in
    ``TakeNote``.
    """

    onset_s: float
    duration_s: float
    pitch: int
    velocity: int
    step: int
    end_step: int
    placement_ms: float
    place: Place
    section: str | None
    chord: str | None
    name: str
    degree: str | None
    function: Function | None
    function_in_own_place: Function | None
    approach: Approach | None
    anticipation: bool
    ghost: bool
    landing: bool
    cents: float | None = None


@dataclass(frozen=True, slots=True)
class Landing:
    """A place where a chord begins, or a beat one, and what was played for it.

    ``note`` is the index of the note that was struck or held for it, met or not. ``counted`` is
    false for a landing in a breath of a solo, over N.C., or after the take ends: it costs nothing.
    """

    step: int
    place: Place
    section: str
    chord: str
    opens_section: bool
    met: bool
    function: Function | None
    anticipated: bool
    placement_ms: float | None
    note: int | None
    counted: bool


@dataclass(frozen=True, slots=True)
class LabelledLine:
    """What ``label`` hands on. ``styles`` has one entry a chorus, from chorus 1.

    ``judged_from`` to ``judged_to`` (exclusive) are the steps that are judged: from the bar in
    which the line begins to the end of the bar in which it ends, within the choruses begun.
    ``spans`` are the line's, with those of a loss that is only possible taken as in place.
    ``solo_bars`` says of every bar from chorus 1 on whether it is soloed: there a silence is a
    breath.
    """

    notes: tuple[Note, ...]
    landings: tuple[Landing, ...]
    styles: tuple[Style, ...]
    judged_from: int = 0
    judged_to: int = 0
    spans: tuple[FormSpan, ...] = ()
    solo_bars: tuple[bool, ...] = ()


# ---- the judgement ---------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Rubric:
    """What a teacher weighs. ``weights`` is part → weight, adding up to more than 0.

    ``fingerprint`` is a hash of what the rubric means: equal for rubrics that grade alike.
    ``pass_mark`` (0 to 100) is there where the rubric asks for one.
    """

    name: str
    weights: dict[str, float]
    source: str
    fingerprint: str
    pass_mark: float | None = None


@dataclass(frozen=True, slots=True)
class BarCost:
    """What one bar took from the commitment of the take, in points, and for which part."""

    chorus: int
    bar: int
    section: str
    part: str
    points: float
    why: str


@dataclass(frozen=True, slots=True)
class ChorusScore:
    """One chorus: shares are 0 to 1, ``commitment`` 0 to 100.

    ``presence`` is the share of its beats that sound, and a breath in a solo counts as sounding.
    A share is None only where nothing could be counted for it.
    """

    chorus: int
    style: Style
    notes: int
    functions: dict[Function, int]
    purpose: float | None
    landings: float | None
    form: float | None
    presence: float
    commitment: float


@dataclass(frozen=True, slots=True)
class SectionScore:
    """One section of one chorus.

    ``clear`` is whether its boundary was shown: its first beat one met and the line in place.
    """

    chorus: int
    section: str
    bar: int
    commitment: float
    landings: float | None
    clear: bool


@dataclass(frozen=True, slots=True)
class BarEvidence:
    """What could be earned in one bar, and what was missed, before a rubric weighs it.

    ``marks`` is part (presence among them) → how many things could be earned, ``missed`` part →
    why each of those that were not was missed. A part without any is left out.
    """

    chorus: int
    bar: int
    section: str
    marks: dict[str, int]
    missed: dict[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class ChorusEvidence:
    """One chorus before it is weighed; ``beats`` are those that are judged."""

    chorus: int
    style: Style
    notes: int
    functions: dict[Function, int]
    beats: int


@dataclass(frozen=True, slots=True)
class SectionEvidence:
    """One section of one chorus before it is weighed; ``bars`` long, ``clear`` as in its score."""

    chorus: int
    section: str
    bar: int
    bars: int
    clear: bool


@dataclass(frozen=True, slots=True)
class Evidence:
    """All that a rubric weighs: with another rubric the take need not be read again.

    ``bars`` has every bar of every chorus that was begun, ``sections`` those that the take
    reaches. ``beats`` are those of the take that are judged.
    """

    bars: tuple[BarEvidence, ...]
    choruses: tuple[ChorusEvidence, ...]
    sections: tuple[SectionEvidence, ...]
    beats: int


@dataclass(frozen=True, slots=True)
class Judgement:
    """What ``judge`` hands on. ``costs`` has the dearest bar first.

    ``evidence`` is what was weighed; None in a judgement that was put together by hand.
    """

    choruses: tuple[ChorusScore, ...]
    sections: tuple[SectionScore, ...]
    commitment: float
    costs: tuple[BarCost, ...]
    rubric: Rubric
    evidence: Evidence | None = None


# ---- the left hand ---------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class FingeredNote:
    """A note with the string, the finger and the position that are suggested for it.

    ``string`` counts from the highest, which is 1; ``string_name`` is its open note ("A1").
    ``finger`` is "0" (open), "1" to "4" or "T" (thumb). ``position`` is how many half steps above
    the nut the first finger lies (the thumb, in thumb position; below 0 on an extension), for an
    open string where the hand waits meanwhile; ``position_name`` is its name in bass methods.
    ``shift`` is how many half steps the hand moves before the note, + up the neck, ``pivot``
    likewise where the thumb stays and the hand turns on it; ``crossing`` how many strings the line
    crosses, + to a higher one. A note out of reach has none of these, and ``out_of_reach`` says why
    ("" for all others). ``name`` is the pitch, spelled as it is written, a played one by the key
    that most of the line fits. ``bar`` and ``beat`` are those of the take's own file, a pickup bar
    being bar 0; None where it counts none.
    """

    onset_s: float
    duration_s: float
    pitch: int
    string: int | None
    string_name: str
    finger: str | None
    position: int | None
    position_name: str
    shift: int = 0
    pivot: int = 0
    crossing: int = 0
    out_of_reach: str = ""
    name: str = ""
    bar: int | None = None
    beat: float | None = None


@dataclass(frozen=True, slots=True)
class OtherWay:
    """Another way along the line: what it cares for, and what it needs.

    ``high`` counts the notes that are taken a fifth or more up a string with a higher neighbour.
    """

    name: str
    shifts: int
    biggest_shift: int
    crossings: int
    open_strings: int
    pivots: int = 0
    high: int = 0


@dataclass(frozen=True, slots=True)
class WrittenFingering:
    """The fingering that a written line has, in its kindest reading, against the suggested one.

    ``marked`` counts the notes with a mark; what is not marked is free. ``notes`` is the whole line
    with the marks kept. ``differs`` are the marked notes (by index) whose suggested string or
    finger is another, ``impossible`` are (index, why) of marks that no hand can take.
    """

    marked: int
    shifts: int
    biggest_shift: int
    notes: tuple[FingeredNote, ...]
    differs: tuple[int, ...]
    impossible: tuple[tuple[int, str], ...]


@dataclass(frozen=True, slots=True)
class Fingering:
    """A fingering that is suggested for a line. It is a suggestion: the hand decides.

    ``tuning`` are the open strings from the lowest, ``extension`` the lowest note of an extension
    of the lowest string (MIDI numbers).
    ``cost`` is the least that there is by the costs of ``costs_name``; counts are of the whole
    line, ``biggest_shift`` in half steps; ``high`` as in ``OtherWay``.
    """

    source: str
    tuning: tuple[int, ...]
    extension: int | None
    costs_name: str
    notes: tuple[FingeredNote, ...]
    cost: float
    shifts: int
    biggest_shift: int
    pivots: int
    crossings: int
    open_strings: int
    out_of_reach: int
    high: int = 0
    other_ways: tuple[OtherWay, ...] = ()
    written: WrittenFingering | None = None
    warnings: tuple[str, ...] = ()


# ---- what a line does over and over ------------------------------------------------------------

PatternKind: TypeAlias = Literal[
    "same figure", "root on one", "one side", "one direction", "unused range", "same rhythm"
]


@dataclass(frozen=True, slots=True)
class Pattern:
    """Something that a line does over and over in its choruses of one style: a fact, no fault.

    ``times`` of ``of`` bars, beat ones or approaches; ``bars`` are (chorus, bar), none where it is
    everywhere. ``what`` is the figure ("1 up to 3 up to 5"), the side ("below", "above"), the
    direction ("up", "down"), the beats of the rhythm ("1 2.5 3"), or the side and the MIDI number
    that the line never goes beyond ("below 33").
    """

    kind: PatternKind
    style: Style
    what: str
    times: int
    of: int
    bars: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class IntonationRow:
    """The intonation of some notes: those of one pitch, of one region, reached in one way.

    ``group`` is "pitch", "region" or "reached by"; ``spread_cents`` is one standard deviation of
    the sample, None for a single note; ``by_pitch`` is the mean of each different pitch.
    """

    group: str
    name: str
    notes: int
    mean_cents: float
    spread_cents: float | None
    by_pitch: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Intonation:
    """How far the notes of a recording lie from equal temperament at the take's own tuning.

    ``notes`` counts those that could be measured; where it is 0 nothing is claimed and the
    figures are None. ``median_off_cents`` is without a sign, ``in_tune`` the share of the notes
    within 15 cents.
    """

    tuning_hz: float
    tuning_measured: bool
    notes: int
    mean_cents: float | None
    median_off_cents: float | None
    spread_cents: float | None
    in_tune: float | None
    rows: tuple[IntonationRow, ...]


@dataclass(frozen=True, slots=True)
class BarRecord:
    """How one bar of the form went, over the ``choruses`` in which it was judged.

    ``marks`` is part (presence among them) → how many things could be earned, ``missed`` part →
    how many were not.
    """

    bar: int
    chords: str
    choruses: int
    marks: dict[str, int]
    missed: dict[str, int]


@dataclass(frozen=True, slots=True)
class WatchedBar:
    """A bar of an earlier take and of this one; commitment 0 to 100, both by one rubric."""

    before: BarRecord
    now: BarRecord
    commitment_before: float
    commitment_now: float
    verdict: WatchVerdict


@dataclass(frozen=True, slots=True, repr=False)
class Audit:
    """All that is known of one take over one chart.

    ``fingering`` is there where it was asked for, one of its notes for each note of the labels;
    ``carry_over`` where the take holds both walking and solo choruses; ``intonation`` where it
    was heard in a recording; ``watched`` where bars of an earlier take were to be watched.
    ``student`` is whose take it is, "" where nobody said so.
    """

    chart: Chart
    take: Take
    line: PlacedLine
    labels: LabelledLine
    judgement: Judgement
    warnings: tuple[Remark, ...] = field(default=())
    fingering: Fingering | None = None
    carry_over: Comparison | None = None
    intonation: Intonation | None = None
    patterns: tuple[Pattern, ...] = ()
    reference: ReferenceReading | None = None
    watched: tuple[WatchedBar, ...] | None = None
    student: str = ""

    def __repr__(self) -> str:
        """In one line, for a notebook: tune, take, commitment in whole points, choruses."""
        choruses = self.line.choruses
        take = PurePath(self.take.source).name or "a take"
        return (
            f"Audit({self.chart.title}, {take}: {self.judgement.commitment:.0f} of 100, "
            f"{choruses} {'chorus' if choruses == 1 else 'choruses'})"
        )
