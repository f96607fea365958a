"""A line in notation with its suggested fingering: ``--musicxml FILE``.

A line that comes from a MusicXML file keeps its notation; its written fingerings and strings are
replaced by the suggested ones. A note that is played more than once (a repeat) carries the
fingering of its first time. Any other line is written out in the bars of its own file.

Source: MusicXML 4.0; marks are those of ``report.left_hand_marks``.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element, SubElement, register_namespace, tostring

from linecheck.faults import OptionFault, TakeFault
from linecheck.left_hand.file_places import file_places
from linecheck.left_hand.tuning import PLAIN_KEY
from linecheck.read.fault_place import Where
from linecheck.read.musicxml_score import partwise
from linecheck.read.safe_xml import read_xml
from linecheck.report import as_musicxml
from linecheck.report.left_hand_marks import (
    MARKS,
    SHORT_CAUTION,
    add_left_hand,
    new_strings,
)
from linecheck.terms import (
    Audit,
    Bar,
    Chart,
    Judgement,
    LabelledLine,
    Note,
    Place,
    PlacedLine,
    Rubric,
)

if TYPE_CHECKING:
    from linecheck.left_hand.file_places import FilePlaces
    from linecheck.terms import FingeredNote, Fingering, Take

__all__ = ["write_musicxml"]

AFTER_NOTATIONS = frozenset(("lyric", "play", "listen"))
BEFORE_DIRECTION = frozenset(("print", "attributes"))


def write_musicxml(found: Fingering, take: Take) -> str:
    """The whole file as text.

    Args:
        found: the fingering of ``take``.
        take: the line, as it was read.

    Raises:
        OptionFault: the take was played free, so that it has no bars to be written in.
        TakeFault: its file is not there any more.
    """
    if take.notes and all(note.written_at for note in take.notes):
        return _marked_file(found, take)
    return _written_out(found, take)


# ---- into the notation that is there ---------------------------------------------------------


def _marked_file(found: Fingering, take: Take) -> str:
    path = Path(take.source)
    root = read_xml(path, TakeFault)
    shown = partwise(root, Where(TakeFault, str(path))) if root.tag == "score-timewise" else root
    measures = [part.findall("measure") for part in shown.findall("part")]
    marked: set[tuple[int, int, int]] = set()
    told = new_strings(found.notes)
    for note, fingered, new_string in zip(take.notes, found.notes, told, strict=True):
        at = note.written_at
        if at is None or at in marked:
            continue
        part, measure, number = at
        element = measures[part - 1][measure].findall("note")[number]
        _mark(element, fingered, new_string=new_string or not marked)
        marked.add(at)
    first_part = min(part for part, _, _ in marked)
    _say_caution(measures[first_part - 1][0])
    register_namespace("xlink", "http://www.w3.org/1999/xlink")
    prologue = as_musicxml.PROLOGUE
    if root.tag == "score-timewise":
        prologue = prologue.replace("partwise", "timewise").replace("Partwise", "Timewise")
    return prologue + tostring(root, encoding="unicode") + "\n"


def _mark(element: Element, fingered: FingeredNote, *, new_string: bool) -> None:
    for technical in element.iterfind("notations/technical"):
        for mark in [child for child in technical if child.tag in MARKS]:
            technical.remove(mark)
    notations = element.find("notations")
    if notations is None:
        notations = Element("notations")
        before = [i for i, child in enumerate(element) if child.tag in AFTER_NOTATIONS]
        element.insert(before[0] if before else len(element), notations)
    technical_ = notations.find("technical")
    if technical_ is None:
        technical_ = SubElement(notations, "technical")
    add_left_hand(technical_, fingered, new_string=new_string)
    if not len(technical_):
        notations.remove(technical_)
    if not len(notations):
        element.remove(notations)


def _say_caution(measure: Element) -> None:
    at = 0
    while at < len(measure) and measure[at].tag in BEFORE_DIRECTION:
        at += 1
    direction = Element("direction", placement="above")
    SubElement(SubElement(direction, "direction-type"), "words").text = SHORT_CAUTION
    measure.insert(at, direction)


# ---- written out in the bars of its own file -------------------------------------------------


def _written_out(found: Fingering, take: Take) -> str:
    places = file_places(take)
    if places is None:
        raise OptionFault(
            "--musicxml: the take was played free and has no bars of its own; they are found with "
            "its chart: linecheck audit CHART TAKE --fingering --musicxml FILE",
            source=take.source or None,
        )
    return as_musicxml.write_musicxml(_bare_audit(found, take, places))


def _bare_audit(found: Fingering, take: Take, places: FilePlaces) -> Audit:
    """The line over a chart without chords: what a writer of notation needs, and nothing judged."""
    bars = tuple(
        Bar(number, "", meter, (), opens_section=False)
        for number, meter in enumerate(places.meters, 1)
    )
    notes = tuple(
        Note(
            n.onset_s, n.duration_s, n.pitch, n.velocity, step, stop, 0.0,
            Place(1, bar, beat) if bar else Place(0, None, None), None, None,
            fingered.name, None, None, None, None,
            anticipation=False, ghost=False, landing=False,
        )
        for n, fingered, step, stop, (bar, beat) in zip(
            take.notes, found.notes, places.steps, places.stops, places.places, strict=True
        )
    )  # fmt: skip
    tempo = 60 / take.tempo_map.seconds_per_quarter[0] if take.tempo_map else 120.0
    return Audit(
        chart=Chart(
            Path(take.source).stem or "A line", PLAIN_KEY, bars[0].meter, None, None, (), (), bars
        ),
        take=take,
        line=PlacedLine(
            (), "written", (), tempo * bars[0].meter.unit / 4, None, 0.0, 0.0, 1, (), ()
        ),
        labels=LabelledLine(notes, (), ()),
        judgement=Judgement((), (), 0.0, (), Rubric("", {}, "", "")),
        fingering=found,
    )
