"""A notated chorus in the language of the engraver.

Source: MEI 5, https://music-encoding.org/guidelines/v5/content/.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from linecheck.report.markup import Safe, element
from linecheck.report.notation import key_fifths, written_pitch

if TYPE_CHECKING:
    from linecheck.report.notation import NotatedBar, NotatedChorus, Symbol
    from linecheck.terms import Audit, Meter

__all__ = ["chorus_as_mei"]

MEI_ACCIDENTALS = {"#": "s", "b": "f", "n": "n", "##": "x", "bb": "ff"}


def chorus_as_mei(
    chorus: NotatedChorus, lines: list[list[NotatedBar]], audit: Audit, repeated: int = 0
) -> str:
    """A chorus in bass clef as an MEI document, with a break after every line.

    Chord symbols and labels go along to claim their room; they are drawn by others. The first
    ``repeated`` bars stand between repeat signs.
    """
    fifths = key_fifths(audit.chart.key)
    signature = f"{abs(fifths)}{'s' if fifths > 0 else 'f'}" if fifths else "0"
    meter = chorus.bars[0].meter
    first = chorus.number <= 1 or meter != audit.chart.bars[-1].meter
    last_symbol = chorus.bars[-1].symbols[-1]
    measures: list[str] = []
    for nth, line in enumerate(lines):
        if nth:
            measures.append("<sb/>")
        for bar in line:
            if bar.meter != meter:
                meter = bar.meter
                measures.append(str(_meter(meter)))
            made = _measure(bar, audit, chorus.bars[0], last_symbol, _signs(bar, chorus, repeated))
            measures.append(made)
    definition = element(
        "scoreDef",
        element(
            "staffGrp",
            element(
                "staffDef",
                **{"n": "1", "lines": "5", "clef.shape": "F", "clef.line": "4"},
                keysig=signature,
                **_meter_attributes(chorus.bars[0].meter, shown=first),
            ),
        ),
    )
    return (
        '<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0"><meiHead><fileDesc>'
        "<titleStmt><title/></titleStmt><pubStmt/></fileDesc></meiHead><music><body><mdiv><score>"
        f"{definition}<section>{''.join(measures)}</section>"
        "</score></mdiv></body></music></mei>"
    )


def _signs(bar: NotatedBar, chorus: NotatedChorus, repeated: int) -> dict[str, str]:
    """The repeat signs beside a bar."""
    if not repeated:
        return {}
    first, last = bar is chorus.bars[0], bar is chorus.bars[repeated - 1]
    return {**({"left": "rptstart"} if first else {}), **({"right": "rptend"} if last else {})}


def _meter_attributes(meter: Meter, *, shown: bool) -> dict[str, str]:
    made = {"meter.count": str(meter.beats), "meter.unit": str(meter.unit)}
    return made if shown else {**made, "meter.visible": "false"}


def _meter(meter: Meter) -> Safe:
    return element("scoreDef", **_meter_attributes(meter, shown=True))


def _measure(
    bar: NotatedBar, audit: Audit, first: NotatedBar, last: Symbol, signs: dict[str, str]
) -> str:
    after = audit.chart.bars[(bar.number or 0) % len(audit.chart.bars)]
    double = bar.number is not None and after.opens_section and len(audit.chart.sections) > 1
    harmonies = [
        element(
            "harm",
            chord.chord.symbol,
            tstamp=1 + chord.step / 12,
            staff="1",
        )
        for chord in bar.chords
    ]
    if len(bar.symbols) == 1 and bar.symbols[0].note is None:
        content = "<mRest/>"
    else:
        made = [
            _symbol(s, audit, cut_before=s is first.symbols[0], cut_after=s is last)
            for s in bar.symbols
        ]
        content = _grouped(bar.symbols, made)
    layer = Safe(content)
    return str(
        element(
            "measure",
            element("staff", element("layer", layer, n="1"), n="1"),
            *harmonies,
            **({"right": "dbl"} if double else {}) | signs,
        )
    )


def _symbol(symbol: Symbol, audit: Audit, *, cut_before: bool, cut_after: bool) -> str:
    shape: dict[str, str] = {"dur": str(symbol.value)}
    if symbol.dots:
        shape["dots"] = str(symbol.dots)
    if symbol.note is None:
        return str(element("rest", **shape))
    note = audit.labels.notes[symbol.note]
    letter, accidental, octave = written_pitch(note.name)
    shape |= {"pname": letter.lower(), "oct": str(octave)}
    if symbol.accidental:
        shape["accid"] = MEI_ACCIDENTALS[symbol.accidental]
    elif accidental:
        shape["accid.ges"] = MEI_ACCIDENTALS[accidental]
    tied_from, tied_to = symbol.tied_from and not cut_before, symbol.tied_to and not cut_after
    if tied_from or tied_to:
        shape["tie"] = "m" if tied_from and tied_to else "i" if tied_to else "t"
    if note.ghost:
        shape["head.shape"] = "x"
    if symbol.tied_from:
        return str(element("note", **shape))
    return str(element("note", element("verse", element("syl", "W"), n="1"), **shape))


def _grouped(symbols: tuple[Symbol, ...], made: list[str]) -> str:
    """The symbols of a bar inside their beams and tuplets, the longer group outside."""
    out: list[str] = []
    index = 0
    while index < len(symbols):
        beam_end = _run(symbols, index, "beam")
        tuplet_end = _run(symbols, index, "tuplet")
        end = max(beam_end, tuplet_end)
        if end == index:
            out.append(made[index])
            index += 1
            continue
        inner = tuple(symbols[index:end])
        ratio = symbols[index].tuplet_ratio or (3, 2)
        if tuplet_end >= beam_end:
            bare = tuple(replace(s, tuplet=None) for s in inner)
            content = Safe(_grouped(bare, made[index:end]))
            shown = "false" if beam_end == tuplet_end else None
            tuplet = {"num": str(ratio[0]), "numbase": str(ratio[1])}
            out.append(str(element("tuplet", content, **tuplet, **{"bracket.visible": shown})))
        else:
            bare = tuple(replace(s, beam=None) for s in inner)
            out.append(str(element("beam", Safe(_grouped(bare, made[index:end])))))
        index = end
    return "".join(out)


def _run(symbols: tuple[Symbol, ...], index: int, group: str) -> int:
    """One past the last symbol of the group that begins here; ``index`` where there is none."""
    mark = getattr(symbols[index], group)
    if mark is None:
        return index
    end = index
    while end < len(symbols) and getattr(symbols[end], group) == mark:
        end += 1
    return end
