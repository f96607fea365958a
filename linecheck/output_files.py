"""Where results are written: checked before the work begins, written whole or not at all.

A file is written beside its place and then renamed, so that a reader finds the old file or the
new one and never half of one. ``-`` is standard output, which one option may have.
"""

from __future__ import annotations

import errno
import glob
import os
import stat
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from linecheck.faults import OutputFault

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = [
    "NO_RIGHT",
    "STDOUT",
    "Outputs",
    "file_bytes",
    "may_be_written",
    "refused",
    "write_whole",
]

STDOUT = "-"
# It has these names too, under which it may be a pipe or a file that others write on in.
CALLED_STDOUT = frozenset((STDOUT, "/dev/stdout", "/dev/fd/1", "/proc/self/fd/1"))
NO_RIGHT = "no right to write there"
_NO_RIGHT = (errno.EACCES, errno.EPERM, errno.EROFS)


class Outputs:
    """The files that a command was asked to write.

    Args:
        files: option name → file as the user gave it.
        inputs: the files that the command reads; none of them is ever overwritten.

    Raises:
        OutputFault: two options for one place, a place that is an input, a folder that is not
            there, or one that cannot be written in.

    Attributes:
        to_stdout: the option that has standard output, or None.
    """

    def __init__(self, files: dict[str, str], inputs: list[str]) -> None:
        self._paths: dict[str, Path] = {}
        self.to_stdout: str | None = None
        for option, file in files.items():
            if file in CALLED_STDOUT:
                if self.to_stdout is not None:
                    raise OutputFault(
                        f"--{self.to_stdout} and --{option} both ask for standard output; "
                        "only one of them can have it"
                    )
                self.to_stdout = option
                continue
            path = _checked(option, file)
            for other, taken in self._paths.items():
                if _same(path, taken):
                    raise OutputFault(f"--{other} and --{option} name the same file", source=file)
            for name in inputs:
                if _same(path, Path(name)):
                    raise OutputFault(
                        f"--{option} would overwrite the input {name}; name another file",
                        source=file,
                    )
            self._paths[option] = path

    def write(self, texts: Mapping[str, str | bytes]) -> None:
        """Write the text (or the bytes) of every option that names a file; all of them, or none.

        Raises:
            OutputFault: a file could not be written (a full disk, a lost right).
        """
        beside: list[tuple[Path, Path]] = []
        try:
            for option, path in self._paths.items():
                content = texts[option]
                _put(file_bytes(content), path, beside)
            for made, path in beside:
                made.replace(path)
        except OSError as fault:
            raise refused(fault, path) from fault
        finally:
            for made, _ in beside:
                made.unlink(missing_ok=True)


def file_bytes(content: str | bytes) -> bytes:
    """The bytes of a file: text is UTF-8, whatever a terminal shows."""
    if isinstance(content, bytes):
        return content
    # A lone surrogate (a file name that is no UTF-8) becomes its JSON escape.
    return content.encode("utf-8", errors="backslashreplace")


def write_whole(path: Path, content: str | bytes) -> None:
    """Write one file whole or not at all; several processes may write it at once.

    Raises:
        OutputFault: it could not be written.
    """
    data = file_bytes(content)
    try:
        for part in path.parent.glob(f".{glob.escape(path.name[:40])}.*.part"):
            _clear_away(part)
        while not _written(path, data):
            pass
    except OSError as fault:
        raise refused(fault, path) from fault


def refused(fault: OSError, place: Path) -> OutputFault:
    """What the system refused to write, or to make, in the one way that it is said."""
    if fault.errno in _NO_RIGHT:
        return OutputFault(NO_RIGHT, source=str(place))
    return OutputFault(f"cannot write: {fault.strerror}", source=str(place))


def may_be_written(place: Path) -> bool:
    """Whether there is a right to write a file or folder, or to make it where it is not there."""
    while not place.exists() and place != place.parent:
        place = place.parent
    return os.access(place, os.W_OK)


def _written(path: Path, data: bytes) -> bool:
    """Write beside the place and rename; false where another process took it for a left-over."""
    made = path.with_name(f".{path.name[:40]}.{os.urandom(8).hex()}.part")
    try:
        with made.open("xb") as file:
            if not _locked(file):
                return False
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
            if os.name == "posix":  # while it is locked; elsewhere an open file is not renamed
                made.replace(path)
        if os.name != "posix":
            made.replace(path)
    except FileNotFoundError:
        if not path.parent.is_dir():
            raise
        return False
    except OSError:
        made.unlink(missing_ok=True)
        raise
    return True


def _clear_away(part: Path) -> None:
    """Remove what a process left that was killed while it wrote: nobody locks it any more."""
    try:
        with part.open("rb") as file:
            if os.name == "posix" and _locked(file):
                part.unlink(missing_ok=True)
    except OSError:  # it is another's, or gone
        return


def _locked(file: BinaryIO) -> bool:
    """Lock a file as long as this process lives; false where another has locked it."""
    if os.name != "posix":
        return True
    import fcntl  # noqa: PLC0415  (there is none elsewhere)

    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError:  # a drive without locks
        return True
    return True


def _checked(option: str, file: str) -> Path:
    path = Path(file)
    if not file or "\0" in file:
        raise OutputFault(f"--{option} needs the name of a file, or {STDOUT} for standard output")
    if path.is_dir():
        raise OutputFault(f"--{option}: it is a folder; name a file in it", source=file)
    folder = path.parent
    if not folder.is_dir():
        raise OutputFault(f"--{option}: there is no folder {folder}; make it first", source=file)
    if not os.access(path if path.exists() else folder, os.W_OK):
        raise OutputFault(f"--{option}: {NO_RIGHT}", source=file)
    return path


def _same(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except (OSError, ValueError):  # one of them is not there (yet)
        return os.path.realpath(one) == os.path.realpath(other)


def _put(content: bytes, path: Path, beside: list[tuple[Path, Path]]) -> None:
    """Write beside the place; straight into it where it is a pipe or a device."""
    if path.exists() and not path.is_file():  # asked of the name: that of a pipe leads nowhere
        path.write_bytes(content)
        return
    real = Path(os.path.realpath(path))
    made = real.with_name(f".{real.name[:40]}.{os.getpid()}.part")
    made.unlink(missing_ok=True)  # left by a process that was killed
    with made.open("xb") as file:  # a new file, with the rights of any new file
        beside.append((made, real))
        file.write(content)
    if real.exists():
        made.chmod(stat.S_IMODE(real.stat().st_mode))
