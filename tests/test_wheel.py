"""The built package: what a user installs holds everything that the program needs."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from linecheck.demo import demo_takes

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="module")
def installed(tmp_path_factory):
    """A folder with what the wheel installs."""
    wheel = pytest.importorskip("hatchling.builders.wheel")
    folder = tmp_path_factory.mktemp("wheel")
    (built,) = wheel.WheelBuilder(str(ROOT)).build(directory=str(folder), versions=["standard"])
    with zipfile.ZipFile(built) as file:
        file.extractall(folder / "installed")
    return folder / "installed"


def linecheck(installed, *arguments):
    return subprocess.run(
        [sys.executable, "-W", "error", "-m", "linecheck", *arguments],
        cwd=installed.parent,
        env={**os.environ, "PYTHONPATH": str(installed)},
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_wheel_holds_what_lies_beside_the_code(installed):
    for name in ("py.typed", "rubric.toml", "demo_tunes/takes.toml"):
        assert (installed / "linecheck" / name).is_file(), name
    ours = {p.relative_to(ROOT) for p in (ROOT / "linecheck").rglob("*") if p.is_file()}
    ours = {p for p in ours if "__pycache__" not in p.parts}
    theirs = {p.relative_to(installed) for p in (installed / "linecheck").rglob("*")}
    assert ours <= theirs
    assert not any(part.startswith("test") for p in theirs for part in p.parts)


def test_the_installed_program_audits_its_demo(installed):
    done = linecheck(installed, "demo", "oskar")
    assert done.stderr == ""
    assert done.returncode == 0
    sample = (ROOT / "reports" / "oskar.txt").read_text("utf-8")
    report, to_go_on, _ = sample.partition("To go on:")
    assert to_go_on
    assert done.stdout.startswith(report)


def test_the_installed_program_copies_its_tunes(installed, tmp_path):
    done = linecheck(installed, "demo", "--copy-to", str(tmp_path / "tunes"))
    assert done.returncode == 0
    assert len(list((tmp_path / "tunes" / "takes").iterdir())) == len(demo_takes())


def test_the_script_of_the_wheel_is_the_command(installed):
    (entry,) = installed.glob("linecheck-*.dist-info/entry_points.txt")
    assert "linecheck = linecheck.__main__:main" in entry.read_text("utf-8")
