"""What every page has in common: its style, its templates, and a policy that forbids every load.

A page is one file that opens from disk and asks nothing of any network. Every text goes through
the template engine's escaping or through ``markup``, so no title or name ever becomes markup.
"""

from __future__ import annotations

from base64 import b64encode
from functools import cache
from hashlib import sha256
from importlib.resources import files
from typing import Any

from linecheck.report.markup import Safe

__all__ = ["packaged", "rendered"]

STYLE = ("linecheck.report", "handout_page", "page.css")


def rendered(
    template: tuple[str, ...],
    *,
    more_style: str = "",
    script: str = "",
    sound: str | None = None,
    **values: Any,
) -> str:
    """A page made of a template.

    Args:
        template: package, folders and name of its file; it may include others beside it.
        more_style: what the page needs beside the style of all pages.
        script: the script of the page, "" for none.
        sound: the data address of a recording that stands in the page; None for none.
        values: what the template asks for beside ``style``, ``script`` and ``policy``.
    """
    style = packaged(*STYLE) + more_style
    run = f"script-src 'sha256-{_hash(script)}'; " if script else ""
    play = "media-src data:; " if sound else ""
    policy = (
        f"default-src 'none'; style-src 'sha256-{_hash(style)}'; {run}{play}"
        "base-uri 'none'; form-action 'none'"
    )
    page: str = _template(template).render(
        style=Safe(style), script=Safe(script), policy=Safe(policy), sound=sound, **values
    )
    return page


@cache
def packaged(package: str, *path: str) -> str:
    """The text of a file that comes with the package."""
    return files(package).joinpath(*path).read_text(encoding="utf-8")


def _hash(text: str) -> str:
    return b64encode(sha256(text.encode()).digest()).decode()


@cache
def _template(name: tuple[str, ...]) -> Any:
    import jinja2  # noqa: PLC0415 - only pages need it

    *folder, file = name
    engine = jinja2.Environment(
        autoescape=True,
        loader=jinja2.FunctionLoader(lambda beside: packaged(folder[0], *folder[1:], beside)),
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return engine.get_template(file)
