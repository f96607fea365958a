"""The work of one worker: takes audited one after the other, each for itself.

Whatever is wrong with one take becomes its reason. Of an audit its findings are handed back as
JSON; so is a reason that follows from the content of the files, and may be kept. What does not
follow from it (a file that changed meanwhile, a fault of this program) is tried again next time.
"""

from __future__ import annotations

import gc
import json
import os
import tempfile
import threading
import time
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from linecheck.faults import ChartFault, InputFault, OptionFault
from linecheck.grade.kept_audits import Stamp, stamp_of
from linecheck.grade.keys import content_hash, program_fingerprint
from linecheck.terms import Remark

if TYPE_CHECKING:
    from linecheck.grade.anonymous import Hidden
    from linecheck.grade.terms import TakeOptions
    from linecheck.terms import Chart, Rubric

__all__ = [
    "Answer",
    "Batch",
    "Job",
    "ReportOrder",
    "audit_batch",
    "begin_worker",
    "chart_of",
    "is_unchanged",
    "own_fault",
    "reason_of",
    "told",
]

CHANGED = Remark("it was changed while it was being read; grade once more")
OTHER_PROGRAM = Remark("the worker runs another version of linecheck; install the same one there")


@dataclass(frozen=True, slots=True)
class Job:
    """One take to audit, or to report on. The stamps say for which state of its files.

    ``contents`` are those of take and chart, for a worker that does not see the files.
    ``report`` is the report that is asked for.
    """

    key: str
    take: Path
    take_hash: str
    take_stamp: Stamp
    chart: Path
    chart_hash: str
    chart_stamp: Stamp
    options: TakeOptions
    contents: tuple[bytes, bytes] | None = None
    report: ReportOrder | None = None


@dataclass(frozen=True, slots=True)
class ReportOrder:
    """A report that is asked for: where it goes, and what it shows of the submission.

    ``student`` is what stands at its head: the name or pseudonym, and the class.
    """

    file: Path
    rubric: Rubric
    take_name: str
    chart_name: str
    hidden: Hidden | None
    student: str = ""


@dataclass(frozen=True, slots=True)
class Batch:
    """Jobs that go to a worker together.

    ``program`` is the fingerprint of the program that asks.
    """

    jobs: tuple[Job, ...]
    program: str


@dataclass(frozen=True, slots=True)
class Answer:
    """What became of a job: JSON to keep, or a reason that holds only for now."""

    key: str
    json: str = ""
    reason: Remark = Remark("")  # noqa: RUF009  (it is frozen)


def audit_batch(batch: Batch) -> list[Answer]:
    """Audit the takes of a batch."""
    if batch.program != program_fingerprint():
        return [Answer(job.key, reason=OTHER_PROGRAM) for job in batch.jobs]
    return [_audit_here(job) if job.contents is None else _audit_sent(job) for job in batch.jobs]


def reason_of(kept: bytes, where: str = "") -> Remark | None:
    """Why a take was refused, from the JSON that was kept of it; None where it was not.

    Args:
        kept: the JSON.
        where: the row that the take is in, which is told where a cell of it is at fault.
    """
    if kept.startswith(b'{"refused":'):
        told = json.loads(kept)
        text, *names = told["refused"]
        of_row = f"{where}: " if where and told.get("option") else ""
        return Remark(f"{of_row}{text}", names=tuple(names))
    return None


def told(fault: InputFault) -> Remark:
    """A fault in one line, without the file that it is in."""
    return Remark(str(InputFault(fault.problem, place=fault.place)), names=fault.told_names)


def own_fault(fault: Exception) -> Remark:
    """A fault of this program in one line; nobody knows what of it comes from a file."""
    said = str(fault)
    text = f"a fault of linecheck: {type(fault).__name__}: {said}"
    return Remark(text, names=(said,) if said else ())


def begin_worker(parent: int) -> None:
    """Begin a worker process of this machine: one that ends with ``parent``, also if that is killed."""
    gc.set_threshold(200_000)  # an audit has no reference cycles

    def watch() -> None:
        while os.getppid() == parent:
            time.sleep(0.5)
        os._exit(1)

    if os.name == "posix":
        threading.Thread(target=watch, daemon=True).start()


def _audit_here(job: Job) -> Answer:
    """Audit files that lie here; they count only if they are still what the key stands for."""
    answer = _audit(job, job.take, job.chart)
    return answer if is_unchanged(job) else Answer(job.key, reason=CHANGED)


def is_unchanged(job: Job) -> bool:
    """Whether the files are still in the state that the job is for."""
    try:
        return stamp_of(job.take) == job.take_stamp and stamp_of(job.chart) == job.chart_stamp
    except OSError:
        return False


def _audit_sent(job: Job) -> Answer:
    """Audit files that were sent here."""
    assert job.contents is not None  # noqa: S101  (the caller sees to it)
    with tempfile.TemporaryDirectory(prefix="linecheck-") as folder:
        take = Path(folder) / f"take{job.take.suffix.lower()}"
        chart = Path(folder) / "chart" / job.chart.name
        chart.parent.mkdir()
        take.write_bytes(job.contents[0])
        chart.write_bytes(job.contents[1])
        return _audit(job, take, chart)


def _audit(job: Job, take: Path, chart: Path) -> Answer:
    from linecheck import steps  # noqa: PLC0415  (only a worker needs it)
    from linecheck.grade.findings import findings_of, write_findings  # noqa: PLC0415

    options = job.options
    try:
        found = steps.audit(
            chart_of(job, chart),
            take,
            key=options.key,
            rubric=_rubric(),
            track=options.track,
            tempo=options.tempo,
            first_beat_one=options.first_beat_one,
            click=options.click,
        )
        return Answer(job.key, json=write_findings(findings_of(found)))
    except InputFault as fault:
        reason = _reason(fault)
        told: dict[str, object] = {"refused": [reason, *reason.names]}
        if isinstance(fault, OptionFault):
            told["option"] = True
        return Answer(job.key, json=json.dumps(told))
    except MemoryError:
        return Answer(job.key, reason=Remark("there was not enough memory to audit it"))
    except Exception as fault:  # noqa: BLE001  (one take never stops the others)
        return Answer(job.key, reason=own_fault(fault))


def _reason(fault: InputFault) -> Remark:
    """A fault in one line, which says whether it is in the chart."""
    reason = told(fault)
    is_of_chart = isinstance(fault, ChartFault)
    return Remark(f"its chart: {reason}", names=reason.names) if is_of_chart else reason


_CHARTS: dict[tuple[str, str], Chart] = {}
_MOST_CHARTS = 64


def chart_of(job: Job, path: Path) -> Chart:
    """The chart of a job, read once for all jobs of this worker."""
    name = (job.chart_hash, path.name)
    chart = _CHARTS.get(name)
    if chart is None:
        from linecheck.steps import read_chart  # noqa: PLC0415

        chart = read_chart(path)
        if content_hash(path) == job.chart_hash:  # else it was changed, and the job will say so
            if len(_CHARTS) >= _MOST_CHARTS:
                _CHARTS.clear()
            _CHARTS[name] = chart
    return chart


@lru_cache(maxsize=1)
def _rubric() -> Rubric:
    """Any rubric: it weighs nothing that is kept."""
    from linecheck.steps import read_rubric  # noqa: PLC0415

    return read_rubric(None)
