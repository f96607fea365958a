"""A document set as a PDF by Typst, whose wheels carry type, layout, fonts and tagging.

Texts are handed over as data and never as markup, so no title or name ever becomes markup.
"""

from __future__ import annotations

import json
from datetime import UTC, datetime
from importlib.resources import files
from typing import Any

__all__ = ["TYPST_PAPERS", "typeset"]

UNDATED = datetime.fromtimestamp(0, tz=UTC)  # the same data give the same bytes
TYPST_PAPERS = {"a4": "a4", "letter": "us-letter"}


def typeset(template: tuple[str, ...], name: str, told: dict[str, Any]) -> bytes:
    """The whole file.

    Args:
        template: package, folders and name of the template's file.
        name: what the template calls its data.
        told: plain data and drawings.
    """
    import typst  # noqa: PLC0415 - a large library that only this format needs

    package, *path = template
    source = files(package).joinpath(*path).read_bytes()
    data = {name: json.dumps(told)}
    try:
        # Checked as PDF/UA-1, so that a screen reader finds titles, tables and pictures in words.
        made: bytes = typst.compile(
            source, sys_inputs=data, timestamp=UNDATED, pdf_standards=["ua-1"]
        )
    except typst.TypstError:
        # A name in a script that no type on this machine has keeps a file from being accessible,
        # not from being written.
        made = typst.compile(source, sys_inputs=data, timestamp=UNDATED)
    return made
