"""What a plan says, ready for a page or for paper: plain texts, no drawings and no markup."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from linecheck.music.keys import key_text
from linecheck.practice import in_words as words
from linecheck.report.figures import meter_text, plain

if TYPE_CHECKING:
    from linecheck.practice.practice_plan import Exercise, PracticePlan, Spot

__all__ = ["ExerciseTold", "PlanTold", "SpotTold", "tell"]


@dataclass(frozen=True, slots=True)
class ExerciseTold:
    """One exercise in words; ``exercise`` is there to be drawn."""

    title: str
    aim: str
    tempos: str
    not_led: str
    exercise: Exercise


@dataclass(frozen=True, slots=True)
class SpotTold:
    """One spot in words."""

    title: str
    chords: str
    again: str
    why: tuple[str, ...]
    exercises: tuple[ExerciseTold, ...]
    left_out: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlanTold:
    """A whole plan in words."""

    title: str
    tune: str
    take: str
    verdict: str
    how: tuple[str, ...]
    reading: str
    spots: tuple[SpotTold, ...]
    cautions: tuple[str, ...]


def tell(plan: PracticePlan) -> PlanTold:
    """The texts of a plan."""
    chart = plan.chart
    return PlanTold(
        title=plain(chart.title) or "Untitled",
        tune=f"{key_text(chart.key)} · {meter_text(chart.meter)} · {len(chart.bars)} bars a chorus",
        take=f"{plain(plan.take)} · commitment {plan.commitment:.0f} of 100 · "
        f"{plan.tempo} quarter notes a minute",
        verdict=words.verdict(plan),
        how=words.HOW_TO,
        reading=words.READING,
        spots=tuple(_spot(spot, number) for number, spot in enumerate(plan.spots, 1)),
        cautions=words.CAUTION,
    )


def _spot(spot: Spot, number: int) -> SpotTold:
    return SpotTold(
        title=words.spot_title(spot, number),
        chords=f"| {words.chords_text(spot)} |",
        again=words.again_text(spot),
        why=tuple(words.why(spot)),
        exercises=tuple(
            ExerciseTold(
                title=f"{number}{words.letter(nth)}. {exercise.title}",
                aim=exercise.aim,
                tempos=f"At {words.tempos_text(exercise.tempos)}",
                not_led=words.led_text(exercise),
                exercise=exercise,
            )
            for nth, exercise in enumerate(spot.exercises)
        ),
        left_out=spot.left_out,
    )
