"""MusicXML into a ``Score``: the title, the parts by their list, measure by measure.

The elements are read directly and not through a general score library: music21 10 keeps only the
root of a chord of the kind "other", its faults name no measure, and loading it takes longer than
all the rest of an audit.
Source: MusicXML 4.0, score-partwise; a score-timewise is turned into one first.
"""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element

from linecheck.read.fault_place import Where
from linecheck.read.musicxml_measure import PartReader
from linecheck.read.musicxml_values import text_of
from linecheck.read.safe_xml import read_xml
from linecheck.read.score import Frame, Measure, Part, Score

if TYPE_CHECKING:
    from pathlib import Path

    from linecheck.faults import InputFault

MOST_MEASURES = 20_000
MOST_PARTS = 500
DRUM_CHANNEL = "10"  # General MIDI


def read_musicxml(path: Path, fault: type[InputFault], *, with_chords: bool) -> Score:
    """Read a score.

    Args:
        path: a .musicxml, .xml or .mxl file.
        fault: the kind of fault to raise.
        with_chords: whether chord symbols are read; one that cannot be read is then a fault.

    Raises:
        InputFault: of the kind ``fault``, with part and measure where they are known.
    """
    where = Where(fault, str(path))
    root = read_xml(path, fault)
    if root.tag == "score-timewise":
        root = partwise(root, where)
    if root.tag != "score-partwise":
        hint = "; an opus is a list of scores: give one of them" if root.tag == "opus" else ""
        raise where.wrong(
            f"its outermost element is <{root.tag[:40]}>, and <score-partwise> was expected{hint}",
            root.tag[:40],
        )
    score = Score(_title(root) or path.stem, [], [])
    listed = {part.get("id"): part for part in root.iterfind("part-list/score-part")}
    parts = root.findall("part")
    if not parts:
        raise where.wrong("it holds no part")
    if len(parts) > MOST_PARTS:
        raise where.wrong(f"it holds more than {MOST_PARTS} parts")
    for number, element in enumerate(parts, 1):
        part = _listed_part(number, listed.get(element.get("id")))
        _read_part(element, part, score, where, with_chords=with_chords)
    _even_out(score)
    return score


def _read_part(
    element: Element, part: Part, score: Score, where: Where, *, with_chords: bool
) -> None:
    measures = element.findall("measure")
    if len(measures) > MOST_MEASURES:
        raise where.wrong(f"it holds more than {MOST_MEASURES} measures")
    label = f"part {part.name}" if part.name else f"part {part.number}"
    inside = where.at(label[:60])
    reader = PartReader(score, part, with_chords=with_chords)
    for index, measure in enumerate(measures):
        number = measure.get("number", str(index + 1))[:20]
        if index == len(score.frames):
            score.frames.append(Frame(number, implicit=measure.get("implicit") == "yes"))
        reader.read(measure, index, inside.at(f"measure {number}"))
    score.parts.append(part)


def _even_out(score: Score) -> None:
    """Give every part as many measures as there are frames, and every frame a meter."""
    for part in score.parts:
        missing = len(score.frames) - len(part.measures)
        part.measures.extend(Measure() for _ in range(missing))


def _title(root: Element) -> str:
    # The movement is the tune, the work may be the book that it stands in.
    for tag in ("movement-title", "work/work-title"):
        if title := text_of(root, tag):
            return title
    for credit in root.iterfind("credit"):
        if text_of(credit, "credit-type") == "title" and (words := text_of(credit, "credit-words")):
            return words
    return ""


def _listed_part(number: int, listed: Element | None) -> Part:
    part = Part(number, "")
    if listed is None:
        return part
    names = (
        text_of(listed, "part-name"),
        text_of(listed, "score-instrument/instrument-name"),
        text_of(listed, "part-abbreviation"),
    )
    part.name = next((name for name in names if name), "")
    part.sound = text_of(listed, "score-instrument/instrument-sound")
    program = text_of(listed, "midi-instrument/midi-program")
    if program.isdecimal() and 1 <= int(program[:4]) <= 128:
        part.program = int(program) - 1
    part.drums = text_of(listed, "midi-instrument/midi-channel") == DRUM_CHANNEL
    return part


def partwise(root: Element, where: Where) -> Element:
    """Turn measures of parts into parts of measures; what is in them stays the same objects."""
    turned = Element("score-partwise", root.attrib)
    parts: dict[str, Element] = {}
    for child in root:
        if child.tag != "measure":
            turned.append(child)
            continue
        for part in child.iterfind("part"):
            name = part.get("id", "")
            if name not in parts:
                parts[name] = Element("part", {"id": name})
            measure = Element("measure", child.attrib)
            measure.extend(part)
            parts[name].append(measure)
        if len(parts) > MOST_PARTS:
            raise where.wrong(f"it holds more than {MOST_PARTS} parts")
    turned.extend(parts.values())
    return turned
