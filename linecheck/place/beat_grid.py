"""The grid of a file: between its quarter notes and seconds, by its tempo map.

Units: seconds from the start of the file, quarter notes from its start. Before the first entry
of a tempo map its first tempo holds, after the last its last.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from linecheck.terms import TempoMap

Floats: TypeAlias = NDArray[np.float64]


def seconds_of_quarters(tempo_map: TempoMap, quarters: Floats) -> Floats:
    """Seconds of places in quarter notes; any shape, any order."""
    return _carry_over(
        quarters,
        np.asarray(tempo_map.quarters),
        np.asarray(tempo_map.seconds),
        np.asarray(tempo_map.seconds_per_quarter),
    )


def quarters_of_seconds(tempo_map: TempoMap, seconds: Floats) -> Floats:
    """Quarter notes of times in seconds: the inverse of ``seconds_of_quarters``."""
    return _carry_over(
        seconds,
        np.asarray(tempo_map.seconds),
        np.asarray(tempo_map.quarters),
        1.0 / np.asarray(tempo_map.seconds_per_quarter),
    )


def seconds_per_quarter(tempo_map: TempoMap, quarters: Floats) -> Floats:
    """How long a quarter note lasts at places in quarter notes."""
    rate: Floats = np.asarray(tempo_map.seconds_per_quarter)[
        _piece(quarters, np.asarray(tempo_map.quarters))
    ]
    return rate


def _carry_over(values: Floats, starts: Floats, targets: Floats, slopes: Floats) -> Floats:
    values = np.asarray(values, dtype=np.float64)
    piece = _piece(values, starts)
    carried: Floats = targets[piece] + (values - starts[piece]) * slopes[piece]
    return carried


def _piece(values: Floats, starts: Floats) -> NDArray[np.intp]:
    return np.maximum(np.searchsorted(starts, values, side="right") - 1, 0)
