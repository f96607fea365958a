"""kept audits: what was found of every take, in a folder that survives being killed.

Every run writes a file of its own, in which lines are only ever added, and reads those of all
others. A line holds one record whole and a checksum of it; one that was cut off by a kill, or is
still being written by another run, does not count. So there is nothing to lock, also on a network
drive, and nothing to repair: runs at once at worst audit the same take twice and find the same.

    a <key> <crc32> <JSON>      the findings of a take, or why it was refused
    f <crc32> <JSON>            the content of a file: [name, size and times, hash]

A file of the class is trusted to hold what it held when its size, its times and its number on the
disk are the same; it is then not read again.
"""

from __future__ import annotations

import json
import os
import secrets
import threading
import time
from contextlib import contextmanager
from typing import TYPE_CHECKING, BinaryIO
from zlib import crc32

from linecheck.faults import OutputFault
from linecheck.output_files import refused

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

__all__ = ["KeptAudits", "Stamp", "stamp_of"]

SUFFIX = ".audits"
SYNC_AFTER_S = 5.0
MOST_OPEN = 16
# A file that was changed just before it was read may change again within one tick of its clock.
COARSE_TICK_S, FINE_TICK_S = 3.0, 0.05
Stamp = tuple[int, int, int, int]


def stamp_of(path: Path) -> Stamp:
    """What tells whether a file was changed: size, times in ns, and its number on the disk.

    Raises:
        OSError: it is not there.
    """
    found = path.stat()
    return found.st_size, found.st_mtime_ns, found.st_ctime_ns, found.st_ino


class KeptAudits:
    """The kept audits of one folder; without a folder they are kept in memory alone.

    Raises:
        OutputFault: the folder cannot be made, read or written in.
    """

    def __init__(self, folder: Path | None) -> None:
        self._folder = folder
        self._places: dict[str, tuple[int, int, int]] = {}  # key → file, offset, length
        self._payloads: dict[str, bytes] = {}  # without a folder
        self._hashes: dict[str, tuple[Stamp, str]] = {}
        self._paths: list[Path] = []
        self._readers: dict[int, BinaryIO] = {}
        self._reading = 0
        self._own: BinaryIO | None = None
        self._own_number = -1
        self._own_size = 0
        self._synced = time.monotonic()
        self._lock = threading.RLock()  # the work is handed out by another thread than it is kept
        if folder is None:
            return
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as fault:
            raise refused(fault, folder) from fault
        try:
            for path in sorted(folder.glob(f"*{SUFFIX}")):
                self._load(path)
        except OSError as fault:
            raise OutputFault(f"cannot be read: {fault.strerror}", source=str(folder)) from fault

    def _load(self, path: Path) -> None:
        number, offset = len(self._paths), 0
        self._paths.append(path)
        with path.open("rb") as file:
            for line in file:
                self._load_line(line, number, offset)
                offset += len(line)

    def _load_line(self, line: bytes, number: int, offset: int) -> None:
        if not line.endswith(b"\n"):
            return  # cut off
        kind, _, rest = line[:-1].partition(b" ")
        if kind == b"a":
            key, check, payload = (*rest.split(b" ", 2), b"", b"")[:3]
            if check == _check(payload):
                begins = offset + len(line) - 1 - len(payload)
                self._places[key.decode("ascii", "replace")] = (number, begins, len(payload))
        elif kind == b"f":
            check, _, payload = rest.partition(b" ")
            if check == _check(payload):
                name, stamp, found = json.loads(payload)
                self._hashes[name] = (tuple(stamp), found)

    # ---- audits ------------------------------------------------------------------------------

    def __contains__(self, key: str) -> bool:
        return key in self._places or key in self._payloads

    def get(self, key: str) -> bytes | None:
        """The JSON that was kept under a key; None where nothing was."""
        if key in self._payloads:
            return self._payloads[key]
        with self._lock:
            if key not in self._places:
                return None
            number, offset, length = self._places[key]
            file = self._readers.get(number)
            if file is not None:
                file.seek(offset)
                return file.read(length)
            file = self._paths[number].open("rb")
            if self._reading and len(self._readers) < MOST_OPEN:
                self._readers[number] = file
                file.seek(offset)
                return file.read(length)
            with file:
                file.seek(offset)
                return file.read(length)

    @contextmanager
    def reading(self) -> Iterator[None]:
        """While many keys are asked for: the files stay open."""
        self._reading += 1
        try:
            yield
        finally:
            self._reading -= 1
            if not self._reading:
                self._close_readers()

    def _close_readers(self) -> None:
        with self._lock:
            for file in self._readers.values():
                file.close()
            self._readers.clear()

    def keep(self, found: Iterable[tuple[str, str]]) -> None:
        """Keep the JSON of some keys; each is kept whole or not at all.

        Raises:
            OutputFault: it cannot be written (a full disk, a lost right).
        """
        with self._lock:
            lines, places, at = [], [], self._own_size
            for key, text in found:
                payload = text.encode("ascii")
                if self._folder is None:
                    self._payloads[key] = payload
                    continue
                line = b"a %s %s %s\n" % (key.encode("ascii"), _check(payload), payload)
                at += len(line)
                places.append((key, at - 1 - len(payload), len(payload)))
                lines.append(line)
            if lines:
                self._append(b"".join(lines))
                for key, offset, length in places:
                    self._places[key] = (self._own_number, offset, length)

    # ---- the content of files ----------------------------------------------------------------

    def hash_of(self, name: str, stamp: Stamp) -> str | None:
        """The hash of a file that was not changed since it was read; None where that is unknown."""
        known = self._hashes.get(name)
        return known[1] if known and known[0] == stamp else None

    def remember_hash(self, name: str, stamp: Stamp, found: str) -> None:
        """Remember the hash of a file, unless it was changed so lately that it may be again."""
        changed_ns = max(stamp[1], stamp[2])
        tick = COARSE_TICK_S if changed_ns % 1_000_000_000 == 0 else FINE_TICK_S
        if time.time() - changed_ns / 1e9 < tick:
            return
        self._hashes[name] = (stamp, found)
        if self._folder is not None:
            payload = json.dumps((name, stamp, found), separators=(",", ":")).encode("ascii")
            self._append(b"f %s %s\n" % (_check(payload), payload))

    # ---- the own file ------------------------------------------------------------------------

    def _append(self, lines: bytes) -> None:
        assert self._folder is not None  # noqa: S101  (the callers see to it)
        with self._lock:
            try:
                if self._own is None:
                    path = self._folder / f"{secrets.token_hex(8)}{SUFFIX}"
                    self._own = path.open("xb", buffering=0)
                    self._own_number = len(self._paths)
                    self._paths.append(path)
                written = self._own.write(lines)
                if time.monotonic() - self._synced > SYNC_AFTER_S:
                    self._sync()
            except OSError as fault:
                raise refused(fault, self._folder) from fault
            if written != len(lines):
                raise OutputFault("cannot write: the disk is full", source=str(self._folder))
            self._own_size += written

    def _sync(self) -> None:
        if self._own is not None:
            os.fsync(self._own.fileno())
        self._synced = time.monotonic()

    def sync(self) -> None:
        """Have all that was kept on the disk, also if the power goes."""
        with self._lock:
            try:
                self._sync()
            except OSError as fault:
                assert self._folder is not None  # noqa: S101  (it has a file)
                raise refused(fault, self._folder) from fault

    def close(self) -> None:
        """Close all files; what was kept can still be had."""
        self._close_readers()
        with self._lock:
            if self._own is not None:
                self._own.close()
                self._own = None
                self._own_size = 0


def _check(payload: bytes) -> bytes:
    return b"%08x" % crc32(payload)
