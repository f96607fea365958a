"""How many exercises can be built over any chords in any meter, and whether all are perfect.

    python -m tests.measure_exercises 300

Loops are drawn as in the property tests (``tests/practice/drawn_loops.py``), from other seeds. An
exercise is perfect where its sheet's commitment is 100 and every approach is labelled as its kind.
"""

from __future__ import annotations

import sys
from collections import Counter

from linecheck.practice.building import build_exercises
from linecheck.practice.exercise_kinds import KINDS
from tests.practice.drawn_loops import drawn_loop

FIRST_SEED = 700_000
TEMPO = 120


def main(loops: int) -> None:
    built: Counter[str] = Counter()
    in_doubt: Counter[str] = Counter()
    imperfect: Counter[str] = Counter()
    for seed in range(FIRST_SEED, FIRST_SEED + loops):
        exercises, left_out = build_exercises(drawn_loop(seed), TEMPO)
        for exercise in exercises:
            built[exercise.kind] += 1
            imperfect[exercise.kind] += not is_perfect(exercise)
        for kind in KINDS:
            in_doubt[kind.name] += f"{kind.title}: such a line would not show" in " ".join(left_out)
    print(f"{'kind':18}{'built':>8}{'in doubt':>10}{'imperfect':>11}   of {loops} loops")
    for kind in KINDS:
        name = kind.name
        print(f"{name:18}{built[name]:8}{in_doubt[name]:10}{imperfect[name]:11}")


def is_perfect(exercise) -> bool:
    notes = {note.step: note for note in exercise.sheet.labels.notes}
    labelled = all(
        (approach := notes[lead.step].approach) is not None and approach.kind == lead.kind
        for lead in exercise.leads
    )
    return labelled and abs(exercise.sheet.judgement.commitment - 100) < 1e-9


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 300)
