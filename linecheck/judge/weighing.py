"""The weighing of a take's evidence by a rubric: its choruses, sections and costs.

What is weighed here needs nothing of the take but its evidence, so that evidence that was kept
and evidence that is fresh give the same judgement, figure by figure.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import fsum
from typing import TYPE_CHECKING

from linecheck.judge.commitment import Count, Score, weigh
from linecheck.judge.costs import bar_costs
from linecheck.terms import BarCost, ChorusScore, Evidence, Judgement, Rubric, SectionScore

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from linecheck.terms import BarEvidence, ChorusEvidence

__all__ = ["WeighedChorus", "weigh_choruses", "weigh_evidence"]


@dataclass(frozen=True, slots=True)
class WeighedChorus:
    """A chorus with its bars and its score; ``weight`` is its share of the take, 0 to 1."""

    evidence: ChorusEvidence
    bars: Sequence[BarEvidence]
    score: Score
    weight: float


def weigh_choruses(evidence: Evidence, parts: Sequence[str], rubric: Rubric) -> list[WeighedChorus]:
    """Weigh every chorus.

    Args:
        evidence: what the take earned and missed.
        parts: the parts of the commitment.
        rubric: the weights.
    """
    in_chorus = len(evidence.bars) // max(1, len(evidence.choruses))
    weighed = []
    for index, chorus in enumerate(evidence.choruses):
        bars = evidence.bars[index * in_chorus : (index + 1) * in_chorus]
        score = weigh(_counts(bars), parts, rubric)
        if not chorus.beats:  # the take begins after it
            score = replace(score, presence=0.0, commitment=0.0)
        weight = chorus.beats / evidence.beats if chorus.beats else 0.0
        weighed.append(WeighedChorus(chorus, bars, score, weight))
    return weighed


def weigh_evidence(evidence: Evidence, parts: Sequence[str], rubric: Rubric) -> Judgement:
    """Judge a take by its evidence; see ``judge_line``."""
    choruses: list[ChorusScore] = []
    costs: list[BarCost] = []
    weighed = weigh_choruses(evidence, parts, rubric)
    for chorus in weighed:
        costs.extend(bar_costs(chorus.bars, chorus.score.mark_points, chorus.weight))
        choruses.append(_chorus_score(chorus))
    costs.sort(key=lambda cost: (-cost.points, cost.chorus, cost.bar, cost.part))
    return Judgement(
        choruses=tuple(choruses),
        sections=tuple(_sections(evidence, weighed, parts, rubric)),
        commitment=_mean(weighed, evidence.beats),
        costs=tuple(costs),
        rubric=rubric,
        evidence=evidence,
    )


def _mean(choruses: Iterable[WeighedChorus], beats: int) -> float:
    """The mean by beats; summed before it is divided, so that choruses of 100 give 100."""
    total = fsum(chorus.evidence.beats * chorus.score.commitment for chorus in choruses)
    return total / beats if beats else 0.0


def _counts(bars: Iterable[BarEvidence]) -> dict[str, Count]:
    """Part → how many marks there were in these bars, and how many were missed."""
    marks: dict[str, int] = {}
    missed: dict[str, int] = {}
    for bar in bars:
        for part, count in bar.marks.items():
            marks[part] = marks.get(part, 0) + count
        for part, reasons in bar.missed.items():
            missed[part] = missed.get(part, 0) + len(reasons)
    return {part: Count(count, missed.get(part, 0)) for part, count in marks.items()}


def _chorus_score(chorus: WeighedChorus) -> ChorusScore:
    found, score = chorus.evidence, chorus.score
    return ChorusScore(
        chorus=found.chorus,
        style=found.style,
        notes=found.notes,
        functions=dict(found.functions),
        purpose=score.shares["purpose"],
        landings=score.shares["landings"],
        form=score.shares["form"],
        presence=score.presence,
        commitment=score.commitment,
    )


def _sections(
    evidence: Evidence, choruses: Sequence[WeighedChorus], parts: Sequence[str], rubric: Rubric
) -> list[SectionScore]:
    in_chorus = len(evidence.bars) // max(1, len(evidence.choruses))
    found = []
    for section in evidence.sections:
        first = (section.chorus - 1) * in_chorus + section.bar - 1
        if section.bars == in_chorus:  # the section is the chorus, which is weighed already
            score = choruses[section.chorus - 1].score
        else:
            score = weigh(_counts(evidence.bars[first : first + section.bars]), parts, rubric)
        found.append(
            SectionScore(
                chorus=section.chorus,
                section=section.section,
                bar=section.bar,
                commitment=score.commitment,
                landings=score.shares["landings"],
                clear=section.clear,
            )
        )
    return found
