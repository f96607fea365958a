"""The engraved line with what the audit says of it, drawn where it happens.

Over the staff: bar numbers, section letters, chord symbols and form losses. Under each note: its
function as letter, shape and colour, then how it leads or which degree it is, then finger and
string where a fingering was asked for; under a landing that was missed, a mark that says so.

Units: those of ``engraving``. Every word is plain text: nothing here depends on colour alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from linecheck.report.figures import short_name
from linecheck.report.findings_in_words import off_by
from linecheck.report.left_hand_marks import finger_and_string, finger_in_words, new_strings
from linecheck.report.markup import Safe, element, number
from linecheck.report.score_in_words import (
    bar_id,
    bar_in_words,
    bars_in_words,
    chorus_in_words,
    note_in_words,
)
from linecheck.report.score_marks import (
    WARNING,
    badge_id,
    centred,
    chord_symbol,
    fine_print,
    missed_mark,
    pushed_mark,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from linecheck.report.engraved_svg import EngravedBar, EngravedChorus, System
    from linecheck.report.notation import NotatedBar
    from linecheck.terms import Audit, Landing, Note

__all__ = ["ScoreDrawing"]

ROW = 330  # height of the rows under the labels
FINGERS = 300  # height of the row of a fingering
WORDS = 172  # about how wide a letter of the words over the staff is


@dataclass(frozen=True, slots=True)
class _Lost:
    """A stretch that is lost, in steps, and what is said of it."""

    step: int
    end_step: int
    words: str
    certain: bool
    comes_back: bool


class ScoreDrawing:
    """Draws the systems of one audit.

    Args:
        audit: a complete audit.
        controls: whether bars can be clicked and focused, and labels have titles; a drawing for
            paper has neither.
        ids: whether bars carry the ``id`` that links point to (one drawing of a page only).
    """

    def __init__(self, audit: Audit, *, controls: bool, ids: bool) -> None:
        self.audit = audit
        self.controls = controls
        self.ids = ids
        self.missed: dict[int, Landing] = {
            landing.step: landing
            for landing in audit.labels.landings
            if landing.counted and not landing.met
        }
        self.lost = _lost_stretches(audit)
        self.fingering = audit.fingering.notes if audit.fingering else ()
        self.new_strings = new_strings(self.fingering)
        self.rows = ROW + FINGERS if self.fingering else ROW  # under the labels

    def systems(
        self, chorus: EngravedChorus, defs: Safe | None = None, ground: str | None = None
    ) -> list[Safe]:
        """One ``<svg>`` a system.

        Args:
            chorus: what to draw.
            defs: definitions that go into each drawing where it must stand alone.
            ground: a colour to draw on, where nothing else gives one.
        """
        return [self._system(chorus, system, defs, ground) for system in chorus.systems]

    def _system(
        self, chorus: EngravedChorus, system: System, defs: Safe | None, ground: str | None
    ) -> Safe:
        bars = [box.bar for box in system.bars]
        begin, end = bars[0].step, bars[-1].step + bars[-1].steps
        missed = [s for s in self.missed if begin <= s < end]
        lost = [x for x in self.lost if x.step < end and x.end_step > begin]
        opens = any(self._shows_section(bar) for bar in bars)
        top = min(system.chord_row - 570, system.top - 80)
        floor = system.label_row + self.rows + 230
        bottom = floor + (ROW + 60 if missed else 0)
        ceiling = top - (420 if lost or opens else 60)
        body = [
            *(self._band(system, x, top, floor) for x in lost),
            *(self._bar(box, top, bottom) for box in system.bars),
            element("g", system.markup, class_="ink", fill="currentColor", stroke="currentColor"),
            *(part for box in system.bars for part in self._above(box, system, top)),
            *(part for box in system.bars for part in self._below(box, system.label_row)),
            *self._losses_named(system, lost, top),
        ]
        if self.controls:
            name = f"{chorus_in_words(chorus.number, self.audit)}, {bars_in_words(bars)}"
        else:
            name = " ".join(bar_in_words(bar, self.audit, self.missed) for bar in bars)
        height = bottom - ceiling + 40
        box = {"x": 0.0, "y": ceiling, "width": system.width, "height": height}
        return element(
            "svg",
            *([element("defs", defs)] if defs else []),
            *([element("rect", fill=ground, **box)] if ground else []),
            *body,
            xmlns="http://www.w3.org/2000/svg" if defs else None,
            class_="system",
            viewBox=f"0 {number(ceiling)} {number(system.width)} {number(height)}",
            role="group" if self.controls else "img",
            aria_label=name,
            font_family="Libertinus Serif" if defs else None,
            color="#1b1a17" if defs else None,
        )

    def _shows_section(self, bar: NotatedBar) -> bool:
        """Whether a bar carries its section's name: the only section of a tune needs none."""
        within = 1 <= bar.chorus <= self.audit.line.choruses
        return bar.opens_section and within and len(self.audit.chart.sections) > 1

    # ---- one bar ------------------------------------------------------------------------------

    def _bar(self, box: EngravedBar, top: float, bottom: float) -> Safe:
        if not self.controls:
            return Safe("")
        area = element(
            "rect", x=box.x + 20, y=top, width=box.width - 40, height=bottom - top, rx=90
        )
        return element(
            "g",
            area,
            class_="bar",
            id=bar_id(box.bar) if self.ids else None,
            data_at=bar_id(box.bar),
            role="button",
            tabindex="-1",
            aria_label=f"{bar_in_words(box.bar, self.audit, self.missed)} Play from here.",
        )

    def _above(self, box: EngravedBar, system: System, top: float) -> Iterator[Safe]:
        bar = box.bar
        if bar.number is not None:
            yield element(
                "text",
                str(bar.number),
                x=box.x + 30,
                y=system.chord_row - 385,
                class_="fine",
                font_size=230,
            )
        for chord, x in zip(bar.chords, box.chord_xs, strict=True):
            yield chord_symbol(chord.chord.symbol, x, system.chord_row)
        if bar.section and self._shows_section(bar):
            name = short_name(bar.section)
            wide = _box_width(name)
            y = top - 390
            yield element(
                "rect",
                x=box.x + 20,
                y=y,
                width=wide,
                height=330,
                fill="none",
                stroke="currentColor",
                stroke_width=22,
            )
            yield centred(name, box.x + 20 + wide / 2, y + 260, 280, "currentColor")

    def _below(self, box: EngravedBar, row: float) -> Iterator[Safe]:
        for symbol in box.bar.symbols:
            if symbol.note is None or symbol.tied_from:
                continue
            note = self.audit.labels.notes[symbol.note]
            yield self._label(note, symbol.note, box.x_at(symbol.step), row)
        begin = box.bar.step
        for step in range(begin, begin + box.bar.steps):
            if step in self.missed:
                yield missed_mark(box.x_at(step), row + self.rows + ROW + 60)

    def _label(self, note: Note, index: int, x: float, row: float) -> Safe:
        y = row - 90
        parts: list[Safe] = []
        if self.controls and self.ids:
            taken = f"; {finger_in_words(self.fingering[index])}" if self.fingering else ""
            parts.append(element("title", note_in_words(note) + taken))
        if note.ghost:
            parts.append(element("use", href="#f-ghost", x=x, y=y))
        elif note.function:
            parts.append(element("use", href=f"#{badge_id(note.function, note.degree)}", x=x, y=y))
        if note.anticipation:
            parts.append(pushed_mark(x + 200, y))
        parts.extend(fine_print(note, x, row + ROW + 20))
        if self.fingering:
            taken = finger_and_string(self.fingering[index], new_string=self.new_strings[index])
            at = {"x": x, "y": row + self.rows + 40}
            parts.append(
                element(
                    "text",
                    taken,
                    class_="fingers",
                    fill="currentColor",
                    font_size=230,
                    text_anchor="middle",
                    **at,
                )
            )
        return element("g", *parts, class_="label", data_n=str(index))

    # ---- losses -------------------------------------------------------------------------------

    def _band(self, system: System, lost: _Lost, top: float, floor: float) -> Safe:
        low, high = _reach(system, lost)
        box = {"x": low, "y": top, "width": high - low, "height": floor - top}
        if not lost.certain:
            return element(
                "rect",
                class_="perhaps",
                fill="none",
                stroke="currentColor",
                stroke_width=24,
                stroke_dasharray="90 90",
                **box,
            )
        return Safe(
            element("rect", class_="lost", fill="#d55e00", fill_opacity=0.08, **box)
            + element("rect", class_="lost-lines", fill="url(#hatch)", opacity=0.1, **box)
        )

    def _losses_named(self, system: System, lost: list[_Lost], top: float) -> Iterator[Safe]:
        begin, end = system.bars[0].bar.step, _end(system)
        for stretch in lost:
            low, high = _reach(system, stretch)
            starts = stretch.step >= begin
            ends = stretch.end_step <= end and stretch.comes_back and stretch.certain
            words = f"{stretch.words} from here" if starts else f"still {stretch.words}"
            left = low + 20 + self._name_width(system, low)
            right = left + WORDS * len(words) + 240
            if ends and high < right and high < system.width - 1:
                words += ", then back in place"
                right = left + WORDS * len(words) + 240
                ends = False
            left -= max(0.0, right - system.width)
            if starts:
                at = f"M{number(left)} {number(top - 330)}v210l150 -105z"
                yield element("path", d=at, class_="loss-words", fill=WARNING)
                left += 220
            yield _loss_words(words, left, top, font_weight="700")
            if ends:
                near_edge = high > system.width - WORDS * len("back in place")
                x, anchor = (high - 20, "end") if near_edge else (high + 20, "start")
                yield _loss_words("back in place", x, top, text_anchor=anchor)

    def _name_width(self, system: System, x: float) -> float:
        """Room that the name of a section takes where a loss begins."""
        box = next((b for b in system.bars if b.x <= x + 1 < b.x + b.width), system.bars[0])
        named = box.bar.section and self._shows_section(box.bar) and x < box.x + 600
        return _box_width(short_name(box.bar.section or "")) + 90 if named else 0.0


def _loss_words(words: str, x: float, top: float, **more: str) -> Safe:
    return element(
        "text", words, x=x, y=top - 130, class_="loss-words", font_size=270, fill=WARNING, **more
    )


def _end(system: System) -> int:
    last = system.bars[-1].bar
    return last.step + last.steps


def _box_width(name: str) -> float:
    return 175 * len(name) + 150


def _reach(system: System, lost: _Lost) -> tuple[float, float]:
    """From where to where a loss lies in this system, as x."""
    first, last = system.bars[0], system.bars[-1]
    low, high = first.x, last.x + last.width
    for box in system.bars:
        end = box.bar.step + box.bar.steps
        if box.bar.step < lost.step < end:
            low = box.x_at(lost.step) - 200
        elif box.bar.step == lost.step:
            low = box.x
        if box.bar.step < lost.end_step < end:
            high = box.x_at(lost.end_step) - 200
        elif end == lost.end_step:
            high = box.x + box.width
    return low, high


def _lost_stretches(audit: Audit) -> list[_Lost]:
    end = max(
        [*(s.end_step for s in audit.line.spans), *(n.end_step for n in audit.labels.notes)],
        default=0,
    )
    found = []
    for loss in audit.line.losses:
        words = off_by(loss, audit.chart, adrift="adrift")
        if not loss.certain:
            words = f"perhaps {words}"
        back = loss.recovered_step
        found.append(
            _Lost(loss.step, end if back is None else back, words, loss.certain, back is not None)
        )
    return found
