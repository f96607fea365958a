"""What an audit found, in sentences that a student understands.

Every sentence is a fact of the audit with the place where it happened; none of them judges the
player. All formats that speak in words take their words from here.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

from linecheck.doubts import DOUBTS, doubts
from linecheck.music.form import Form, bar_steps, beat_quarters, whole_bars
from linecheck.music.same_object import SameObject
from linecheck.report.figures import beat_text, counted, percent, place_text, plain
from linecheck.report.function_looks import tone_name
from linecheck.terms import CHORD_TONES, FUNCTIONS, STEPS_PER_BEAT

if TYPE_CHECKING:
    from linecheck.terms import (
        Audit,
        Bar,
        BarCost,
        Chart,
        ChorusScore,
        Landing,
        Loss,
        Place,
        Section,
    )

__all__ = [
    "CAUTION",
    "approach_counts",
    "certain_losses",
    "cost_sentences",
    "distance_in_words",
    "form_text",
    "function_shares",
    "how_sure",
    "landing_sentences",
    "landing_tone",
    "loss_place",
    "loss_sentences",
    "lost_bars",
    "missed_landing_sentences",
    "notes_counted",
    "off_by",
    "perhaps_sentences",
    "section_sentences",
    "silent_choruses",
    "style_text",
    "verdict",
]

CAUTION = (
    "A grade is advice: it counts what can be counted and hears neither tone nor taste. "
    "The teacher decides."
)

HEARD_MS = 20.0  # less is the ordinary scatter of good time (see the spread), and not told
HALF = 0.5  # share of landings met below which the chart itself is doubted
MANY_CHORUSES = 16  # of more, bars are taken together over the choruses
LEAST_POINTS = 0.05  # points of the 100 that are told: fewer would be 0.0
QUARTERS_IN_TWO = 4  # of a bar that can be played in two
MOST_SURE = 0.99  # nobody is surer than that of what somebody else meant

_NUMBER_WORDS = (
    "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
    "eleven", "twelve",
)  # fmt: skip


def in_words(number: int) -> str:
    """Small numbers as words: ``3`` → ``"three"``."""
    return _NUMBER_WORDS[number] if 0 <= number < len(_NUMBER_WORDS) else str(number)


def distance_in_words(beats: float, chart: Chart) -> str:
    """A distance in the form: ``"one bar"``, ``"two beats"``, ``"one bar and one beat"``.

    Bars are counted only where all bars of the chart are of one length.
    """
    bars, rest = whole_bars(beats, chart)
    parts = []
    if bars:
        parts.append(f"{in_words(bars)} bar{'' if bars == 1 else 's'}")
    if rest or not parts:
        word = in_words(int(rest)) if rest == int(rest) else beat_text(rest)
        parts.append(f"{word} beat{'' if rest == 1 else 's'}")
    return " and ".join(parts)


def notes_counted(audit: Audit) -> str:
    """How many notes there are, and how many of them stand before the form: ``"195 notes, …"``."""
    before = sum(note.place.chorus == 0 for note in audit.labels.notes)
    told = counted(len(audit.labels.notes), "note")
    return f"{told}, {before} of them before chorus 1" if before else told


def style_text(score: ChorusScore, audit: Audit) -> str:
    """The style of a chorus in a player's words.

    One without notes has none and is ``"silent"``; walking that is mostly half notes, in bars of
    four quarter notes, is ``"in two"``.
    """
    if not score.notes:
        return "silent"
    in_two = score.style == "walking" and score.chorus in _in_two(SameObject(audit))
    return "in two" if in_two else score.style


@lru_cache(maxsize=1)
def _in_two(one: SameObject[Audit]) -> frozenset[int]:
    """The choruses in which most notes come a half note after the one before; once an audit."""
    audit = one.it
    meters = {bar.meter for bar in audit.chart.bars}
    if any(meter.beats * beat_quarters(meter) != QUARTERS_IN_TWO for meter in meters):
        return frozenset()
    half_note = int(2 * STEPS_PER_BEAT / beat_quarters(audit.chart.meter))
    steps: dict[int, list[int]] = {}
    for note in audit.labels.notes:
        if not note.ghost:
            steps.setdefault(note.place.chorus, []).append(note.step)
    return frozenset(
        chorus
        for chorus, own in steps.items()
        if 2 * sum(after - step == half_note for step, after in pairwise(own)) > len(own)
    )


def form_text(score: ChorusScore) -> str:
    """The share of the form; a chorus without notes shows none."""
    return percent(score.form if score.notes else None)


def silent_choruses(audit: Audit) -> list[int]:
    """The choruses without a note, of a take that has notes in others."""
    silent = [score.chorus for score in audit.judgement.choruses if not score.notes]
    return silent if len(silent) < len(audit.judgement.choruses) else []


# ---- the answer ------------------------------------------------------------------------------


def verdict(audit: Audit) -> str:
    """One sentence on the whole take: the form first, then purpose and landings."""
    losses = certain_losses(audit)
    facts = []
    judged, with_purpose = judged_notes(audit)
    if judged:
        share = (
            "every note has"
            if with_purpose == judged
            else (f"{percent(with_purpose / judged)} of the notes have")
        )
        facts.append(f"{share} a purpose")
    asked = [landing for landing in audit.labels.landings if landing.counted]
    if asked:
        met = sum(landing.met for landing in asked)
        verb = "is" if len(asked) == 1 else "are"
        facts.append(f"{met} of {counted(len(asked), 'landing')} {verb} met")
    told = " and ".join(facts)
    if not losses and not fits_chart(audit):
        hardly = (
            "The line hardly fits this chart"
            if audit.line.shows_form
            else "The line does not show where in the form it is"
        )
        return f"{hardly}: {told}." if told else "Nothing could be judged."
    silent = silent_choruses(audit)
    if not losses and silent:
        verb = "is" if len(silent) == 1 else "are"
        return f"The form is kept where you play; {_choruses(silent)} {verb} silent; {told}."
    if not losses:
        return f"The form is kept throughout; {told}."
    often = {1: "once", 2: "twice"}.get(len(losses)) or f"{in_words(len(losses))} times"
    where = _choruses(sorted({loss_place(loss, audit).chorus for loss in losses}))
    return f"The form is lost {often}, in {where}; {told}."


def _choruses(numbers: list[int]) -> str:
    """Choruses by their numbers: ``"chorus 3"``, ``"choruses 1 and 2"``."""
    word = "chorus" if len(numbers) == 1 else "choruses"
    return f"{word} {listed([str(number) for number in numbers])}"


def fits_chart(audit: Audit) -> bool:
    """Whether the line shows the form and meets enough landings to say anything of it."""
    if not audit.line.shows_form:
        return False
    asked = [landing for landing in audit.labels.landings if landing.counted]
    return bool(asked) and sum(landing.met for landing in asked) >= HALF * len(asked)


def judged_notes(audit: Audit) -> tuple[int, int]:
    """How many notes are judged, and how many of them have a purpose."""
    functions: Counter[str] = Counter()
    for score in audit.judgement.choruses:
        functions.update(score.functions)
    judged = sum(functions.values())
    return judged, judged - functions["outside"]


def listed(words: list[str], most: int = 6) -> str:
    """Words as a list in a sentence: ``"1, 2 and 5"``."""
    if len(words) > most:
        return f"{', '.join(words[:most])} and {len(words) - most} more"
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


# ---- the form --------------------------------------------------------------------------------


def certain_losses(audit: Audit) -> list[Loss]:
    """The losses that count."""
    return [loss for loss in audit.line.losses if loss.certain]


def loss_place(loss: Loss, audit: Audit) -> Place:
    """Where a loss begins."""
    return Form(audit.chart, audit.line.choruses).place(loss.step)


def loss_sentences(audit: Audit) -> list[str]:
    """One sentence a loss: where, which way, how far, and where the line is back in place."""
    return [_loss_sentence(loss, audit) for loss in audit.line.losses if loss.certain]


def perhaps_sentences(audit: Audit) -> list[str]:
    """The same for losses that are only possible; they touch no score."""
    return [_loss_sentence(loss, audit) for loss in audit.line.losses if not loss.certain]


def how_sure(audit: Audit) -> str:
    """What the shares behind the losses say, and what they do not."""
    doubted = DOUBTS["beginning"] in doubts(audit.warnings)
    given = ", if chorus 1 begins where it was taken to" if doubted else ""
    return f"That is how sure the loss is{given}; it may begin a bar earlier or later."


def _loss_sentence(loss: Loss, audit: Audit) -> str:
    form = Form(audit.chart, audit.line.choruses)
    begin = form.place(loss.step)
    what = off_by(loss, audit.chart)
    if loss.offset_beats is not None:
        alike = " (the chords are the same)" if loss.other_offsets else ""
        what = f"you are {what}{alike}{_sections_in_words(loss, audit)}"
    later = next((x for x in certain_losses(audit) if x.step > loss.step), None)
    if loss.recovered_step is None and later is not None:
        back = f"not back in place before the next loss, at {_place_from(begin, form.place(later.step))}"
    elif loss.recovered_step is None:
        back = "not back in place before the take ends"
    else:
        back = f"back in place at {_place_from(begin, form.place(loss.recovered_step))}"
    sure = f"{percent(min(loss.confidence, MOST_SURE))} sure"
    return f"chorus {begin.chorus}: from {place_text(begin)} {what}; {back} ({sure})"


def _place_from(begin: Place, place: Place) -> str:
    """A place, with its chorus where that is another than that of the beginning."""
    told = place_text(place)
    return told if place.chorus == begin.chorus else f"chorus {place.chorus} {told}"


def _sections_in_words(loss: Loss, audit: Audit) -> str:
    """Which section is played where which is, and what is left out: ``", playing section A …"``.

    Nothing where the two are no sections of two names that stand bar for bar against each other,
    or where another section sounds like the one that is played. What is left out or played once
    more is told where the line went on beyond the one section, or ends there as the form does: else
    it may as well be one section in place of another.
    """
    chart, form = audit.chart, Form(audit.chart)
    if not chart.sections or chart.sections[0].bar != 1:
        return ""
    shift = round((loss.offset_beats or 0.0) * STEPS_PER_BEAT)
    here, own = loss.step % form.steps, (loss.step + shift) % form.steps
    there, played = _section_at(here, form), _section_at(own, form)
    from_there = here - form.bar_starts[chart.sections[there].bar - 1]
    from_played = own - form.bar_starts[chart.sections[played].bar - 1]
    names = [section.name for section in chart.sections]
    sounds = [_bars_of(section, chart) for section in chart.sections]
    alike = {name for name, bars in zip(names, sounds, strict=True) if bars == sounds[played]}
    if from_there != from_played or names[there] == names[played] or len(alike) > 1:
        return ""
    told = f", playing section {plain(names[played])} where section {plain(names[there])} is"
    end = audit.labels.judged_to if loss.recovered_step is None else loss.recovered_step
    section_steps = sum(bar_steps(bar.meter) for bar in _of_section(chart.sections[there], chart))
    before = [x for x in certain_losses(audit) if x.step < loss.step]
    went_wrong_before = any((x.recovered_step or loss.step) >= loss.step for x in before)
    both_ways = 2 * abs(shift) == form.steps
    ends_as_form = loss.recovered_step is None and (end + shift) % form.steps == 0
    went_on = end - loss.step > section_steps or ends_as_form
    both_ways |= bool(loss.other_offsets)
    if from_there or not went_on or went_wrong_before or both_ways:
        return told
    first, last = (there, played) if shift > 0 else (played, there)
    many = (last - first) % len(names)
    passed = [plain(names[(first + n) % len(names)]) for n in range(many)]
    word, verb = ("section", "is") if many == 1 else ("sections", "are")
    what = "left out" if shift > 0 else "played once more"
    return f"{told} ({word} {listed(passed)} {verb} {what})"


def _section_at(local: int, form: Form) -> int:
    """The index of the section in force at a step of the chorus."""
    starts = [form.bar_starts[section.bar - 1] for section in form.chart.sections]
    return bisect_right(starts, local) - 1


def _of_section(section: Section, chart: Chart) -> tuple[Bar, ...]:
    return chart.bars[section.bar - 1 : section.bar - 1 + section.bars]


def _bars_of(section: Section, chart: Chart) -> list[object]:
    """What a section asks for: meters, and chords where they stand."""
    return [
        (bar.meter, [(placed.step, placed.chord.symbol) for placed in bar.chords])
        for bar in _of_section(section, chart)
    ]


def off_by(loss: Loss, chart: Chart, adrift: str = "the line fits no place in the form") -> str:
    """What a loss is: ``"one bar ahead"``, or that the line fits no place.

    Where nobody can tell which of two it was: ``"four bars ahead or behind"``.

    Args:
        loss: the loss.
        chart: for the length of its bars.
        adrift: what to say where the line fits no place.
    """
    if loss.offset_beats is None:
        return adrift
    told = f"{distance_in_words(loss.offset_beats, chart)} {loss.kind}"
    if not loss.other_offsets:
        return told
    first, *more = loss.other_offsets
    if more:
        return f"{told} or elsewhere"
    way = "ahead" if first > 0 else "behind"
    if first == -loss.offset_beats:
        return f"{told} or {way}"
    return f"{told} or {distance_in_words(first, chart)} {way}"


# ---- landings and sections -------------------------------------------------------------------


def landing_sentences(audit: Audit) -> list[str]:
    """All landings in one or two sentences: met, pushed, and by which chord tones."""
    asked = [landing for landing in audit.labels.landings if landing.counted]
    if not asked:
        return ["no landing could be judged"]
    met = [landing for landing in asked if landing.met]
    by = Counter((x.function, landing_tone(x, audit)) for x in met if x.function)
    tones = ", ".join(
        f"{tone} {many}"
        for (_, tone), many in sorted(by.items(), key=lambda item: FUNCTIONS.index(item[0][0]))
    )
    sentence = f"{len(met)} of {len(asked)} met"
    pushed = sum(landing.anticipated for landing in met)
    if pushed:
        sentence += f", {pushed} of them pushed to the off-beat before"
    sentences = [f"{sentence} (by {tones})" if tones else sentence]
    missed = [landing for landing in asked if not landing.met]
    if missed:
        empty = sum(landing.note is None for landing in missed)
        off = Counter(_missed_by(landing, audit) for landing in missed if landing.note is not None)
        parts = [f"{number} by {what}" for what, number in off.most_common()]
        parts += [f"{empty} with nothing struck"] if empty else []
        sentences.append(f"{len(missed)} missed: " + ", ".join(parts))
    return sentences


def landing_tone(landing: Landing, audit: Audit) -> str | None:
    """By what a landing is met, by its degree: ``"third"``, ``"suspended fourth"``."""
    if landing.function is None:
        return None
    note = None if landing.note is None else audit.labels.notes[landing.note]
    same = note is not None and note.function == landing.function and note.chord == landing.chord
    return tone_name(landing.function, note.degree if note is not None and same else None)


def _missed_by(landing: Landing, audit: Audit) -> str:
    if landing.note is None:
        return "nothing struck"
    function = audit.labels.notes[landing.note].function
    if audit.labels.notes[landing.note].ghost:
        return "a ghost"
    if function in CHORD_TONES:
        return "a chord tone not struck for it"
    return {
        "approach": "an approach note",
        "tension": "a tension",
        "outside": "a note outside the chord",
    }.get(function or "", "a note not judged")


def missed_landing_sentences(audit: Audit, most: int = 6) -> list[str]:
    """The missed landings one by one, with the note that stood there and how early or late."""
    missed = [x for x in audit.labels.landings if x.counted and not x.met]
    sentences = []
    for landing in missed[:most]:
        where = f"chorus {landing.place.chorus} {place_text(landing.place)} ({landing.chord})"
        if landing.note is None:
            sentences.append(f"{where}: nothing struck")
            continue
        note = audit.labels.notes[landing.note]
        degree = f", the {note.degree}" if note.degree else ""
        sentences.append(
            f"{where}: {note.name}{degree}: {_missed_by(landing, audit)}{_early_late(landing)}"
        )
    if len(missed) > most:
        sentences.append(f"and {len(missed) - most} more")
    return sentences


def _early_late(landing: Landing) -> str:
    if landing.placement_ms is None or abs(landing.placement_ms) < HEARD_MS:
        return ""
    side = "late" if landing.placement_ms > 0 else "early"
    return f", {abs(landing.placement_ms):.0f} ms {side}"


def section_sentences(audit: Audit) -> list[str]:
    """For each section name: in how many choruses its boundary was shown, and where it blurred."""
    sentences = []
    for name in dict.fromkeys(score.section for score in audit.judgement.sections):
        scores = [score for score in audit.judgement.sections if score.section == name]
        blurred = [score for score in scores if not score.clear]
        sentence = f"section {name}: clear {len(scores) - len(blurred)} of {len(scores)} times"
        if blurred:
            places = [f"chorus {score.chorus} bar {score.bar}" for score in blurred]
            sentence += f"; blurred at {listed(places, 4)}"
        sentences.append(sentence)
    return sentences


# ---- the notes -------------------------------------------------------------------------------


def function_shares(audit: Audit) -> list[tuple[str, int, float]]:
    """Function, number of notes and share, in the order of the seven functions."""
    total: Counter[str] = Counter()
    for score in audit.judgement.choruses:
        total.update(score.functions)
    judged = sum(total.values())
    return [(name, total[name], total[name] / judged if judged else 0.0) for name in FUNCTIONS]


def approach_counts(audit: Audit) -> list[tuple[str, int]]:
    """Kind of approach and number of notes, the most frequent first."""
    kinds = Counter(n.approach.kind for n in audit.labels.notes if n.approach is not None)
    return sorted(kinds.items(), key=lambda item: (-item[1], item[0]))


def cost_sentences(audit: Audit, most: int = 5, *, least: float = LEAST_POINTS) -> list[str]:
    """What cost most, the dearest first: a form loss as one, every other bar for itself.

    In a take of many choruses a bar is taken together over all of them.

    Args:
        audit: the audit.
        most: at most so many sentences.
        least: what cost fewer points is not told.
    """
    groups: dict[tuple[int, int], list[BarCost]] = {}
    lost = lost_bars(audit)
    over_all = audit.line.choruses > MANY_CHORUSES
    for cost in audit.judgement.costs:
        place = (cost.chorus, cost.bar)
        key = (0, cost.bar) if over_all else place
        groups.setdefault((-1, lost[place]) if place in lost else key, []).append(cost)
    points = {key: sum(cost.points for cost in costs) for key, costs in groups.items()}
    told = [key for key in groups if points[key] >= least]
    dearest = sorted(told, key=lambda key: (-round(points[key], 6), key))[:most]
    losses = certain_losses(audit)
    return [
        _cost_sentence(groups[key], points[key], losses[key[1]] if key[0] < 0 else None, audit)
        for key in dearest
    ]


def lost_bars(audit: Audit) -> dict[tuple[int, int], int]:
    """Chorus and bar of every bar that is lost in any part → the number of its loss."""
    form = Form(audit.chart, audit.line.choruses)
    lost: dict[tuple[int, int], int] = {}
    for number, loss in enumerate(certain_losses(audit)):
        end = audit.line.choruses * form.steps
        step, end = loss.step, end if loss.recovered_step is None else loss.recovered_step
        while step < end:
            place, bar = form.place(step), form.bar(step)
            if bar is None:  # before the intro: nothing is asked for there
                break
            lost[place.chorus, bar.number] = number
            step = form.bar_begins(step) + bar_steps(bar.meter)
    return lost


def _points(points: float) -> str:
    return f"{points:.1f} points" if points >= LEAST_POINTS else "less than 0.1 points"


def _cost_sentence(costs: list[BarCost], points: float, loss: Loss | None, audit: Audit) -> str:
    bars = sorted({(cost.chorus, cost.bar) for cost in costs})
    (chorus, bar), (last_chorus, last_bar) = bars[0], bars[-1]
    if loss is None and len(bars) > 1:
        often = Counter(cost.part for cost in costs)
        where = f"bar {bar} (section {costs[0].section}) in {len(bars)} choruses"
        times = ", ".join(f"{part} {number} times" for part, number in often.most_common())
        return f"{where}, {_points(points)}: {times}"
    if loss is None or len(bars) == 1:
        why = "; ".join(f"{cost.part}: {cost.why}" for cost in costs)
        return f"chorus {chorus} bar {bar} (section {costs[0].section}), {_points(points)}: {why}"
    until = f"{last_bar}" if last_chorus == chorus else f"chorus {last_chorus} bar {last_bar}"
    parts = ", ".join(dict.fromkeys(cost.part for cost in costs))
    what = off_by(loss, audit.chart)
    return f"chorus {chorus} bar {bar} to {until}, {_points(points)}: {what} ({parts})"
