"""The program as a process: pipes, terminals, closed streams, and files that are no input."""

from __future__ import annotations

import os
import pty
import re
import subprocess
import sys
from pathlib import Path

import pytest

from linecheck.demo import demo_take

TAKE = demo_take("oskar")
AUDIT = ["audit", str(TAKE.chart), str(TAKE.take)]


def linecheck(*arguments, env=None, **options):
    command = [sys.executable, "-W", "error", "-m", "linecheck", *map(str, arguments)]
    streams = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE} | options
    given = {**os.environ, "PYTHONPATH": str(Path(__file__).parent.parent), **(env or {})}
    return subprocess.run(command, env=given, check=False, timeout=120, **streams)


def on_a_terminal(*arguments, env=None):
    """Exit status and what a terminal of 80 columns shows."""
    ours, theirs = pty.openpty()
    done = linecheck(
        *arguments,
        env={"COLUMNS": "80", "TERM": "xterm", **(env or {})},
        stdout=theirs,
        stderr=subprocess.PIPE,
    )
    os.close(theirs)
    shown = b""
    try:
        while part := os.read(ours, 65536):
            shown += part
    except OSError:  # how a terminal says that nothing more comes
        pass
    os.close(ours)
    return done.returncode, shown.decode().replace("\r\n", "\n")


def test_piped_output_has_no_colour_and_is_the_sample_report():
    demo = Path(__file__).parent.parent / "demo_tunes"
    command, *files = AUDIT
    done = linecheck(command, *(Path(file).relative_to(demo) for file in files), cwd=demo)
    assert done.returncode == 0
    assert done.stderr == b""
    sample = demo.parent / "reports" / "oskar.txt"
    assert done.stdout.decode().splitlines() == sample.read_text("utf-8").splitlines()


def test_a_terminal_gets_colour_and_the_same_words():
    status, shown = on_a_terminal(*AUDIT)
    assert status == 0
    assert "\x1b[1m" in shown
    bare = re.sub(r"\x1b\[[0-9;]*m", "", shown)
    piped = linecheck(*AUDIT).stdout.decode()
    assert [line.rstrip() for line in bare.splitlines()] == piped.splitlines()


@pytest.mark.parametrize(
    ("extra", "env"),
    [(["--no-color"], {}), ([], {"NO_COLOR": "1"}), ([], {"TERM": "dumb"})],
)
def test_colour_can_be_refused(extra, env):
    status, shown = on_a_terminal(*AUDIT, "--brief", *extra, env=env)
    assert status == 0
    assert "\x1b" not in shown


def test_a_terminal_without_unicode_gets_what_it_can_show(tmp_path):
    chart = tmp_path / "Straße.toml"
    text = TAKE.chart.read_text("utf-8").replace("Tollgate Shuffle", "Straßenlied Δ")
    chart.write_text(text, encoding="utf-8")
    done = linecheck("audit", chart, TAKE.take, env={"PYTHONIOENCODING": "ascii"})
    assert done.returncode == 0
    assert done.stdout.startswith(b"Strassenlied maj7: F")


@pytest.mark.parametrize("encoding", ["cp1252", "ascii"])
@pytest.mark.parametrize("form", ["json", "csv", "html", "musicxml"])
def test_a_file_on_standard_output_is_the_file_to_the_byte(form, encoding, tmp_path):
    chart = tmp_path / "chart.toml"
    text = TAKE.chart.read_text("utf-8").replace("Tollgate Shuffle", "Größe Δ")
    chart.write_text(text, encoding="utf-8")
    file = tmp_path / "file"
    linecheck("audit", chart, TAKE.take, "--quiet", f"--{form}", file)
    done = linecheck(
        "audit", chart, TAKE.take, f"--{form}", "-", env={"PYTHONIOENCODING": encoding}
    )
    assert done.stdout == file.read_bytes()


@pytest.mark.skipif(not Path("/dev/stdout").exists(), reason="no /dev/stdout here")
def test_standard_output_may_be_called_by_its_device(tmp_path):
    by_name = linecheck(*AUDIT, "--json", "/dev/stdout")
    assert (by_name.returncode, by_name.stderr) == (0, b"")
    assert by_name.stdout == linecheck(*AUDIT, "--json", "-").stdout
    with (tmp_path / "x").open("wb") as file:
        linecheck(*AUDIT, "--json", "/dev/stdout", stdout=file)
    assert (tmp_path / "x").read_bytes() == by_name.stdout


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
@pytest.mark.parametrize("arguments", [["--help"], ["--version"], ["audit", "--help"], []])
def test_a_full_disk_under_the_help_is_the_same_line(arguments):
    with open("/dev/full", "wb") as full:  # noqa: PTH123
        done = linecheck(*arguments, stdout=full)
    assert done.returncode == 2
    said = b"linecheck: standard output: cannot write: No space left on device\n"
    assert done.stderr == said


def test_a_reader_that_goes_away_is_no_fault():
    reader, writer = os.pipe()
    os.close(reader)
    done = linecheck(*AUDIT, "--json", "-", stdout=writer)
    os.close(writer)
    assert done.returncode == 141
    assert done.stderr == b""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
@pytest.mark.parametrize("extra", [[], ["--json", "-"], ["--json", "/dev/full"]])
def test_a_full_disk_is_one_line(extra):
    with open("/dev/full", "wb") as full:  # noqa: PTH123
        done = linecheck(*AUDIT, *extra, stdout=full)
    assert done.returncode == 2
    assert re.fullmatch(rb"linecheck: .*: cannot write: No space left on device\n", done.stderr)


def test_a_closed_standard_output_is_one_line():
    command = f"{sys.executable} -m linecheck demo --list >&-"
    done = subprocess.run(
        ["/bin/sh", "-c", command],
        cwd=Path(__file__).parent.parent,
        stderr=subprocess.PIPE,
        check=False,
    )
    assert done.returncode == 2
    assert done.stderr == b"linecheck: standard output: it is closed\n"


NO_INPUTS = {
    "missing": None,
    "a folder": "folder",
    "empty": b"",
    "noise": bytes(range(256)) * 8,
    "a truncated MIDI file": TAKE.take.read_bytes()[:40],
    "text": b"hello\n",
}


@pytest.mark.parametrize("suffix", [".mid", ".musicxml", ".mxl", ".abc", ".toml", ".wav", ""])
@pytest.mark.parametrize("what", NO_INPUTS)
def test_files_that_are_no_input(what, suffix, tmp_path, capsys):
    from linecheck import command_line

    file = tmp_path / f"x{suffix}"
    content = NO_INPUTS[what]
    if content == "folder":
        file.mkdir()
    elif content is not None:
        file.write_bytes(content)
    out = tmp_path / "out.json"
    for arguments in ([TAKE.chart, file], [file, TAKE.take]):
        status = command_line.run(["audit", *map(str, arguments), "--json", str(out)])
        printed = capsys.readouterr()
        assert status == 2
        assert printed.out == ""
        assert re.fullmatch(r"linecheck: [^\n]+\n", printed.err)
        assert "internal fault" not in printed.err
        assert not out.exists()


def test_the_same_files_come_out_every_time(tmp_path):
    for name in ("a", "b"):
        done = linecheck(
            *AUDIT, "--quiet", "--json", tmp_path / f"{name}.json", "--csv", tmp_path / f"{name}.csv",
            env={"PYTHONHASHSEED": "1" if name == "a" else "2"},
        )  # fmt: skip
        assert done.returncode == 0
        assert done.stdout == b""
    for kind in ("json", "csv"):
        assert (tmp_path / f"a.{kind}").read_bytes() == (tmp_path / f"b.{kind}").read_bytes()


def test_an_audit_to_json_loads_nothing_that_it_does_not_use():
    code = (
        "import sys\n"
        "from linecheck import command_line\n"
        f"command_line.run([*{AUDIT!r}, '--quiet', '--json', '/dev/null'])\n"
        "heavy = {'music21', 'pandas', 'scipy', 'rich', 'verovio', 'jinja2', 'typst', 'secrets'}\n"
        "print(*sorted(heavy & {name.partition('.')[0] for name in sys.modules}))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "\n"
