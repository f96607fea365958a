"""Small MusicXML scores for tests, put together from pieces that can be read at a glance.

Divisions are 12 a quarter note. ``note("C2", 12)`` is a quarter, ``rest(48)`` a bar of 4/4,
``harmony("Bb", "dominant")`` a chord symbol; ``measure(…)`` takes such pieces in their order.
"""

from __future__ import annotations

DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">'
)
TIME_44 = "<time><beats>4</beats><beat-type>4</beat-type></time>"
BASS_CLEF = "<clef><sign>F</sign><line>4</line></clef>"
OCTAVE_DOWN = (
    "<transpose><diatonic>0</diatonic><chromatic>0</chromatic>"
    "<octave-change>-1</octave-change></transpose>"
)


def pitch(name: str) -> str:
    step, octave = name[0], name[-1]
    alter = name.count("#") - name[1:].count("b")
    shift = f"<alter>{alter}</alter>" if alter else ""
    return f"<pitch><step>{step}</step>{shift}<octave>{octave}</octave></pitch>"


def note(name: str, length: int, *, inside: str = "", before: str = "", **attributes: str) -> str:
    """``before`` goes before the pitch (chord, grace, cue), ``inside`` after the duration."""
    attrs = "".join(f' {key}="{value}"' for key, value in attributes.items())
    duration = "" if "<grace" in before else f"<duration>{length}</duration>"
    return f"<note{attrs}>{before}{pitch(name)}{duration}{inside}</note>"


def rest(length: int) -> str:
    return f"<note><rest/><duration>{length}</duration></note>"


def _alter(which: str, name: str) -> str:
    alter = name.count("#") - name[1:].count("b")
    shift = f"<{which}-alter>{alter}</{which}-alter>" if alter else ""
    return f"<{which}><{which}-step>{name[0]}</{which}-step>{shift}</{which}>"


def harmony(root: str, kind: str = "major", *, bass: str = "", after: str = "", text: str = ""):
    """``after`` is put at the end: inversion, degrees, offset."""
    shown = f' text="{text}"' if text else ""
    low = _alter("bass", bass) if bass else ""
    return f"<harmony>{_alter('root', root)}<kind{shown}>{kind}</kind>{low}{after}</harmony>"


def degree(value: int, alter: int, kind: str) -> str:
    return (
        f"<degree><degree-value>{value}</degree-value><degree-alter>{alter}</degree-alter>"
        f"<degree-type>{kind}</degree-type></degree>"
    )


def direction(content: str, sound: str = "", offset: int | None = None) -> str:
    shift = "" if offset is None else f"<offset>{offset}</offset>"
    return f"<direction><direction-type>{content}</direction-type>{shift}{sound}</direction>"


def rehearsal(mark: str) -> str:
    return direction(f"<rehearsal>{mark}</rehearsal>")


def words(text: str) -> str:
    return direction(f"<words>{text}</words>")


FORWARD = '<barline location="left"><repeat direction="forward"/></barline>'
BACKWARD = '<barline location="right"><repeat direction="backward"/></barline>'
DOUBLE = '<barline location="right"><bar-style>light-light</bar-style></barline>'


def ending(number: str, kind: str, inside: str = "") -> str:
    side = "left" if kind == "start" else "right"
    return f'<barline location="{side}"><ending number="{number}" type="{kind}"/>{inside}</barline>'


def measure(*pieces: str, attributes: str = "", implicit: bool = False) -> tuple[str, str, bool]:
    return attributes, "".join(pieces), implicit


def part(*measures: tuple[str, str, bool], attributes: str = TIME_44, first: int = 1) -> str:
    text = []
    for index, (own, content, implicit) in enumerate(measures):
        start = f"<divisions>12</divisions>{attributes}" if not index else ""
        attrs = f"<attributes>{start}{own}</attributes>" if start or own else ""
        flag = ' implicit="yes"' if implicit else ""
        text.append(f'<measure number="{index + first}"{flag}>{attrs}{content}</measure>')
    return "".join(text)


def score(*parts: str, names: tuple[str, ...] = (), head: str = "", listed: str = "") -> str:
    """A whole file. ``listed`` is put into every score-part after its name."""
    names = names or ("",) * len(parts)
    listing = "".join(
        f'<score-part id="P{n}"><part-name>{name}</part-name>{listed}</score-part>'
        for n, name in enumerate(names, 1)
    )
    bodies = "".join(f'<part id="P{n}">{body}</part>' for n, body in enumerate(parts, 1))
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>{DOCTYPE}<score-partwise version="4.0">'
        f"{head}<part-list>{listing}</part-list>{bodies}</score-partwise>"
    )
