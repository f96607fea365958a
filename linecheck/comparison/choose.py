"""Which choruses stand on which side of a comparison.

In one take the walking choruses stand against the solo ones, as their rhythm tells or as they are
named. Of two takes each gives the choruses of the style that most of its choruses have (of walking
where there are as many of both), or of the style or the numbers that are asked for. A mixed chorus
stands on no side unless it is named or all are mixed.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from linecheck.arguments import is_whole
from linecheck.comparison_terms import ComparedSide
from linecheck.faults import ChartFault, OptionFault, TakeFault
from linecheck.judge.carry_over import Chosen

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.terms import Audit, Style

__all__ = ["choose_sides"]

NAMES: dict[Style, str] = {"walking": "line", "solo": "solo", "mixed": "mixed line"}
STYLES: tuple[Style, ...] = ("walking", "solo", "mixed")


def choose_sides(
    found: Audit,
    second: Audit | None,
    walking: Sequence[int] | None,
    solo: Sequence[int] | None,
    style: Style | None,
) -> tuple[Chosen, Chosen, tuple[str, ...]]:
    """Both sides, and what a reader should know of them.

    Raises:
        OptionFault: a chorus that is named is not there, or stands on both sides; no such style.
        TakeFault: a take has no chorus for its side.
        ChartFault: the two takes were audited over different charts.
    """
    if style is not None and style not in STYLES:
        raise OptionFault(f"style is {style!r}; expected {', '.join(STYLES[:-1])} or {STYLES[-1]}")
    walking, solo = _numbers(walking, "walking"), _numbers(solo, "solo")
    if second is None:
        return _within(found, walking, solo, style)
    if second.chart.bars != found.chart.bars:
        raise ChartFault(
            "the two takes were audited over different charts; takes over one chart were expected",
            source=second.chart.source,
        )
    before = _of_take(found, walking, style, "walking")
    after = _of_take(second, solo, style, "solo")
    if before.side.style == after.side.style:
        before, after = _renamed(before, "first"), _renamed(after, "second")
    return before, after, (*_warnings(found, "first take: "), *_warnings(second, "second take: "))


def _within(
    found: Audit,
    walking: Sequence[int] | None,
    solo: Sequence[int] | None,
    style: Style | None,
) -> tuple[Chosen, Chosen, tuple[str, ...]]:
    if style is not None:
        raise OptionFault("style chooses the choruses of two takes; one was given")
    sides = []
    for kind, named, other in (("walking", walking, solo), ("solo", solo, walking)):
        numbers = _checked(named, found, kind)
        if numbers is None:
            taken = set(other or ())
            numbers = tuple(n for n in _of_style(found, kind) if n not in taken)
        if not numbers:
            raise TakeFault(_nothing(found, kind), source=_name(found))
        sides.append(numbers)
    both = sorted(set(sides[0]) & set(sides[1]))
    if both:
        raise OptionFault(
            f"chorus {both[0]} stands in walking and in solo; it can stand on one side only"
        )
    left_out = [
        n for n in range(1, len(found.labels.styles) + 1) if n not in {*sides[0], *sides[1]}
    ]
    mixed = [n for n in left_out if found.labels.styles[n - 1] == "mixed"]
    said = (_mixed_warning(mixed),) if mixed else ()
    return (
        _chosen(found, "line", "walking", sides[0]),
        _chosen(found, "solo", "solo", sides[1]),
        (*said, *_warnings(found)),
    )


def _of_take(found: Audit, named: Sequence[int] | None, asked: Style | None, option: str) -> Chosen:
    numbers = _checked(named, found, option)
    styles = found.labels.styles
    among = styles if numbers is None else [styles[n - 1] for n in numbers]
    most = max(STYLES, key=among.count)
    if numbers is not None:
        return _chosen(found, NAMES[most], most, numbers)
    style = most if asked is None else asked
    numbers = _of_style(found, style)
    if not numbers:
        raise TakeFault(_nothing(found, style), source=_name(found))
    return _chosen(found, NAMES[style], style, numbers)


def _chosen(found: Audit, name: str, style: Style, numbers: tuple[int, ...]) -> Chosen:
    return Chosen(ComparedSide(name, found.take.source, style, numbers), found.labels)


def _renamed(chosen: Chosen, name: str) -> Chosen:
    side = chosen.side
    return chosen._replace(side=ComparedSide(name, side.source, side.style, side.choruses))


def _of_style(found: Audit, style: str) -> tuple[int, ...]:
    return tuple(n for n, of_it in enumerate(found.labels.styles, start=1) if of_it == style)


def _numbers(named: object, option: str) -> tuple[int, ...] | None:
    """The numbers of choruses that were named, as Python's whole numbers."""
    if named is None:
        return None
    numbers = (
        tuple(named) if isinstance(named, Iterable) and not isinstance(named, str) else (None,)
    )
    if not all(map(is_whole, numbers)):
        raise OptionFault(f"{option} is {named!r}; expected numbers of choruses such as [1, 2]")
    return tuple(map(int, numbers))


def _checked(named: Sequence[int] | None, found: Audit, option: str) -> tuple[int, ...] | None:
    if named is None:
        return None
    there = len(found.labels.styles)
    for number in named:
        if not 1 <= number <= there:
            raise OptionFault(
                f"{option} names chorus {number}; {_name(found)} has "
                f"{'chorus 1' if there == 1 else f'choruses 1 to {there}' if there else 'none'}"
            )
    return tuple(sorted(set(named)))


def _nothing(found: Audit, style: str) -> str:
    styles = found.labels.styles
    if not styles:
        return "no chorus was begun; a take with choruses to compare was expected"
    told = ", ".join(f"chorus {n} {of_it}" for n, of_it in enumerate(styles[:6], start=1))
    more = ", …" if len(styles) > 6 else ""
    kind = {"solo": "is a solo", "walking": "is walking", "mixed": "is mixed"}[style]
    return (
        f"no chorus {kind} by its rhythm ({told}{more}); --walking 1 --solo 2,3 would tell them "
        "apart, or a second take"
    )


def _mixed_warning(mixed: Sequence[int]) -> str:
    named = ", ".join(map(str, mixed))
    one = len(mixed) == 1
    return (
        f"chorus{'' if one else 'es'} {named} {'is' if one else 'are'} mixed and left out; "
        "--walking or --solo takes it in"
    )


def _warnings(found: Audit, head: str = "") -> tuple[str, ...]:
    return tuple(head + warning for warning in found.warnings)


def _name(found: Audit) -> str:
    return Path(found.take.source).name
