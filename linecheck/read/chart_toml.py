"""A chart in TOML 1.0: title, key, meter, tempo, feel, form, intro, ending, and the sections.

``tempo`` is in quarter notes a minute. ``form``, ``intro`` and ``ending`` name sections in their
order; a section is its bars (see ``bar_lines``) or a table of ``bars`` and a ``meter`` of its own.
Required are ``title`` and the sections. Where the rest is missing: 4/4, one section is the form,
and the key is taken from the first chord (with a warning).
"""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from linecheck.faults import ChartFault
from linecheck.music.keys import key_text, read_key
from linecheck.read.bar_lines import BarChords, read_bars
from linecheck.read.file_checks import MEBIBYTE, read_text
from linecheck.terms import Bar, Chart, Key, Meter, Remark, Section

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

KEYS = ("title", "key", "meter", "tempo", "feel", "form", "intro", "ending", "sections")
SECTION_KEYS = ("meter", "bars")
SLOWEST, FASTEST = 20, 500  # quarter notes a minute
MOST_BYTES = MEBIBYTE
MOST_BARS = 4000  # of one chorus
_METER = re.compile(r"([1-9]\d?) ?/ ?(1|2|4|8|16)")


def is_for_a_chart(path: Path) -> bool:
    """Whether a TOML file is meant for a chart, and not for a rubric, say; one that cannot be read is."""
    try:
        with path.open("rb") as file:
            table = tomllib.loads(file.read(MOST_BYTES).decode("utf-8-sig"))
    except (OSError, ValueError, RecursionError):
        return True
    return "form" in table or "sections" in table


def read_chart_toml(path: Path) -> Chart:
    """Read a chart file.

    Raises:
        ChartFault: it is no chart; one line says where, what was read and what was expected.
    """
    return parse_chart_toml(read_text(path, ChartFault, MOST_BYTES), str(path))


def parse_chart_toml(text: str, source: str = "") -> Chart:
    """Read a chart from the text of its file; ``source`` names it in faults.

    Raises:
        ChartFault: it is no chart; one line says where, what was read and what was expected.
    """
    try:
        return _chart(_table_of(text), source)
    except ChartFault as fault:
        fault.source = source
        raise


def _table_of(text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise ChartFault("is nested too deeply for a chart") from None
    except ValueError as error:
        from linecheck.read.toml_slips import explain  # noqa: PLC0415  only a slip needs it

        problem, line = explain(text, error)
        place = (f"line {line}",) if line else ()
        # A slip is told in words of its line.
        names = tuple(re.findall(r"[\w-]+", text.split("\n")[line - 1])) if line else (problem,)
        raise ChartFault(problem, place=place, names=names) from None


class _WrittenSection(NamedTuple):
    meter: Meter
    bars: tuple[BarChords, ...]


def _chart(table: dict[str, Any], source: str) -> Chart:
    _check_keys(table, KEYS, "a chart")
    title = " ".join(_text(table, "title").split())  # one line, however it was written
    if not title:
        raise ChartFault('title is missing; expected title = "…"')
    key = read_key(_text(table, "key")) if "key" in table else None
    meter = _meter(_text(table, "meter")) if "meter" in table else Meter(4, 4)
    written = _sections_table(table)
    form = _names(table, "form", written)
    intro, ending = _names(table, "intro", written), _names(table, "ending", written)
    if not form:
        form = _only_section(written)
    _check_strays(written, {*form, *intro, *ending})
    sections = {name: _section(name, value, meter) for name, value in written.items()}
    bars, places = _lay_out(form, sections)
    return Chart(
        title=title,
        key=key or _key_of(bars),
        meter=meter,
        tempo=_tempo(table),
        feel=_feel(table),
        form=form,
        sections=places,
        bars=bars,
        intro=_lay_out(intro, sections)[0],
        ending=_lay_out(ending, sections)[0],
        source=source,
        warnings=tuple(_warnings(key, bars, written, {*form, *intro, *ending})),
    )


# ---- the values ------------------------------------------------------------------------------


def _check_keys(table: dict[str, Any], known: tuple[str, ...], what: str) -> None:
    for name in table:
        if name not in known:
            near = _near(name, known)
            raise ChartFault(f"unknown key {name!r}; {what} has {', '.join(known)}{near}")


def _near(name: str, known: Iterable[str]) -> str:
    import difflib  # noqa: PLC0415  only a slip needs it

    folded = {other.casefold(): other for other in known}
    found = difflib.get_close_matches(name.casefold(), folded, 1)
    return f"; did you mean {folded[found[0]]!r}?" if found else ""


def _text(table: dict[str, Any], name: str) -> str:
    value = table.get(name, "")
    if not isinstance(value, str):
        raise ChartFault(f"{name} is {_shown(value)}; expected text in quotation marks")
    return value


def _shown(value: Any) -> str:
    """A value as a message shows it: what it is, and the value if it is short."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    shown = repr(value) if isinstance(value, (str, int, float)) else str(value)
    return shown if len(shown) <= 40 else f"{shown[:40]}…"


def _meter(text: str) -> Meter:
    found = _METER.fullmatch(text.strip())
    if found is None:
        raise ChartFault(f"meter is {_shown(text)}; expected beats and their note, such as '4/4'")
    return Meter(int(found[1]), int(found[2]))


def _tempo(table: dict[str, Any]) -> float | None:
    value = table.get("tempo")
    if value is None:
        return None
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    if not number or not SLOWEST <= value <= FASTEST:
        raise ChartFault(
            f"tempo is {_shown(value)}; expected a number of quarter notes a minute, "
            f"{SLOWEST} to {FASTEST}"
        )
    return float(value)


def _feel(table: dict[str, Any]) -> Literal["swing", "straight"] | None:
    value = table.get("feel")
    if value == "swing":
        return "swing"
    if value == "straight":
        return "straight"
    if value is not None:
        raise ChartFault(f"feel is {_shown(value)}; expected 'swing' or 'straight'")
    return None


# ---- form and sections -----------------------------------------------------------------------


def _sections_table(table: dict[str, Any]) -> dict[str, Any]:
    sections = table.get("sections")
    if sections is None:
        raise ChartFault('sections are missing; expected [sections] and below it A = "| F7 | … |"')
    if not isinstance(sections, dict) or not sections:
        raise ChartFault(
            f"sections is {_shown(sections) if sections else 'empty'}; expected a "
            'table such as [sections] and below it A = "| F7 | … |"'
        )
    return sections


def _names(table: dict[str, Any], name: str, written: dict[str, Any]) -> tuple[str, ...]:
    value = table.get(name, [])
    no_names = (
        [entry for entry in value if not isinstance(entry, str)] if isinstance(value, list) else []
    )
    if no_names or not isinstance(value, list):
        holds = f"{name} holds {_shown(no_names[0])}" if no_names else f"{name} is {_shown(value)}"
        raise ChartFault(f'{holds}; expected a list of section names, such as {name} = ["A", "B"]')
    if name == "form" and name in table and not value:
        raise ChartFault("form is empty; expected a list of section names")
    for section in value:
        if section not in written:
            near = _near(section, written)
            raise ChartFault(
                f"{name} names section {_shown(section)}, which is not defined; "
                f"sections has {', '.join(written)}{near}",
                names=tuple(written),
            )
    return tuple(value)


def _only_section(written: dict[str, Any]) -> tuple[str, ...]:
    if len(written) > 1:
        raise ChartFault(
            "form is missing; expected the order of the sections in one chorus, "
            'such as form = ["A", "A", "B", "A"]'
        )
    return tuple(written)


def _check_strays(written: dict[str, Any], used: set[str]) -> None:
    """A key of the chart that was written below [sections] belongs to it by the rules of TOML."""
    for name, value in written.items():
        if name in KEYS and name not in used and not (isinstance(value, str) and "|" in value):
            raise ChartFault(
                f"{name} stands below [sections] and is read as a section; "
                "write it above [sections]"
            )


def _section(name: str, value: Any, meter: Meter) -> _WrittenSection:
    try:
        return _written_section(value, meter)
    except ChartFault as fault:
        fault.place = (f"section {name}", *fault.place)
        raise


def _written_section(value: Any, meter: Meter) -> _WrittenSection:
    if isinstance(value, dict):
        _check_keys(value, SECTION_KEYS, "a section")
        if "bars" not in value:
            raise ChartFault('has no bars; expected bars = "| F7 | … |"')
        meter = _meter(_text(value, "meter")) if "meter" in value else meter
        value = _text(value, "bars")
    if not isinstance(value, str):
        raise ChartFault(
            f"is {_shown(value)}; expected bars in quotation marks, or a table of meter and bars"
        )
    return _WrittenSection(meter, read_bars(value, meter))


def _lay_out(
    names: tuple[str, ...], sections: dict[str, _WrittenSection]
) -> tuple[tuple[Bar, ...], tuple[Section, ...]]:
    """The bars of some sections in a row, and where each section stands."""
    bars: list[Bar] = []
    places: list[Section] = []
    for name in names:
        meter, written = sections[name]
        places.append(Section(name, len(bars) + 1, len(written)))
        for index, chords in enumerate(written):
            bars.append(Bar(len(bars) + 1, name, meter, chords, opens_section=index == 0))
        if len(bars) > MOST_BARS:
            raise ChartFault(f"one time through the form has more than {MOST_BARS} bars")
    return tuple(bars), tuple(places)


def _key_of(bars: tuple[Bar, ...]) -> Key:
    """The key of the first chord: a chart that does not say it is spelled so."""
    for bar in bars:
        for chart_chord in bar.chords:
            chord = chart_chord.chord
            if chord.root is not None:
                minor = any(t.degree == "b3" and t.function == "third" for t in chord.tones)
                return Key(chord.root_name, minor)
    return Key("C", minor=False)


def _warnings(
    key: Key | None, bars: tuple[Bar, ...], written: dict[str, Any], used: set[str]
) -> Iterable[Remark]:
    if key is None:
        yield Remark(f"the chart names no key; taken as {key_text(_key_of(bars))}")
    for name in written:
        if name not in used:
            told = f"section {name} is defined and not used in form, intro or ending"
            yield Remark(told, names=(name,))
