"""The checks that every file passes before its reader looks inside.

A file that is missing, a directory, no regular file, empty, unreadable, larger than a format's
limit, or (for text) not UTF-8, is a fault of the kind that the caller names. Sizes are in bytes.
"""

from __future__ import annotations

from stat import S_ISDIR, S_ISREG
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

    from linecheck.faults import InputFault

MEBIBYTE = 1 << 20
MOST_BYTES = 32 * MEBIBYTE  # a score or a MIDI file of an evening's playing is below 5


def check_file(path: Path, fault: type[InputFault], most_bytes: int | None = None) -> None:
    """Raise ``fault`` unless ``path`` is a regular file that holds something."""
    source = str(path)
    try:
        status = path.stat()
    except FileNotFoundError:
        raise fault("no such file", source=source) from None
    except (OSError, ValueError) as error:  # ValueError: a name with a NUL in it
        raise fault(f"cannot be opened: {_reason(error)}", source=source) from None
    if S_ISDIR(status.st_mode):
        raise fault("is a directory; a file was expected", source=source)
    if not S_ISREG(status.st_mode):
        raise fault("is not a regular file", source=source)
    if status.st_size == 0:
        raise fault(
            "is empty; perhaps it was not saved or not copied to the end: save or export it again",
            source=source,
        )
    if most_bytes is not None and status.st_size > most_bytes:
        raise fault(_too_large(most_bytes), source=source)


def read_bytes(path: Path, fault: type[InputFault], most_bytes: int = MOST_BYTES) -> bytes:
    """The content of a file that passes the checks; ``fault`` for any other."""
    check_file(path, fault, most_bytes)
    try:
        with path.open("rb") as file:
            content = file.read(most_bytes + 1)
    except OSError as error:
        raise fault(f"cannot be read: {_reason(error)}", source=str(path)) from None
    if len(content) > most_bytes:  # it may have grown since the check
        raise fault(_too_large(most_bytes), source=str(path))
    return content


def read_text(path: Path, fault: type[InputFault], most_bytes: int = MOST_BYTES) -> str:
    """The text of a file in UTF-8, without a byte order mark, its lines ended by LF alone."""
    content = read_bytes(path, fault, most_bytes)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise fault(
            f"is not text in UTF-8: byte 0x{content[error.start]:02X} cannot be read; "
            "save it as UTF-8",
            source=str(path),
            place=(f"line {line}",),
        ) from None
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _too_large(most_bytes: int) -> str:
    return f"is too large: at most {most_bytes / MEBIBYTE:g} MiB is read"


def _reason(error: Exception) -> str:
    return (error.strerror if isinstance(error, OSError) else None) or str(error)
