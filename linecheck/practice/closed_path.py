"""The cheapest way round a loop of places, one choice at each: exact dynamic programming.

The last place leads back to the first, so every choice at the first place is tried. Of equally
cheap ways the first found stands, so that the same loop always gives the same way.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

__all__ = ["cheapest_round"]

Choice = TypeVar("Choice")


def cheapest_round(
    choices: Sequence[Mapping[Choice, float]], price: Callable[[int, Choice, Choice], float]
) -> list[Choice]:
    """The choices, one for each place, whose prices add up to the least.

    Args:
        choices: for each place, what may be chosen there and what that costs by itself; none empty.
        price: what it costs to go from a place (its index) with one choice to the next place with
            another; from the last place it goes on to the first.
    """
    best: tuple[float, list[Choice]] | None = None
    for first, own in choices[0].items():
        paths: dict[Choice, tuple[float, list[Choice]]] = {first: (own, [first])}
        for nth, place in enumerate(choices[1:]):
            paths = {
                choice: min(
                    (
                        (total + price(nth, path[-1], choice) + at, [*path, choice])
                        for total, path in paths.values()
                    ),
                    key=lambda found: found[0],
                )
                for choice, at in place.items()
            }
        for total, path in paths.values():
            closed = total + price(len(choices) - 1, path[-1], first)
            if best is None or closed < best[0]:
                best = (closed, path)
    if best is None:
        raise ValueError("a place without a choice; every place needs one")
    return best[1]
