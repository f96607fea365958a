"""What a plan says, in a teacher's words, whatever it is printed on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.report.figures import beat_text, counted, plain
from linecheck.report.findings_in_words import in_words, listed
from linecheck.report.handout import sentence

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.practice.practice_plan import Exercise, PracticePlan, Spot, Trouble

__all__ = [
    "CAUTION",
    "HOW_TO",
    "READING",
    "again_text",
    "bars_text",
    "chords_text",
    "exercise_heading",
    "led_text",
    "letter",
    "points_text",
    "spot_title",
    "tempos_text",
    "verdict",
    "why",
]

CAUTION = (
    "This plan is a suggestion. If a hand hurts, stop and ask a teacher or a doctor.",
    "A grade is advice; the teacher decides what is practised.",
)
HOW_TO = (
    (
        "Take the exercises of a spot in their order, each at its first tempo (in quarter notes a "
        "minute). Go on when it has gone well twice; go back one when it has not."
    ),
    "Rest the hand after each. One spot a day is plenty; the minutes are a suggestion.",
)
READING = (
    "Written an octave above the sound, as bass parts are. Repeat the bars between the repeat signs "
    "as often as you like; the last bar closes. Under each note stands what it is: R root, 3, 5 and "
    "7, A an approach, with an arrow for the way it leads."
)
MOST_INSTEAD = 3


def bars_text(numbers: Sequence[int]) -> str:
    """Bars in words: ``"bar 7"``, ``"bars 7 to 8"``, ``"bars 12 to 1"`` round the form."""
    if len(numbers) == 1:
        return f"bar {numbers[0]}"
    return f"bars {numbers[0]} to {numbers[-1]}"


def chords_text(spot: Spot) -> str:
    """The chords of a spot as a lead sheet has them: ``"F7 | Am7b5 D7b9"``."""
    return " | ".join(" ".join(placed.chord.symbol for placed in b.chords) for b in spot.loop.bars)


def exercise_heading(spot: Spot, exercise: Exercise, number: int, nth: int) -> str:
    """What stands over an exercise: ``"1a. Landings only, bars 7 to 8"``."""
    return f"{number}{letter(nth)}. {exercise.title}, {bars_text(spot.loop.numbers)}"


def tempos_text(tempos: Sequence[int]) -> str:
    """Tempos in words: ``"72, then 96 and 120"``."""
    if len(tempos) == 1:
        return f"{tempos[0]}"
    return f"{tempos[0]}, then {listed([str(tempo) for tempo in tempos[1:]])}"


def letter(index: int) -> str:
    """The letter of an exercise, from a."""
    return chr(ord("a") + index)


def spot_title(spot: Spot, number: int) -> str:
    """What stands over a spot: ``"1. Bars 7 to 8: worth 6.4 points, about 12 minutes"``."""
    bars = bars_text(spot.loop.numbers)
    facts = [fact for fact in (points_text(spot), f"about {spot.minutes} minutes") if fact]
    return f"{number}. {bars[0].upper()}{bars[1:]}: {', '.join(facts)}"


def again_text(spot: Spot) -> str:
    """Where the same chords stand again; empty where they do not."""
    if not spot.also_at:
        return ""
    places = sorted(spot.also_at)
    return f"The same chords again: {listed([bars_text(bars) for bars in places], 4)}."


def points_text(spot: Spot) -> str:
    """What a spot is worth: ``"worth 6.4 points"``; nothing is said of nothing.

    All that a form loss cost is laid to the bar in which it begins, and that is told.
    """
    if spot.points < 0.05:
        return ""
    lost = any(trouble.lost for trouble in spot.troubles)
    after = " with the bars lost after it" if lost else ""
    return f"worth {spot.points:.1f} points{after}"


def led_text(exercise: Exercise) -> str:
    """Which landings an approach cannot reach; empty where it reaches all."""
    if not exercise.not_led:
        return ""
    places = listed(list(exercise.not_led))
    return f"{exercise.title}: not into {places}; hold the note before."


def verdict(plan: PracticePlan) -> str:
    """What is said of the whole plan; where the take may have been read wrongly, that first."""
    return " ".join([*(sentence(plain(asked)) for asked in plan.questions), _verdict(plan)])


def _verdict(plan: PracticePlan) -> str:
    if plan.chosen:
        return f"You chose {counted(len(plan.spots), 'spot')} to practise."
    if plan.adrift:
        return (
            "The line fits no place in the form nearly throughout, so it is not a matter of a few "
            "bars. Is it the right chart, and does chorus 1 begin where it says (else give "
            "--first-beat-one)? If both are right, begin anew with bars that you name with --bars."
        )
    if not plan.spots:
        return (
            "Nothing in this take cost anything. Play it faster, or name bars of your own "
            "with --bars."
        )
    if all(trouble.only_root for spot in plan.spots for trouble in spot.troubles):
        return (
            "Nothing in this take cost anything. To grow: bars in which every landing was the root."
        )
    gain = sum(spot.points for spot in plan.spots)
    lost = 100 - plan.commitment
    many = "One spot" if len(plan.spots) == 1 else f"{in_words(len(plan.spots)).capitalize()} spots"
    verb = "holds" if len(plan.spots) == 1 else "hold"
    return (
        f"{many} {verb} {gain:.1f} of the {lost:.1f} points that this take lost. "
        "What pays most comes first."
    )


# ---- why -------------------------------------------------------------------------------------


def why(spot: Spot) -> list[str]:
    """The reasons for a spot, one sentence a change, the dearest first."""
    troubles = sorted(spot.troubles, key=lambda t: (-round(t.points, 6), t.bar, t.beat))
    sentences = [_why(trouble) for trouble in troubles]
    if sentences:
        return sentences
    if spot.missed:
        landings = counted(spot.missed, "landing was", "landings were")
        return [f"You chose these bars; {landings} missed in them while the line was out of place."]
    return ["You chose these bars; the take shows no fault in them."]


def _why(trouble: Trouble) -> str:
    at = f"bar {trouble.bar}"
    if trouble.beat != 1:
        at += f" beat {beat_text(trouble.beat)}"
    if trouble.only_root:
        often = "in the one chorus" if trouble.asked == 1 else f"in all {trouble.asked} choruses"
        return f"{trouble.chord} in {at}: landed on by the root {often}; try its third or seventh."
    facts = [f"here the form was lost: {what}" for what in dict.fromkeys(trouble.lost)]
    if trouble.missed:
        played = [one for one in trouble.instead if one != "nothing"][:MOST_INSTEAD]
        fact = f"the landing was missed in {_share(trouble.missed, trouble.asked)}"
        if played:
            fact += f" (you played {listed(played)})"
        elif trouble.instead:
            fact += " (nothing was struck)"
        facts.append(fact)
    if trouble.outside:
        notes = counted(trouble.outside, "note")
        facts.append(f"{notes} on the way into it {_is(trouble.outside)} outside")
    if trouble.silent:
        facts.append(f"{counted(trouble.silent, 'beat')} of the bar {_is(trouble.silent)} silent")
    return f"{trouble.chord} in {at}: {'; '.join(facts) or 'it cost a little'}."


def _share(missed: int, asked: int) -> str:
    if asked == 1:
        return "the one chorus"
    return f"{missed} of {asked} choruses"


def _is(many: int) -> str:
    return "is" if many == 1 else "are"
