"""Medians, quantiles, runs of equal values and distinct values, without what numpy loads for its own.

``np.median``, ``np.quantile`` and ``np.unique`` first load numpy's masked arrays, which costs a
short job 6 ms.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


def median(values: NDArray[Any]) -> float:
    """The middle value of one or more, the mean of two where they are even."""
    half = len(values) // 2
    if len(values) % 2:
        return float(np.partition(values, half)[half])
    low, high = np.partition(values, (half - 1, half))[half - 1 : half + 1].tolist()
    return float(low + high) / 2


def quantile(values: NDArray[np.float64], share: float) -> float:
    """The value below which this share (0 to 1) of one or more lies, linear between neighbours.

    It rounds as ``np.quantile`` does: from the nearer neighbour.
    """
    at = (len(values) - 1) * share
    below = int(at)
    above = min(below + 1, len(values) - 1)
    low, high = np.partition(values, (below, above))[[below, above]].tolist()
    part = at - below
    apart = high - low
    return float(high - apart * (1 - part) if part >= 0.5 else low + apart * part)


def runs(values: NDArray[Any]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Where each run of equal values begins in an ascending array, and its length."""
    if not len(values):
        return np.zeros(0, dtype=np.intp), np.zeros(0, dtype=np.intp)
    first = np.flatnonzero(np.concatenate(([True], values[1:] != values[:-1])))
    return first, np.diff(first, append=len(values))


def distinct(values: NDArray[Any]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Where each distinct value first stands, by ascending value, and which of them each is."""
    order = np.argsort(values, kind="stable")
    first, lengths = runs(values[order])
    which = np.empty(len(values), dtype=np.intp)
    which[order] = np.repeat(np.arange(len(first)), lengths)
    return order[first], which
