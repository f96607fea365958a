"""The demo tunes that come with the program: charts and takes of an invented bass class.

In an installed package they lie in ``linecheck/demo_tunes``, in a checkout beside the package.
``takes.toml`` lists them.
"""

from __future__ import annotations

import shutil
import tomllib
from dataclasses import dataclass
from pathlib import Path

from linecheck.faults import OptionFault, OutputFault

__all__ = ["DemoTake", "copy_demo_tunes", "demo_take", "demo_takes"]

_INDEX = "takes.toml"


@dataclass(frozen=True, slots=True)
class DemoTake:
    """A take of the demo: ``name`` as the command line knows it, its two files, and its story."""

    name: str
    chart: Path
    take: Path
    story: str


def _folder() -> Path:
    package = Path(__file__).parent
    for folder in (package / "demo_tunes", package.parent / "demo_tunes"):
        if (folder / _INDEX).is_file():
            return folder
    raise OptionFault("the demo tunes are not there; they come with the package")


def demo_takes() -> list[DemoTake]:
    """All demo takes; the first is the one to begin with."""
    folder = _folder()
    listed = tomllib.loads((folder / _INDEX).read_text("utf-8"))["take"]
    return [
        DemoTake(entry["name"], folder / entry["chart"], folder / entry["file"], entry["story"])
        for entry in listed
    ]


def demo_take(name: str | None) -> DemoTake:
    """The demo take of that name; None: the one to begin with.

    Raises:
        OptionFault: there is none of that name.
    """
    takes = demo_takes()
    for take in takes:
        if name in (None, take.name):
            return take
    names = ", ".join(take.name for take in takes)
    raise OptionFault(f"there is no demo take called {name!r}; they are {names}")


def copy_demo_tunes(target: Path) -> list[Path]:
    """Copy charts and takes into a folder, which is made where it is not there.

    Raises:
        OutputFault: a file is there already (none is overwritten), or the folder cannot be made.
    """
    folder = _folder()
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    places = [target / path.relative_to(folder) for path in files]
    for place in places:
        if place.exists():
            raise OutputFault("it is there already; name another folder", source=str(place))
    try:
        for path, place in zip(files, places, strict=True):
            place.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(path, place)
    except OSError as fault:
        raise OutputFault(f"cannot copy: {fault.strerror}", source=str(target)) from fault
    return places
