"""What a file is by its first bytes, whatever it is called: one table for charts and takes.

A suffix that promises something else is a slip that can be named: the file has to be renamed, or it
is no chart and no take at all. Text that begins like none of these is left to its reader.
Sources: the formats' own standards for MIDI, RIFF, PDF, ZIP, Ogg, FLAC, MPEG, ISO media, PNG, JPEG,
GIF, TIFF and OLE; ABC 2.1, section 2.2; MusicXML 4.0, the roots of a score.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from pathlib import Path

LOOKED_AT = 4096  # bytes; the document type of a score stands in its first lines
XML = (".musicxml", ".xml")
HEARD = (".wav", ".flac", ".ogg", ".mp3", ".m4a")  # by content, whichever of these it is called
MIDI = (".mid", ".midi", ".smf")


class FileKind(NamedTuple):
    """How files of a kind begin, what they are, what they may be called, and should be called.

    ``rename`` is "" where a new name would not help.
    """

    begins: str
    what: str
    suffixes: tuple[str, ...] = ()
    rename: str = ""


_BLANK = r"(?:\xef\xbb\xbf)?\s*"
_ZIP = r"PK\x03\x04.{26}"  # then the name of the first entry
# The first that fits; the most frequent first, for a pattern costs more to compile than to try.
KINDS = (
    FileKind(r"MThd|RIFF....RMID", "a MIDI file", MIDI, ".mid"),
    FileKind(
        rf"{_BLANK}(?:#[^\n]*\n\s*)*(?:title|key) *= *[\"']", "a chart in TOML", (".toml",), ".toml"
    ),
    FileKind(r"RIFF....WAVE", "a WAV recording", HEARD, ".wav"),
    FileKind(r"fLaC", "a FLAC recording", HEARD, ".flac"),
    FileKind(r"OggS", "an Ogg recording", HEARD, ".ogg"),
    FileKind(r"ID3|\xff[\xe2\xe3\xf2\xf3\xfa\xfb]", "an MP3 recording", HEARD, ".mp3"),
    FileKind(r"....ftyp(?:hei|mif|avif)", "a picture"),
    FileKind(r"....ftypM4[AB]", "an M4A recording", (".m4a",), ".m4a"),
    FileKind(r"....ftyp", "a film, or a recording in its format", (".m4a",)),
    FileKind(r"FORM....AIF", "an AIFF recording"),
    FileKind(r"\x89PNG|\xff\xd8\xff|GIF8|RIFF....WEBP|II\*\0|MM\0\*|BM....\0{4}", "a picture"),
    FileKind(r"%PDF", "a PDF"),
    FileKind(
        rf"\xd0\xcf\x11\xe0|\{{\\rtf|{_ZIP}(?:\[Content_Types|_rels/|docProps/|word/|xl/|ppt/)"
        rf"|{_ZIP}mimetypeapplication/vnd\.oasis",
        "a document of an office program",
    ),
    FileKind(
        rf"{_ZIP}(?:META-INF/|mimetypeapplication/vnd\.recordare|[^\0]{{1,99}}\.(?:music)?xml)",
        "compressed MusicXML",
        (".mxl",),
        ".mxl",
    ),
    FileKind(r"PK\x03\x04", "a zip archive", (".mxl",)),
    FileKind(r"PK\x05\x06|\x1f\x8b|7z\xbc\xaf|Rar!", "an archive"),
    FileKind(
        rf"{_BLANK}(?:<\?xml[^>]*>\s*)?<(?i:!doctype\s+)?(?i:html)\b",
        "a web page (it was saved in place of the file)",
    ),
    FileKind(rf"{_BLANK}<(?:.*<)?(?:!DOCTYPE )?score-(?:part|time)wise\b", "MusicXML", XML, XML[0]),
    FileKind(rf"{_BLANK}<\?xml", "XML", XML),
    FileKind(rf"{_BLANK}(?:%abc|X:\s*\d)", "ABC", (".abc",), ".abc"),
)


def kind_of(file: Path) -> FileKind | None:
    """The kind of a file by how it begins; None: one that is not known, or that cannot be read."""
    try:
        with file.open("rb") as opened:
            begin = opened.read(LOOKED_AT)
    except OSError:
        return None  # its reader says why
    text = begin.decode("latin-1")  # byte for byte
    return next((kind for kind in KINDS if re.match(kind.begins, text, re.DOTALL)), None)
