"""The audits of all submissions: those that were kept, and the others by the workers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from linecheck.faults import ChartFault, InputFault, TakeFault
from linecheck.grade.kept_audits import stamp_of
from linecheck.grade.keys import content_hash, take_key
from linecheck.grade.terms import Refused, Submission
from linecheck.grade.work import CHANGED, Job
from linecheck.read.file_checks import check_file
from linecheck.read.file_names import shown_name
from linecheck.terms import Remark

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from pathlib import Path

    from linecheck.grade.anonymous import Hidden
    from linecheck.grade.kept_audits import KeptAudits, Stamp

__all__ = ["Found", "audit_all"]

NO_REASON = Remark("")


@dataclass(slots=True)
class Found:
    """A submission with the key of its audit, or the reason why there is none.

    ``job`` is the work from which its audit comes. ``hidden`` is what no text about it may hold.
    ``shown_key`` is what an anonymous book shows instead of the key, "" for the key itself.
    """

    submission: Submission
    key: str = ""
    reason: Remark = NO_REASON
    take_hash: str = ""
    job: Job | None = None
    hidden: Hidden | None = None
    shown_key: str = ""


def audit_all(
    rows: Sequence[Submission | Refused],
    folder: Path,
    kept: KeptAudits,
    *,
    jobs: int | None,
    cluster: object,
    progress: Callable[[int, int], None],
) -> tuple[list[Found], int]:
    """Have an audit of every submission, and how many of them were made now.

    Args:
        rows: the submissions.
        folder: the folder that is graded.
        kept: where audits are kept, and found.
        jobs: how many processes work at once.
        cluster: a cluster to work on.
        progress: is called with how many submissions are done, and how many there are.
    """
    found = [
        Found(row.submission, reason=row.reason) if isinstance(row, Refused) else Found(row)
        for row in rows
    ]
    todo = _Todo(found, folder, kept, send=cluster is not None)
    asked = todo.jobs()
    first = next(asked, None)
    audited = 0
    if first is not None:
        from linecheck.grade.workers import Workers  # noqa: PLC0415  (loads joblib)

        workers = Workers(jobs, cluster)
        try:
            progress(todo.done, len(found))
            reasons: dict[str, Remark] = {}
            for answer in workers.answers(_with(first, asked)):
                if answer.json:
                    kept.keep([(answer.key, answer.json)])
                else:
                    reasons[answer.key] = answer.reason
                audited += 1
                progress(todo.done + audited, len(found))
        finally:
            workers.close()
        for one in found:
            one.reason = one.reason or reasons.get(one.key, NO_REASON)
    kept.sync()
    progress(len(found), len(found))
    return found, audited


def _with(first: Job, others: Iterator[Job]) -> Iterator[Job]:
    yield first
    yield from others


class _Todo:
    """What is to be audited; ``done`` counts the submissions for which that is nothing."""

    def __init__(
        self, found: Sequence[Found], folder: Path, kept: KeptAudits, *, send: bool
    ) -> None:
        self.done = 0
        self._found = found
        self._folder = folder
        self._kept = kept
        self._send = send
        self._asked: set[str] = set()
        self._charts: dict[Path, tuple[Stamp, str] | Remark] = {}
        self._sent_charts: dict[str, bytes] = {}

    def jobs(self) -> Iterator[Job]:
        """The takes for which no audit is kept, each content once."""
        for one in self._found:
            job = None if one.reason else self._job(one)
            if job is None or job.key in self._kept or job.key in self._asked:
                self.done += 1
                continue
            if self._send:
                job = self._with_contents(job)
                if job is None:
                    one.reason = CHANGED
                    self.done += 1
                    continue
            self._asked.add(job.key)
            yield job

    def _job(self, one: Found) -> Job | None:
        """The job of a submission, whose key is noted; None where its files cannot be read."""
        submission = one.submission
        take, chart = submission.take, submission.chart
        assert take is not None  # noqa: S101  (else it is refused)
        assert chart is not None  # noqa: S101
        try:
            stamp, one.take_hash = self._content(take, TakeFault)
            if chart not in self._charts:
                try:
                    self._charts[chart] = self._content(chart, ChartFault)
                except InputFault as fault:
                    told = f"its chart {fault.problem}"
                    self._charts[chart] = Remark(told, names=fault.told_names)
        except InputFault as fault:
            one.reason = Remark(fault.problem, names=fault.told_names)
            return None
        of_chart = self._charts[chart]
        if isinstance(of_chart, Remark):
            one.reason = of_chart
            return None
        one.key = take_key(take, one.take_hash, chart, of_chart[1], submission.options)
        one.job = Job(
            key=one.key,
            take=take,
            take_hash=one.take_hash,
            take_stamp=stamp,
            chart=chart,
            chart_hash=of_chart[1],
            chart_stamp=of_chart[0],
            options=submission.options,
        )
        return one.job

    def _content(self, path: Path, fault: type[InputFault]) -> tuple[Stamp, str]:
        """Stamp and hash of a file, which is read only where it may have changed."""
        check_file(path, fault)
        name = shown_name(path, self._folder)
        try:
            stamp = stamp_of(path)
            known = self._kept.hash_of(name, stamp)
            if known is None:
                known = content_hash(path)
                self._kept.remember_hash(name, stamp, known)
        except OSError as error:
            raise fault(f"cannot be read: {error.strerror or error}") from None
        return stamp, known

    def _with_contents(self, job: Job) -> Job | None:
        """A job with the contents of its files; None where they were changed meanwhile."""
        from dataclasses import replace  # noqa: PLC0415
        from hashlib import sha256  # noqa: PLC0415

        try:
            take = job.take.read_bytes()
            if job.chart_hash not in self._sent_charts:
                self._sent_charts[job.chart_hash] = job.chart.read_bytes()
        except OSError:
            return None
        chart = self._sent_charts[job.chart_hash]
        for content, expected in ((take, job.take_hash), (chart, job.chart_hash)):
            if sha256(content).hexdigest() != expected:
                return None
        return replace(job, contents=(take, chart))
