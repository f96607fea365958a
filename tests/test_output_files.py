"""Outputs: checked before the work, whole or not at all, never over an input."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

import pytest

from linecheck.faults import OutputFault
from linecheck.output_files import Outputs, refused, write_whole


def test_files_are_replaced_whole_and_nothing_is_left_beside(tmp_path):
    old = tmp_path / "a.json"
    old.write_text("old", encoding="utf-8")
    old.chmod(0o640)
    Outputs({"json": str(old), "csv": str(tmp_path / "b.csv")}, []).write(
        {"json": "new", "csv": "Δ"}
    )
    assert old.read_text("utf-8") == "new"
    assert stat.S_IMODE(old.stat().st_mode) == 0o640
    assert (tmp_path / "b.csv").read_bytes() == "Δ".encode()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.json", "b.csv"]


def test_a_new_file_has_the_rights_of_any_new_file(tmp_path):
    (tmp_path / "plain").touch()
    Outputs({"json": str(tmp_path / "a.json")}, []).write({"json": ""})
    assert (tmp_path / "a.json").stat().st_mode == (tmp_path / "plain").stat().st_mode


def test_a_fault_in_writing_leaves_the_old_file(tmp_path, monkeypatch):
    old = tmp_path / "a.json"
    old.write_text("old", encoding="utf-8")
    outputs = Outputs({"csv": str(tmp_path / "b.csv"), "json": str(old)}, [])

    def full(*_, **__):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("pathlib.Path.replace", full)
    with pytest.raises(OutputFault, match=r"b\.csv: cannot write: No space left on device"):
        outputs.write({"csv": "new", "json": "new"})
    assert old.read_text("utf-8") == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.json"]


def test_a_link_is_written_through(tmp_path):
    real = tmp_path / "real.json"
    real.write_text("old", encoding="utf-8")
    (tmp_path / "link.json").symlink_to(real)
    Outputs({"json": str(tmp_path / "link.json")}, []).write({"json": "new"})
    assert real.read_text("utf-8") == "new"
    assert (tmp_path / "link.json").is_symlink()


def test_a_pipe_is_written_straight_into_by_whatever_name():
    reader, writer = os.pipe()
    name = f"/dev/fd/{writer}"
    if not Path(name).exists():
        pytest.skip("no /dev/fd here")
    Outputs({"json": name}, []).write({"json": "Δ"})
    os.close(writer)
    assert os.read(reader, 100) == "Δ".encode()
    os.close(reader)


def test_a_device_is_written_straight_into():
    Outputs({"json": os.devnull}, []).write({"json": "nothing"})
    assert not os.path.isfile(os.devnull)  # noqa: PTH113  (still a device, not a file)


@pytest.mark.parametrize(
    ("file", "says"),
    [
        ("", "needs the name of a file"),
        ("a\0b", "needs the name of a file"),
        (".", "it is a folder"),
        ("gone/a.json", "there is no folder"),
        ("a.txt/b.json", "there is no folder"),
    ],
)
def test_places_that_cannot_be(file, says, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "a.txt").touch()
    with pytest.raises(OutputFault, match=says):
        Outputs({"json": file}, [])


def test_no_right_to_write(tmp_path, monkeypatch):
    monkeypatch.setattr("os.access", lambda *_: False)
    with pytest.raises(OutputFault, match="no right to write there"):
        Outputs({"json": str(tmp_path / "a.json")}, [])


def test_what_the_system_refuses_is_said_in_one_way(tmp_path):
    for number in (errno.EACCES, errno.EPERM, errno.EROFS):
        said = str(refused(OSError(number, os.strerror(number)), tmp_path / "grades"))
        assert said.endswith("grades: no right to write there")
    full = OSError(errno.ENOSPC, "No space left on device")
    assert str(refused(full, Path("a"))) == "a: cannot write: No space left on device"


@pytest.mark.parametrize("other", ["a.json", "./a.json", "link.json"])
def test_two_options_for_one_file(other, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "link.json").symlink_to("a.json")
    with pytest.raises(OutputFault, match="--json and --csv name the same file"):
        Outputs({"json": "a.json", "csv": other}, [])


@pytest.mark.parametrize("name", ["take.mid", "./take.mid", "hard.mid", "soft.mid"])
def test_an_input_is_never_overwritten(name, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "take.mid").touch()
    (tmp_path / "soft.mid").symlink_to("take.mid")
    (tmp_path / "hard.mid").hardlink_to("take.mid")
    with pytest.raises(OutputFault, match=r"would overwrite the input take\.mid"):
        Outputs({"json": name}, ["chart.toml", "take.mid"])


def test_standard_output_is_for_one():
    assert Outputs({"json": "-"}, []).to_stdout == "json"
    assert Outputs({}, []).to_stdout is None
    with pytest.raises(OutputFault, match="only one of them can have it"):
        Outputs({"json": "-", "csv": "-"}, [])


def test_a_name_that_is_no_utf_8_is_escaped_as_json_does(tmp_path):
    Outputs({"json": str(tmp_path / "a")}, []).write({"json": '"\udcff"'})
    assert (tmp_path / "a").read_bytes() == rb'"\udcff"'


# ---- one file --------------------------------------------------------------------------------


def test_what_a_killed_process_left_is_cleared_away_and_what_another_writes_is_not(tmp_path):
    fcntl = pytest.importorskip("fcntl", reason="there are no such locks here")
    (tmp_path / ".a.csv.0123.part").write_bytes(b"ha")
    with (tmp_path / ".a.csv.4567.part").open("wb") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        write_whole(tmp_path / "a.csv", "x")
        assert sorted(p.name for p in tmp_path.iterdir()) == [".a.csv.4567.part", "a.csv"]
    write_whole(tmp_path / "a.csv", b"y")
    assert [p.name for p in tmp_path.iterdir()] == ["a.csv"]
    assert (tmp_path / "a.csv").read_bytes() == b"y"


def test_a_file_that_is_taken_for_a_left_over_is_written_again(tmp_path, monkeypatch):
    replaced = []
    before = Path.replace

    def lost_once(self, target):
        replaced.append(self)
        if len(replaced) == 1:
            self.unlink()
        return before(self, target)

    monkeypatch.setattr(Path, "replace", lost_once)
    write_whole(tmp_path / "a.csv", "x")
    assert len(replaced) == 2
    assert [p.name for p in tmp_path.iterdir()] == ["a.csv"]


def test_one_file_that_cannot_be_written_is_one_line(tmp_path):
    with pytest.raises(OutputFault, match=r"nowhere/a.csv: cannot write: No such file"):
        write_whole(tmp_path / "nowhere" / "a.csv", "x")
