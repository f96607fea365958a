"""What grading writes beside its tables, and how it knows these files for its own later.

Of every file a hash of its name, its content and the folder that was graded is kept with the
audits. A page of an earlier run on the same folder under a name that is no longer used is removed
where it is as it was written; one that was changed since, that belongs to another folder with the
same results, or that grading never wrote, stays.
"""

from __future__ import annotations

import hashlib
import json
import os
from contextlib import suppress
from typing import TYPE_CHECKING

from linecheck.grade.keys import content_hash
from linecheck.output_files import write_whole

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from linecheck.grade.kept_audits import KeptAudits

__all__ = ["WrittenFiles"]


class WrittenFiles:
    """The files of one folder of results.

    Args:
        folder: the folder.
        kept: where it is kept which files were written.
        graded: the folder that was graded.
    """

    def __init__(self, folder: Path, kept: KeptAudits, graded: Path) -> None:
        self._folder = folder
        self._graded = _way(folder.resolve(), graded.resolve())
        self._kept = kept
        self._used: set[Path] = set()

    def write(self, path: Path, text: str) -> None:
        """Write a file of this run, whole or not at all.

        Raises:
            OutputFault: it could not be written.
        """
        content = text.encode("utf-8", "backslashreplace")
        self.note(path, hashlib.sha256(content).hexdigest())
        write_whole(path, content)

    def note(self, path: Path, hash_of_content: str) -> None:
        """Note a file of this run that is written elsewhere, by the SHA-256 of its content."""
        self._used.add(path)
        key = self._key(path, hash_of_content)
        if key not in self._kept:
            self._kept.keep([(key, '{"written":true}')])

    def still_used(self, paths: Iterable[Path]) -> None:
        """Let files of earlier runs stay that belong to what was graded now."""
        self._used.update(paths)

    def clear_away(self, *patterns: str) -> None:
        """Remove what earlier runs wrote under other names than this one, and nobody changed."""
        for pattern in patterns:
            for path in sorted(self._folder.glob(pattern)):
                # One that is in use by another program stays, until the next run.
                with suppress(OSError):
                    if path not in self._used and self._key(path, content_hash(path)) in self._kept:
                        path.unlink()

    def _key(self, path: Path, hash_of_content: str) -> str:
        name = path.relative_to(self._folder).as_posix()
        meaning = json.dumps(("written", self._graded, name, hash_of_content))
        return hashlib.sha256(meaning.encode()).hexdigest()


def _way(results: Path, graded: Path) -> str:
    """The graded folder as seen from the results: the same when both are moved together."""
    try:
        return os.path.relpath(graded, results)
    except ValueError:  # on another drive
        return str(graded)
