"""Measure how often a line is said to differ from reference lines that are like it, and unlike it.

    python tests/measure_reference.py [--takes 60] [--seed 1]

Walking lines of three choruses over the named charts, each with shares of its own
(``WalkingStyle.draw``), so that lines of one family differ as players do. The reference is made of
some lines of one family; other lines of the same family should differ seldom, lines of other
families often. Nothing was fitted on these draws.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from linecheck.judge.reference import against_reference
from linecheck.label import label_line
from linecheck.music.form import Form
from linecheck.reference_lines import profile_of_audits
from tests.label_lines import line_of, placed
from tests.synthetic.charts import named_charts
from tests.synthetic.lines import WalkingStyle, generate_walking


class Walked:
    """What of an audit the profile asks."""

    def __init__(self, rng: np.random.Generator, family: str) -> None:
        charts = [c for c in named_charts() if {b.meter.unit for b in c.bars} == {4}]
        self.chart = charts[int(rng.integers(len(charts)))]
        line = generate_walking(self.chart, 3, rng, WalkingStyle.draw(rng, family))
        notes = tuple(placed(n.step, n.pitch, n.end_step - n.step, n.velocity) for n in line)
        form = Form(self.chart, 3)
        self.labels = label_line(line_of(notes, self.chart, 3), form, self.chart.key)


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("--takes", type=int, default=60)
    options.add_argument("--seed", type=int, default=1)
    given = options.parse_args()
    rng = np.random.default_rng(given.seed)
    print("shares told to differ, of 100 asked / lines with any told, of 100")
    print("  takes in the reference     same family      root_fifth       chromatic        scalar")
    for size in (1, 3, 10, 30):
        row = ""
        for family in ("plain", "root_fifth", "chromatic", "scalar"):
            told = asked = lines = 0
            for number in range(given.takes):
                if number % 10 == 0:
                    profile = profile_of_audits([Walked(rng, "plain") for _ in range(size)])
                walked = Walked(rng, family)
                found = against_reference(walked.labels, walked.chart, profile).differences
                asked += len(found)
                told += sum(one.differs for one in found)
                lines += any(one.differs for one in found)
            row += f"{100 * told / asked:8.1f} /{100 * lines / given.takes:5.0f} "
        print(f"  {size:>22}  {row}")


if __name__ == "__main__":
    main()
