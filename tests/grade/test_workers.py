"""Several processes, workers that die, and a cluster."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from linecheck.faults import OptionFault
from linecheck.grade import Graded, Refused, grade_folder
from linecheck.grade import workers as workers_of_grading
from linecheck.grade.work import audit_batch
from tests.grade.class_folders import put, put_chart
from tests.grade.deadly_takes import DEADLY, die_always, die_once
from tests.kill_grade import command, kill_at_random, written

pytestmark = pytest.mark.skipif(os.name != "posix", reason="kills processes")


@pytest.fixture
def folder(tmp_path):
    """Twelve takes, no two of them alike."""
    folder = tmp_path / "class"
    put_chart(folder, "x.toml", "mira")
    for number in range(12):
        take = put(folder, f"s{number:02}.mid", ("mira", "oskar")[number % 2])
        content = take.read_bytes()
        # another velocity of the first note that is struck: another content, the same line
        at = content.index(b"\x90") + 2
        take.write_bytes(content[:at] + bytes([60 + number]) + content[at + 1 :])
    return folder


def test_several_processes_find_the_same_as_one(folder):
    done = []
    book = grade_folder(folder, jobs=2, progress=lambda n, of: done.append((n, of)))
    assert list(book) == list(grade_folder(folder, jobs=1))
    assert book.audited == 12
    assert done == sorted(done)
    assert done[-1] == (12, 12)


def test_a_worker_that_dies_costs_only_its_take(folder, tmp_path, monkeypatch):
    expected = list(grade_folder(folder, jobs=1))
    (folder / "s03x.mid").write_bytes(DEADLY)
    monkeypatch.setattr(workers_of_grading, "audit_batch", die_always)
    rows = list(grade_folder(folder, jobs=2, keep_in=tmp_path / "kept"))
    (dead,) = [row for row in rows if isinstance(row, Refused)]
    assert dead.submission.student == "s03x"
    assert dead.reason == (
        "the process that audited it died; it may need more memory than there is"
    )
    assert [row for row in rows if isinstance(row, Graded)] == expected
    monkeypatch.undo()  # what holds only for now is not kept
    book = grade_folder(folder, jobs=1, keep_in=tmp_path / "kept")
    assert book.audited == 1
    assert book[4].reason.startswith("no MIDI file")


def test_a_run_that_is_killed_goes_on_with_the_same_results(folder, tmp_path):
    runs, wrong = kill_at_random(folder, tmp_path, kills=3, seed=4)
    assert runs >= 3
    assert wrong == []


def test_two_runs_at_once_on_one_folder(folder, tmp_path):
    runs = [subprocess.Popen(command(folder, tmp_path / "both")) for _ in range(2)]
    assert [run.wait(60) for run in runs] == [0, 0]
    subprocess.run(command(folder, tmp_path / "alone"), check=True)
    assert written(tmp_path / "both") == written(tmp_path / "alone")


def test_ctrl_c_ends_it_quietly_and_what_was_done_is_kept(folder, tmp_path):
    run = subprocess.Popen(
        command(folder, tmp_path / "out"), stderr=subprocess.PIPE, start_new_session=True, text=True
    )
    deadline = time.monotonic() + 30
    while time.monotonic() < deadline and not list((tmp_path / "out").glob("audits/*.audits")):
        time.sleep(0.02)
    os.killpg(run.pid, signal.SIGINT)
    said = run.communicate(timeout=30)[1]
    assert run.returncode in (130, 0)  # 0 where it was through already
    assert "Traceback" not in said


# ---- a cluster -------------------------------------------------------------------------------


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGKILL])
def test_a_run_that_is_ended_by_force_says_nothing(how, folder, tmp_path):
    run = subprocess.Popen(
        command(folder, tmp_path / "out"), stderr=subprocess.PIPE, start_new_session=True, text=True
    )
    while not any(
        b"\na " in b"\n" + file.read_bytes() for file in (tmp_path / "out").rglob("*.audits")
    ):
        assert run.poll() is None
        time.sleep(0.02)
    run.send_signal(how)
    _, err = run.communicate(timeout=60)  # until its workers have ended too
    assert (run.returncode, err) == (-how, "")


def test_takes_are_handed_out_one_by_one_so_that_each_is_kept_at_once(folder, monkeypatch):
    handed_out = []

    def noted(batch):
        handed_out.append(len(batch.jobs))
        return audit_batch(batch)

    monkeypatch.setattr(workers_of_grading, "audit_batch", noted)
    grade_folder(folder, jobs=1)
    assert handed_out == [1] * 12


def test_a_cluster_that_is_not_there_is_one_line():
    pytest.importorskip("distributed", reason="Dask is not installed: no cluster is tried")
    with pytest.raises(OptionFault, match=r"cluster tcp://127.0.0.1:9.*no cluster with a worker"):
        workers_of_grading._client("tcp://127.0.0.1:9", wait_s=1)


def test_without_dask_it_is_said_how_to_install_it(folder, monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(OptionFault, match=r"pip install 'linecheck\[cluster\]'"):
        grade_folder(folder, cluster="tcp://127.0.0.1:9")


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_a_cluster_of_two_workers_one_of_which_dies(folder, tmp_path, monkeypatch):
    distributed = pytest.importorskip(
        "distributed", reason="Dask is not installed: no cluster is tried"
    )
    noted = tmp_path / "died"
    (folder / "s03x.mid").write_bytes(DEADLY + f"\n{noted}\n".encode())
    monkeypatch.setattr(workers_of_grading, "audit_batch", die_once)
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, dashboard_address=None, silence_logs=50
    ) as cluster:
        first = {worker["pid"] for worker in _workers(cluster)}
        book = grade_folder(folder, cluster=cluster.scheduler_address)
        rows = list(book)
    assert int(noted.read_text()) in first
    monkeypatch.undo()
    assert rows == list(grade_folder(folder, jobs=1))
    assert sum(isinstance(row, Graded) for row in rows) == 12


def _workers(cluster):
    with cluster.get_client() as client:
        return [{"pid": pid} for pid in client.run(os.getpid).values()]


def test_a_take_that_kills_every_worker_of_a_cluster_is_refused(folder, monkeypatch):
    distributed = pytest.importorskip(
        "distributed", reason="Dask is not installed: no cluster is tried"
    )
    import dask

    for path in Path(folder).glob("s0[4-9].mid"):
        path.unlink()
    (folder / "s03x.mid").write_bytes(DEADLY)
    monkeypatch.setattr(workers_of_grading, "audit_batch", die_always)
    with (
        dask.config.set({"distributed.scheduler.allowed-failures": 0}),
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, dashboard_address=None, silence_logs=50
        ) as cluster,
    ):
        rows = list(grade_folder(folder, cluster=cluster.scheduler_address))
    refused = [row.submission.student for row in rows if isinstance(row, Refused)]
    assert refused == ["s03x"]
