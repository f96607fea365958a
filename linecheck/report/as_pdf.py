"""The handout on paper: the same words, pictures and engraving as the page, set as a PDF.

Typeset by Typst, whose wheels carry everything (type, layout, fonts, tagged PDF), so nobody has
to install a browser or a system library. Texts are handed over as data and never as markup.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from linecheck.report.comparison_in_words import carry_over_summary
from linecheck.report.course_picture import course_picture
from linecheck.report.engraving import engrave
from linecheck.report.feel_picture import feel_picture
from linecheck.report.findings_in_words import how_sure, style_text
from linecheck.report.form_map_picture import form_map_caption, form_map_picture
from linecheck.report.function_looks import LOOKS
from linecheck.report.handout import Handout, handout
from linecheck.report.intonation_picture import intonation_picture
from linecheck.report.labelled_score import ScoreDrawing
from linecheck.report.markup import Safe, element
from linecheck.report.patterns_in_words import pattern_sentences
from linecheck.report.picture import INK, PRINT
from linecheck.report.score_marks import WARNING, mark_symbols, missed_caret, pushed_mark
from linecheck.report.typesetting import TYPST_PAPERS, typeset

if TYPE_CHECKING:
    from collections.abc import Callable

    from linecheck.terms import Audit

__all__ = ["write_pdf"]

SHEET = (2150, 4)  # width of a line in the engraver's units, bars on it


def write_pdf(
    audit: Audit, progress: Callable[[int, int], None] | None = None, *, paper: str = "a4"
) -> bytes:
    """The whole file.

    Args:
        audit: a complete audit.
        progress: called after every engraved chorus with the number done and the number in all.
        paper: ``"a4"`` or ``"letter"``.
    """
    if paper not in TYPST_PAPERS:
        raise ValueError(f"{paper!r} is no paper; expected one of {', '.join(TYPST_PAPERS)}")
    return typeset(
        ("linecheck.report", "handout_page", "pages.typ"),
        "handout",
        _told(audit, paper, progress),
    )


def _told(audit: Audit, paper: str, progress: Callable[[int, int], None] | None) -> dict[str, Any]:
    """Everything that the paper shows, as plain data and drawings."""
    text = handout(audit)
    weights = ", ".join(f"{part} {share}" for part, share in text.weights)
    return {
        "paper": TYPST_PAPERS[paper],
        "page_word": "page",
        "title": text.title,
        "student": text.student,
        "tune": text.tune,
        "take": text.take,
        "commitment": text.commitment,
        "verdict": text.verdict,
        "asked": text.asked,
        "course": _picture(course_picture(audit, setting="print")),
        "findings": [
            {
                "title": f.title,
                "why": f.why,
                "cost": f"Cost {f.points:.1f} of the 100 points.",
                "practise": f.practise,
                "places": "Where: " + _places(f.places),
            }
            for f in text.findings
        ],
        "good": text.good,
        "form_map": _picture(form_map_picture(audit, setting="print")),
        "form_caption": form_map_caption(audit.chart),
        "losses": [*text.losses, *(f"Perhaps (it counts nowhere): {s}" for s in text.perhaps)],
        "how_sure": how_sure(audit),
        "watched": text.watched,
        "feel_picture": _picture(feel_picture(audit, setting="print")),
        "intonation_picture": _picture(intonation_picture(audit, setting="print")),
        "intonation": text.intonation,
        "feel": text.feel,
        "carried": [] if audit.carry_over is None else carry_over_summary(audit.carry_over),
        "patterns": pattern_sentences(audit),
        "reference": text.reference,
        "choruses": [
            [
                str(r.chorus), r.commitment, r.purpose, r.landings, r.form, r.presence,
                str(r.notes), r.style,
            ]
            for r in text.choruses
        ],
        "made_of": f"Weights of the rubric “{text.rubric}”: {weights}. A teacher can change them.",
        "read": text.read,
        "warnings": text.warnings,
        "key": _key(text),
        "score": _score(audit, progress),
        "cautions": text.cautions,
    }  # fmt: skip


def _places(places: tuple[tuple[int, int], ...]) -> str:
    return ", ".join(f"chorus {chorus} bar {bar}" for chorus, bar in places)


def _picture(svg: Safe | None) -> dict[str, str] | None:
    if svg is None:
        return None
    return {"svg": str(svg), "alt": _label(svg)}


def _label(svg: Safe) -> str:
    """The label that a drawing carries, to be the text of its picture in the PDF."""
    import xml.etree.ElementTree as ET  # noqa: PLC0415

    return ET.fromstring(svg).get("aria-label", "")  # noqa: S314 - our own drawing


def _key(text: Handout) -> list[tuple[str, str]]:
    """What each mark of the notation means, with its drawing; those that the take has."""

    def drawn(mark: Safe, *, box: str = "-240 -240 480 480", colour: str = INK) -> str:
        return str(
            element(
                "svg",
                element("defs", mark_symbols()),
                mark,
                xmlns="http://www.w3.org/2000/svg",
                viewBox=box,
                font_family=PRINT,
                color=colour,
            )
        )

    def symbol(name: str) -> str:
        return drawn(element("use", href=f"#{name}"))

    rows = [(symbol(f"f-{name}"), look.words) for name, look in LOOKS.items()]
    rows += [
        (symbol("f-ghost"), "a ghost note: heard, not judged"),
        (symbol("lead-up"), "an approach leads up a step, or down"),
    ]
    if text.pushed:
        told = "pushed: struck on the off-beat before its chord"
        rows.append((drawn(pushed_mark(-35, 0), box="-160 -160 320 320"), told))
    if text.out_of_place:
        rows.append((symbol("own-root"), "small: what the note is in the bar that you were in"))
    caret = drawn(missed_caret(0, 0), box="-150 -170 300 240", colour=WARNING)
    return [*rows, (caret, "missed: no chord tone was struck for this landing")]


def _score(audit: Audit, progress: Callable[[int, int], None] | None) -> list[dict[str, Any]]:
    engraving = engrave(audit, width=SHEET[0], bars_a_line=SHEET[1], progress=progress)
    drawing = ScoreDrawing(audit, controls=False, ids=False)
    defs = Safe("".join(engraving.glyphs.values()) + mark_symbols())
    scores = {score.chorus: score for score in audit.judgement.choruses}
    made = []
    for chorus in engraving.choruses:
        score = scores.get(chorus.number)
        systems = drawing.systems(chorus, defs)
        made.append(
            {
                "title": _title(chorus.number, audit),
                "figures": f"{style_text(score, audit)}, {score.commitment:.0f} of 100"
                if score
                else "",
                "systems": [{"svg": str(s), "alt": _label(s)} for s in systems],
            }
        )
    return made


def _title(number: int, audit: Audit) -> str:
    if number == 0:
        return "Before the first chorus"
    return "After the last chorus" if number > audit.line.choruses else f"Chorus {number}"
