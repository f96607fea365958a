"""Files in: charts, takes and rubrics, one file a format.

The format is chosen by the suffix, never by trying readers; a file that begins like one of another
kind is refused by what it is (``file_kinds``). A chart reader is ``(path: Path) -> Chart``, a take
reader ``(path: Path, *, track: str | None) -> Take`` (one of a recording is given ``progress``
too); each raises the fault of its kind with ``source`` set. To add a format: one module, one row
here. Readers are imported when their suffix is first met, so that a chart in TOML loads no score
library.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from linecheck.arguments import checked_file, checked_track
from linecheck.faults import ChartFault, InputFault, TakeFault
from linecheck.music.other_key import in_key, named_key
from linecheck.read.file_checks import check_file
from linecheck.read.file_kinds import kind_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from os import PathLike
    from pathlib import Path

    from linecheck.read.file_kinds import FileKind
    from linecheck.reference_terms import ReferenceProfile
    from linecheck.terms import Chart, Rubric, Take

__all__ = [
    "CHART_FOLDERS",
    "CHART_FORMATS",
    "TAKE_FORMATS",
    "read_chart",
    "read_reference",
    "read_rubric",
    "read_take",
]

# suffix → (module of this folder, function)
CHART_FOLDERS = frozenset(("charts", "chart"))  # every file in one is a chart
CHART_FORMATS: dict[str, tuple[str, str]] = {
    ".toml": ("chart_toml", "read_chart_toml"),
    ".musicxml": ("chart_musicxml", "read_chart_musicxml"),
    ".mxl": ("chart_musicxml", "read_chart_musicxml"),
    ".xml": ("chart_musicxml", "read_chart_musicxml"),
    ".abc": ("chart_abc", "read_chart_abc"),
}
TAKE_FORMATS: dict[str, tuple[str, str]] = {
    ".mid": ("take_midi", "read_take_midi"),
    ".midi": ("take_midi", "read_take_midi"),
    ".smf": ("take_midi", "read_take_midi"),
    ".musicxml": ("take_written", "read_take_musicxml"),
    ".mxl": ("take_written", "read_take_musicxml"),
    ".xml": ("take_written", "read_take_musicxml"),
    ".abc": ("take_written", "read_take_abc"),
    ".wav": ("take_audio", "read_take_audio"),
    ".flac": ("take_audio", "read_take_audio"),
    ".ogg": ("take_audio", "read_take_audio"),
    ".mp3": ("take_audio", "read_take_audio"),
    ".m4a": ("take_audio", "read_take_audio"),
}
_WHAT_IS_READ = (
    "a take is a MIDI, MusicXML or ABC file, or a recording",
    "a chart is a TOML, MusicXML or ABC file",
)
RECORDINGS = frozenset(s for s, (module, _) in TAKE_FORMATS.items() if module == "take_audio")


def read_chart(path: str | PathLike[str], *, key: str | None = None) -> Chart:
    """Read a chart of any format in ``CHART_FORMATS``.

    Args:
        path: the file.
        key: the key to read it in ("Bb"); None: its own.

    Raises:
        ChartFault: the file cannot be used; one line says where and why.
        OptionFault: ``key`` is no key, or one of the other mode.
    """
    asked = named_key(key)
    file = checked_file(path, "chart")
    chart: Chart = _read(file, ChartFault, CHART_FORMATS, _no_chart_format)
    if all(placed.chord.root is None for bar in chart.bars for placed in bar.chords):
        raise ChartFault(
            "its form holds no chord but N.C., and a line is judged by its chords",
            source=str(file),
        )
    return chart if asked is None else in_key(chart, asked)


def read_take(
    path: str | PathLike[str],
    *,
    track: str | int | None = None,
    progress: Callable[[str], None] | None = None,
) -> Take:
    """Read a take of any format in ``TAKE_FORMATS``.

    Args:
        path: the file.
        track: name or number from 1 of the track (or part) to read; None: the bass is looked for.
        progress: is told how far the hearing of a recording is; other takes are read at once.

    Raises:
        TakeFault: the file cannot be used; one line says where and why.
        OptionFault: ``track`` is neither a number nor a name.
    """
    file = checked_file(path, "take")
    options: dict[str, Any] = {"track": checked_track(track)}
    if file.suffix.lower() in RECORDINGS:
        options["progress"] = progress
    take: Take = _read(file, TakeFault, TAKE_FORMATS, _no_take_format, **options)
    return take


def read_rubric(path: str | PathLike[str] | None = None) -> Rubric:
    """Read a rubric; None: the one that comes with the package.

    Raises:
        RubricFault: the file cannot be used; one line says where and why.
    """
    module = import_module("linecheck.read.rubric")
    rubric: Rubric = module.read_rubric(None if path is None else checked_file(path, "rubric"))
    return rubric


def read_reference(path: str | PathLike[str]) -> ReferenceProfile:
    """Read a profile of reference lines, as ``linecheck reference --json FILE`` writes it.

    Raises:
        ReferenceFault: the file cannot be used; one line says where and why.
    """
    module = import_module("linecheck.read.reference_profile")
    profile: ReferenceProfile = module.read_reference_profile(checked_file(path, "reference"))
    return profile


def _read(
    file: Path,
    fault: type[InputFault],
    formats: dict[str, tuple[str, str]],
    no_format: Any,
    **options: Any,
) -> Any:
    check_file(file, fault)
    suffix = file.suffix.lower()
    kind = kind_of(file)
    if kind and suffix not in kind.suffixes and (suffix in formats or kind.rename in formats):
        raise fault(_misnamed(kind, suffix, formats), source=str(file), names=(suffix[1:],))
    if suffix not in formats:
        raise fault(no_format(suffix), source=str(file), names=(suffix[1:],))
    module, function = formats[suffix]
    reader = getattr(import_module(f"{__name__}.{module}"), function)
    try:
        return reader(file, **options)
    except InputFault as found:
        found.source = found.source or str(file)
        raise
    except Exception as error:  # whatever a parser trips over is a fault of the file, in one line
        problem = f"cannot be read as a {suffix} file: {type(error).__name__}: {error}"
        raise fault(problem, source=str(file), names=(str(error),)) from error


def _misnamed(kind: FileKind, suffix: str, formats: dict[str, tuple[str, str]]) -> str:
    if kind.rename in formats:
        called = f"is called {suffix}" if suffix else "has no suffix"
        return f"this is {kind.what}, and the file {called}; rename it to end in {kind.rename}"
    return f"this is {kind.what}; {_WHAT_IS_READ[formats is CHART_FORMATS]}"


def _no_chart_format(suffix: str) -> str:
    if suffix in TAKE_FORMATS:
        return (
            f"a {suffix} file is a take, and a chart was expected ({_either(CHART_FORMATS)}); "
            "where both are given, the chart comes first"
        )
    return f"{_named(suffix)}; a chart is {_either(CHART_FORMATS)}"


def _no_take_format(suffix: str) -> str:
    if suffix in CHART_FORMATS:
        return (
            f"a {suffix} file is a chart, and a take was expected ({_either(TAKE_FORMATS)}); "
            "where both are given, the chart comes first"
        )
    return f"{_named(suffix)}; a take is {_either(TAKE_FORMATS)}"


def _named(suffix: str) -> str:
    return f"a {suffix} file cannot be read" if suffix else "the file's name has no suffix"


def _either(formats: dict[str, tuple[str, str]]) -> str:
    *most, last = formats
    return f"{', '.join(most)} or {last}"
