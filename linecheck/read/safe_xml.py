"""XML from files that nobody vouches for: bytes in, an element tree out, or one clear fault.

A parser sees the bytes only after these checks. Declared entities are refused, whatever they
hold, and a document type's outer address is never fetched; a tree is at most ``MOST_DEPTH``
deep and ``MOST_ELEMENTS`` large; an archive (.mxl) is read in memory, at most ``MOST_ENTRIES``
entries, ``MOST_XML_BYTES`` unpacked and packed no tighter than ``MOST_RATIO`` to one.
Source: MusicXML 4.0 (W3C Community Group Report), "Compressed .MXL files" and the file's prologue.
"""

from __future__ import annotations

import io
import posixpath
import zipfile
import zlib
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element, TreeBuilder
from xml.parsers import expat

from linecheck.read.file_checks import MEBIBYTE, read_bytes

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from linecheck.faults import InputFault

MOST_XML_BYTES = 64 * MEBIBYTE
MOST_ENTRIES = 1000
MOST_RATIO = 400  # a long score of empty bars packs about 100 to one; a bomb 1000
SMALL_ENTRY = MEBIBYTE  # below this a tight packing harms nobody
MOST_DEPTH = 64  # a score nests about ten deep
MOST_ELEMENTS = 2_000_000  # 64 MiB of a real score hold about as many
ZIP_MAGIC = b"PK\x03\x04"
CONTAINER = "META-INF/container.xml"
SCORE_SUFFIXES = (".musicxml", ".xml")


def read_xml(path: Path, fault: type[InputFault]) -> Element:
    """The root element of a plain (.musicxml, .xml) or packed (.mxl) file.

    Raises:
        InputFault: of the kind ``fault``: no XML, no zip archive, or one that a check refuses.
    """
    content = read_bytes(path, fault)
    packed = path.suffix.lower() == ".mxl"
    if not packed and content.startswith(ZIP_MAGIC):
        raise fault(
            "is a zip archive, and XML text was expected; compressed MusicXML is named .mxl",
            source=str(path),
        )
    source = str(path)
    if not packed:
        return parse_xml(content, fault, source)
    name, xml = _score_of_archive(content, fault, source)
    return parse_xml(xml, fault, source, (name,))


def parse_xml(
    content: bytes, fault: type[InputFault], source: str, place: tuple[str, ...] = ()
) -> Element:
    """The root element of XML text, with the checks of this module."""
    try:
        return _tree(content, None, fault, source, place)
    except expat.ExpatError as error:
        # Some programs declare UTF-16 and write UTF-8: the bytes themselves then decide.
        if error.code != expat.errors.codes[expat.errors.XML_ERROR_INCORRECT_ENCODING]:
            raise _no_xml(error, content, fault, source, place) from None
    try:
        return _tree(content, "utf-8", fault, source, place)
    except expat.ExpatError as error:
        raise _no_xml(error, content, fault, source, place) from None


def _tree(
    content: bytes,
    encoding: str | None,
    fault: type[InputFault],
    source: str,
    place: tuple[str, ...],
) -> Element:
    parser = expat.ParserCreate(encoding)
    parser.buffer_text = True
    builder = TreeBuilder()
    depth = elements = 0

    def refuse(problem: str, *names: str) -> None:
        line = f"line {parser.CurrentLineNumber}"
        raise fault(problem, source=source, place=(*place, line), names=names)

    def start(tag: str, attributes: dict[str, str]) -> None:
        nonlocal depth, elements
        depth += 1
        elements += 1
        if depth > MOST_DEPTH:
            refuse(f"elements are nested more than {MOST_DEPTH} deep; a score needs about ten")
        if elements > MOST_ELEMENTS:
            refuse(f"more than {MOST_ELEMENTS} elements")
        builder.start(tag, attributes)

    def end(tag: str) -> None:
        nonlocal depth
        depth -= 1
        builder.end(tag)

    def entity(name: str, *_rest: object) -> None:
        refuse(f"declares the entity {name[:40]!r}; entities are never expanded, take it out")

    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = builder.data
    parser.EntityDeclHandler = entity
    try:
        parser.Parse(content, True)  # noqa: FBT003 - expat takes no keyword here
    except (LookupError, ValueError) as error:
        problem = f"declares an encoding that cannot be read: {error}; save it as UTF-8"
        refuse(problem, str(error))
    return builder.close()


def _no_xml(
    error: expat.ExpatError,
    content: bytes,
    fault: type[InputFault],
    source: str,
    place: tuple[str, ...],
) -> InputFault:
    reason = expat.errors.messages.get(error.code, "not XML")
    problem = f"is not well-formed XML: {reason}"
    if error.code == expat.errors.codes[expat.errors.XML_ERROR_NO_ELEMENTS]:
        problem += "; the file may be cut off"
    elif error.code == expat.errors.codes[expat.errors.XML_ERROR_INVALID_TOKEN]:
        problem = f"is not well-formed XML: a sign stands where none may{_encoding_slip(content)}"
    return fault(problem, source=source, place=(*place, f"line {error.lineno}"))


def _encoding_slip(content: bytes) -> str:
    try:
        content.decode("utf-8")
    except UnicodeDecodeError:
        return "; its bytes are not in the encoding that it declares (UTF-8 where none is)"
    return ""


# ---- archives --------------------------------------------------------------------------------


def _score_of_archive(content: bytes, fault: type[InputFault], source: str) -> tuple[str, bytes]:
    """Name and content of the score in an .mxl archive."""

    def refuse(problem: str, *place: str) -> InputFault:
        return fault(problem, source=source, place=place)

    if not content.startswith(ZIP_MAGIC):
        slip = "; XML text is named .musicxml" if content.lstrip()[:1] == b"<" else ""
        raise refuse(f"is not compressed MusicXML: no zip archive{slip}")
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            entries = {info.filename: info for info in archive.infolist()}
            if len(archive.infolist()) > MOST_ENTRIES:
                raise refuse(f"the archive holds more than {MOST_ENTRIES} entries")
            name = _score_name(archive, entries, refuse)
            return name, _unpacked(archive, entries[name], refuse)
    except (
        zipfile.BadZipFile,
        zlib.error,
        EOFError,
        OSError,
        ValueError,
        OverflowError,
        NotImplementedError,  # a packing method that is not known
        RuntimeError,  # an entry under a password
    ) as error:
        raise refuse(f"is not a sound zip archive: {error}; it may be cut off") from None


def _score_name(
    archive: zipfile.ZipFile,
    entries: dict[str, zipfile.ZipInfo],
    refuse: Callable[..., InputFault],
) -> str:
    """The entry that the container names first; without a container the first score."""
    if CONTAINER in entries:
        container = _unpacked(archive, entries[CONTAINER], refuse)
        probe = refuse("")
        root = parse_xml(container, type(probe), probe.source or "", (CONTAINER,))
        for file in root.iter():
            if file.tag.rpartition("}")[2] != "rootfile":
                continue
            name = file.get("full-path", "")
            if not _inside(name):
                raise refuse(f"names a score outside the archive, {name[:80]!r}", CONTAINER)
            if name not in entries:
                raise refuse(f"names the score {name[:80]!r}, which is not there", CONTAINER)
            return name
    for name in entries:
        if name.lower().endswith(SCORE_SUFFIXES) and not name.startswith("META-INF/"):
            return name
    raise refuse("the archive holds no score (.musicxml or .xml)")


def _inside(name: str) -> bool:
    return bool(name) and not (
        name.startswith(("/", "\\")) or ":" in name or ".." in posixpath.normpath(name).split("/")
    )


def _unpacked(
    archive: zipfile.ZipFile, info: zipfile.ZipInfo, refuse: Callable[..., InputFault]
) -> bytes:
    """One entry's content; sizes are checked as declared and again as they come out."""
    most = min(MOST_XML_BYTES, max(SMALL_ENTRY, info.compress_size * MOST_RATIO))
    if info.file_size <= most:
        with archive.open(info) as entry:
            content = entry.read(most + 1)
        if len(content) <= most:
            return content
    raise refuse(
        f"unpacks to more than {most / MEBIBYTE:.0f} MiB from {info.compress_size} bytes; "
        "this is no score",
        info.filename[:80],
    )
