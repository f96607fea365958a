"""Time feel as a picture: where the notes lie around the beat, tempo by chorus, swing."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from linecheck.report.feel_in_words import chorus_tempos, feel_sentences
from linecheck.report.figures import tempo_unit
from linecheck.report.markup import Safe, element, number
from linecheck.report.picture import LINE, WIDTH, Setting, label, picture, stroke

if TYPE_CHECKING:
    from linecheck.terms import Audit

__all__ = ["feel_picture"]

BIN_MS, REACH_MS = 5, 70
MOST_NAMED = 10  # choruses whose tempo stands in figures
HALF_FIGURE = 12  # of the width of a tempo in figures: at the edges it is kept inside


def feel_picture(audit: Audit, *, setting: Setting = "page") -> Safe | None:
    """Where the notes lie around the beat, the tempo by chorus, the swing; None if written."""
    if audit.line.grid == "written":
        return None
    parts: list[str] = []
    y = _placements(parts, audit, 0)
    tempos = chorus_tempos(audit)
    # A click does not drift: its tempo needs no curve.
    if len(tempos) > 1 and max(tempos.values()) > 1.005 * min(tempos.values()):
        y = _tempos(parts, tempos, tempo_unit(audit.chart), y + 14)
    if audit.line.swing_ratio is not None:
        y = _swing(parts, audit.line.swing_ratio, y + 14)
    return picture("Time feel: " + "; ".join(feel_sentences(audit)), y, parts, setting)


def _placements(parts: list[str], audit: Audit, y: float) -> float:
    parts.append(label("where your notes lie around the beat", 0, y + 11, font_weight="600"))
    floor, tall = y + 92, 66
    middle = WIDTH / 2
    unit = (WIDTH / 2 - 6) / REACH_MS
    bins: Counter[int] = Counter()
    for note in audit.labels.notes:
        if not note.ghost:
            edge = REACH_MS - BIN_MS
            bins[min(max(int(note.placement_ms // BIN_MS) * BIN_MS, -REACH_MS), edge)] += 1
    most = max(bins.values(), default=1)
    for low, many in sorted(bins.items()):
        high = tall * many / most
        parts.append(
            element(
                "rect", x=middle + low * unit + 0.5, y=floor - high,
                width=BIN_MS * unit - 1, height=high, fill=LINE, fill_opacity=0.75,
            )
        )  # fmt: skip
    parts.append(stroke(f"M0 {number(floor)}H{WIDTH}", opacity=0.4))
    parts.append(stroke(f"M{middle} {number(floor - tall - 6)}V{number(floor + 5)}", width=1.5))
    mean = min(max(audit.line.placement_mean_ms, -REACH_MS), REACH_MS)
    at = middle + mean * unit
    parts.append(
        element("path", d=f"M{number(at)} {number(floor + 2)}l6 10h-12z", fill="currentColor")
    )
    parts.append(label(f"mean {_ms(audit.line.placement_mean_ms)}", at, floor + 24, "middle"))
    parts += [
        label(_ms(ms), middle + ms * unit, floor + 13, "middle", font_size=9, opacity=0.75)
        for ms in (-50, 50)
    ]
    parts.append(label("early", 0, floor - tall + 8, opacity=0.75))
    parts.append(label("late", WIDTH, floor - tall + 8, "end", opacity=0.75))
    return floor + 28


def _ms(value: float) -> str:
    return "0 ms" if round(value) == 0 else f"{value:+.0f} ms".replace("-", "−")


def _tempos(parts: list[str], tempos: dict[int, float], unit: str, y: float) -> float:
    """The figures stand in a row of their own over the curve, where it cannot cross them."""
    parts.append(label(f"tempo of each chorus, {unit} a minute", 0, y + 11, font_weight="600"))
    figures, top, floor = y + 28, y + 36, y + 76
    mean = sum(tempos.values()) / len(tempos)
    reach = max(max(abs(t - mean) for t in tempos.values()) * 1.15, mean * 0.03)
    every = max(1, -(-len(tempos) // MOST_NAMED))
    points = []
    for index, (chorus, tempo) in enumerate(tempos.items()):
        px = WIDTH * (index + 0.5) / len(tempos)
        py = (top + floor) / 2 - (tempo - mean) / reach * (floor - top) / 2
        points.append((px, py))
        if index % every == 0:
            at = min(max(px, HALF_FIGURE), WIDTH - HALF_FIGURE)
            parts.append(label(f"{tempo:.0f}", at, figures, "middle", font_weight="600"))
            parts.append(label(str(chorus), at, floor + 16, "middle", opacity=0.75, font_size=9))
        parts.append(element("circle", cx=px, cy=py, r=3, fill=LINE))
    parts.append(
        stroke("M" + "L".join(f"{number(a)} {number(b)}" for a, b in points), width=2, colour=LINE)
    )
    return floor + 20


def _swing(parts: list[str], ratio: float, y: float) -> float:
    parts.append(label("swing: long and short eighth", 0, y + 11, font_weight="600"))
    top, tall = y + 20, 18
    edge = WIDTH * ratio / (ratio + 1)
    parts.append(element("rect", x=0, y=top, width=edge - 1, height=tall, fill=LINE, rx=2))
    parts.append(
        element("rect", x=edge + 1, y=top, width=WIDTH - edge - 1, height=tall, rx=2,
                fill=LINE, fill_opacity=0.35)
    )  # fmt: skip
    parts.append(label(f"{ratio:.2f} : 1", edge / 2, top + 13, "middle", fill="#ffffff",
                       font_weight="700"))  # fmt: skip
    for share, name in ((1 / 2, "straight 1 : 1"), (2 / 3, "triplet 2 : 1")):
        x = WIDTH * share
        parts.append(stroke(f"M{number(x)} {number(top - 3)}v{tall + 8}", opacity=0.6))
        anchor = "end" if share == 1 / 2 else "start"
        parts.append(label(name, x, top + tall + 16, anchor, font_size=9, opacity=0.85))
    return top + tall + 20
