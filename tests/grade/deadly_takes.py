"""Workers that die over a take: for tests, in place of ``audit_batch``."""

from __future__ import annotations

import os
import signal
from pathlib import Path

from linecheck.grade.work import Answer, Batch, audit_batch

DEADLY = b"deadly"


def _is_deadly(job) -> bool:
    content = job.contents[0] if job.contents else job.take.read_bytes()
    return content.startswith(DEADLY)


def die_always(batch: Batch) -> list[Answer]:
    """Die by a take that begins with ``DEADLY``."""
    if any(_is_deadly(job) for job in batch.jobs):
        os.kill(os.getpid(), signal.SIGKILL)
    return audit_batch(batch)


def die_once(batch: Batch) -> list[Answer]:
    """Die by such a take the first time; it says where to note that."""
    for job in batch.jobs:
        if _is_deadly(job):
            content = job.contents[0] if job.contents else job.take.read_bytes()
            noted = Path(content.splitlines()[1].decode())
            if not noted.exists():
                noted.write_text(str(os.getpid()))
                os.kill(os.getpid(), signal.SIGKILL)
    return audit_batch(batch)
