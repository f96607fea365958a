"""The workers: all cores of this machine, or those of a cluster, through joblib.

A worker that dies (out of memory, a crash of a library) takes those takes with it that were just
being worked on. They are then tried one at a time: the one with which a worker dies again is
refused, and the others lose nothing.
"""

from __future__ import annotations

import os
import threading
from itertools import islice
from typing import TYPE_CHECKING, Any

from linecheck.faults import OptionFault
from linecheck.grade.keys import program_fingerprint
from linecheck.grade.work import Answer, Batch, Job, audit_batch, begin_worker
from linecheck.terms import Remark

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

__all__ = ["Workers"]

ROUND = 4096  # takes; then the workers are started anew, whatever a library may have leaked
DIED = Remark("the process that audited it died; it may need more memory than there is")
CLUSTER_WAIT_S = 10


class Workers:
    """Workers to audit takes.

    Args:
        jobs: how many processes; None: one a core. 1 is this very process.
        cluster: address of a Dask scheduler, or a ``distributed.Client``; None: this machine.

    Raises:
        OptionFault: there is no cluster at the address, or Dask is not installed.
    """

    def __init__(self, jobs: int | None, cluster: object = None) -> None:
        import joblib  # noqa: PLC0415  (only grading needs it)

        self._joblib = joblib
        self._work: Callable[[Batch], list[Answer]] = audit_batch
        self._client: Any = None if cluster is None else _client(cluster)
        self._own_client = self._client is not None and self._client is not cluster
        if self._client is not None:
            jobs = sum(self._client.ncores().values())
        self.jobs = max(1, jobs or joblib.cpu_count())

    @property
    def see_files(self) -> bool:
        """Whether the workers see the files of this machine."""
        return self._client is None

    def answers(
        self,
        jobs: Iterable[Job],
        work: Callable[[Batch], list[Answer]] | None = None,
    ) -> Iterator[Answer]:
        """Have all jobs done; the answers come as they are there, in any order.

        Args:
            jobs: the jobs, each with a key of its own; they are asked for while others are being
                worked on, by another thread.
            work: what is done with a batch of them; None: their takes are audited.
        """
        self._work = work or audit_batch
        source = _Source(jobs)
        working: dict[str, Job] = {}  # handed out and not answered
        while not source.is_empty:
            try:
                for answers in self._run(self._batches(source, working)):
                    for answer in answers:
                        working.pop(answer.key, None)
                        yield answer
            except self._died():
                pass
            while working:
                key, job = next(iter(working.items()))
                answer = self._alone(job)
                working.pop(key)
                yield answer
            self._start_anew()

    def _batches(self, source: _Source, working: dict[str, Job]) -> Iterator[Batch]:
        """A take at a time: each is kept as soon as it is there, and handing it out costs little."""
        for _ in range(ROUND):
            jobs = source.take(1)
            if not jobs:
                return
            working.update((job.key, job) for job in jobs)
            yield Batch(jobs, program_fingerprint())

    def _run(self, batches: Iterable[Batch]) -> Iterator[list[Answer]]:
        settings: dict[str, Any] = (
            {"backend": _cluster_backend(self._client)}
            if self._client is not None
            else {
                "backend": "loky",
                "inner_max_num_threads": 1,
                "initializer": begin_worker,
                "initargs": (os.getpid(),),
            }
        )
        with self._joblib.parallel_config(**settings, n_jobs=self.jobs):
            parallel = self._joblib.Parallel(
                return_as="generator_unordered", batch_size=1, max_nbytes=None
            )
        audited = self._joblib.delayed(self._work)
        yield from parallel(audited(batch) for batch in batches)

    def _alone(self, job: Job) -> Answer:
        """Audit one take while no other is being worked on."""
        try:
            ((answer,),) = self._run([Batch((job,), program_fingerprint())])
        except self._died():
            return Answer(job.key, reason=DIED)
        return answer

    def _died(self) -> tuple[type[Exception], ...]:
        from joblib.externals.loky.process_executor import BrokenProcessPool  # noqa: PLC0415

        if self._client is None:
            return (BrokenProcessPool,)
        from distributed import KilledWorker  # noqa: PLC0415

        return (BrokenProcessPool, KilledWorker)

    def _start_anew(self) -> None:
        """End the workers of this machine; new ones are started when they are needed."""
        if self._client is None and self.jobs > 1:
            from joblib.externals.loky import get_reusable_executor  # noqa: PLC0415

            get_reusable_executor().shutdown(wait=True)

    def close(self) -> None:
        """End the workers of this machine, leave a cluster."""
        self._start_anew()
        if self._own_client:
            self._client.close()


def _cluster_backend(client: Any) -> Any:
    """The backend of joblib for a cluster; one that also hands on that a worker died.

    joblib's own keeps that to itself, and the run would wait for it without an end.
    """
    from joblib._dask import DaskDistributedBackend  # noqa: PLC0415  (needs Dask)

    class Backend(DaskDistributedBackend):  # type: ignore[misc]
        def effective_n_jobs(self, n_jobs: int) -> int:
            """At least two: for one joblib would work in this very process."""
            return max(2, int(super().effective_n_jobs(n_jobs)))

        def submit(self, func: Any, callback: Any = None) -> Any:
            """Have a batch worked on; ``callback`` gets what comes of it, also a death."""
            future = super().submit(func, callback)

            def hand_on(done: Any) -> None:
                if callback is not None and done.exception() is not None:
                    callback(done.exception())

            future.add_done_callback(hand_on)
            return future

    return Backend(client=client)


class _Source:
    """Jobs to be taken by any thread, each once."""

    def __init__(self, jobs: Iterable[Job]) -> None:
        self._jobs = iter(jobs)
        self._lock = threading.Lock()
        self.is_empty = False

    def take(self, number: int) -> tuple[Job, ...]:
        """The next jobs; none where there are no more."""
        with self._lock:
            jobs = tuple(islice(self._jobs, number))
            self.is_empty = len(jobs) < number
        return jobs


def _client(cluster: object, wait_s: float = CLUSTER_WAIT_S) -> Any:
    """A client of a cluster.

    Raises:
        OptionFault: Dask is not installed, or nothing answers at the address.
    """
    if not isinstance(cluster, str):
        return cluster
    try:
        import distributed  # noqa: PLC0415  (an extra)
    except ImportError:
        raise OptionFault(
            "a cluster needs Dask; install it with: pip install 'linecheck[cluster]'"
        ) from None
    try:
        client = distributed.Client(cluster, timeout=wait_s)
        client.wait_for_workers(1, timeout=wait_s)
    except (OSError, TimeoutError, ValueError) as fault:
        raise OptionFault(
            f"no cluster with a worker answers there: {fault}", source=f"cluster {cluster}"
        ) from None
    return client
