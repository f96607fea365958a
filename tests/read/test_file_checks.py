"""A file is checked before a reader looks inside: every fault is one clear line."""

from __future__ import annotations

import os
import sys
import types

import pytest

import linecheck.read
from linecheck.faults import ChartFault, TakeFault
from linecheck.read import CHART_FORMATS, TAKE_FORMATS, read_chart, read_take
from linecheck.read.file_checks import read_bytes, read_text


def test_missing_file_is_named_as_it_was_given():
    with pytest.raises(ChartFault, match=r"^no/such/chart\.toml: no such file$"):
        read_chart("no/such/chart.toml")


def test_a_name_with_a_nul_is_a_fault():
    with pytest.raises(TakeFault, match="cannot be opened: embedded null"):
        read_take("bad\0name.mid")


def test_a_name_that_is_too_long_is_a_fault():
    with pytest.raises(TakeFault, match="cannot be opened: File name too long"):
        read_take("x" * 5000 + ".mid")


def test_directory(tmp_path):
    with pytest.raises(ChartFault, match="is a directory; a file was expected"):
        read_chart(tmp_path)


def test_empty_file(tmp_path):
    file = tmp_path / "blank.toml"
    file.touch()
    with pytest.raises(ChartFault, match=r"blank\.toml: is empty; .*: save or export it again"):
        read_chart(file)


def test_a_pipe_is_not_waited_for(tmp_path):
    file = tmp_path / "pipe.mid"
    os.mkfifo(file)
    with pytest.raises(TakeFault, match="is not a regular file"):
        read_take(file)


def test_unreadable_file(tmp_path, monkeypatch):
    file = tmp_path / "a.toml"
    file.write_text("x")

    def refuse(*_args, **_options):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(type(file), "open", refuse)
    with pytest.raises(ChartFault, match=r"a\.toml: cannot be read: Permission denied"):
        read_bytes(file, ChartFault)


def test_too_large(tmp_path):
    file = tmp_path / "a.toml"
    file.write_bytes(b"x" * ((1 << 20) + 1))
    with pytest.raises(ChartFault, match="is too large: at most 1 MiB is read"):
        read_bytes(file, ChartFault, most_bytes=1 << 20)


def test_a_file_that_grows_while_it_is_read(tmp_path, monkeypatch):
    file = tmp_path / "a.toml"
    file.write_bytes(b"x" * 20)
    monkeypatch.setattr("linecheck.read.file_checks.check_file", lambda *_: None)
    with pytest.raises(ChartFault, match="is too large"):
        read_bytes(file, ChartFault, most_bytes=10)


def test_text_is_utf_8_without_mark_and_with_plain_line_ends(tmp_path):
    file = tmp_path / "a.toml"
    file.write_bytes(b"\xef\xbb\xbfone\r\ntwo\rthree\n")
    assert read_text(file, ChartFault) == "one\ntwo\nthree\n"
    file.write_bytes(b"fine\nm\xfcde")
    with pytest.raises(ChartFault, match=r"a\.toml, line 2: is not text in UTF-8: byte 0xFC"):
        read_text(file, ChartFault)


@pytest.mark.parametrize("suffix", sorted({*TAKE_FORMATS} - {*CHART_FORMATS}))
def test_a_take_given_as_the_chart_names_the_slip(tmp_path, suffix):
    file = tmp_path / f"line{suffix}"
    file.write_text("x")
    with pytest.raises(ChartFault, match=r"is a take, and a chart was expected .*the chart comes"):
        read_chart(file)


@pytest.mark.parametrize("suffix", sorted({*CHART_FORMATS} - {*TAKE_FORMATS}))
def test_a_chart_given_as_the_take_names_the_slip(tmp_path, suffix):
    file = tmp_path / f"tune{suffix}"
    file.write_text("x")
    with pytest.raises(TakeFault, match=r"is a chart, and a take was expected .*the chart comes"):
        read_take(file)


def test_other_suffixes_are_answered_with_those_that_are_read(tmp_path):
    file = tmp_path / "tune.pdf"
    file.write_text("x")
    with pytest.raises(ChartFault, match=r"a \.pdf file .*; a chart is \.toml, .* or \.abc"):
        read_chart(file)
    with pytest.raises(TakeFault, match=r"a \.pdf file .*; a take is \.mid, .* or \.m4a"):
        read_take(file)
    file = tmp_path / "tune"
    file.write_text("x")
    with pytest.raises(ChartFault, match="the file's name has no suffix"):
        read_chart(file)


@pytest.fixture
def take_reader(monkeypatch):
    """Put a function in place of the reader of ``.mid`` files."""

    def install(function):
        module = types.ModuleType("linecheck.read.take_midi")
        module.read_take_midi = function
        monkeypatch.setitem(sys.modules, "linecheck.read.take_midi", module)
        monkeypatch.setattr(linecheck.read, "take_midi", module, raising=False)

    return install


def test_the_suffix_chooses_the_reader_and_the_track_is_handed_on(tmp_path, take_reader):
    take_reader(lambda path, *, track: (path.name, track))
    file = tmp_path / "Line.MID"
    file.write_text("x")
    assert read_take(str(file), track="Bass") == ("Line.MID", "Bass")


def test_whatever_a_parser_trips_over_becomes_one_line(tmp_path, take_reader):
    def trip(_path, *, track):
        raise IndexError(f"list index\nout of range {track}")

    take_reader(trip)
    file = tmp_path / "line.mid"
    file.write_text("x")
    with pytest.raises(TakeFault) as caught:
        read_take(file)
    assert str(caught.value) == (
        f"{file}: cannot be read as a .mid file: IndexError: list index out of range None"
    )


def test_a_fault_without_a_source_gets_the_file(tmp_path, take_reader):
    def refuse(_path, *, track):
        raise TakeFault("no notes", place=(f"track {track}",))

    take_reader(refuse)
    file = tmp_path / "line.mid"
    file.write_text("x")
    with pytest.raises(TakeFault) as caught:
        read_take(file, track="2")
    assert str(caught.value) == f"{file}, track 2: no notes"
