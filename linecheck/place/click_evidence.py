"""Whether a take was played to the grid of its own file.

A player who hears a click keeps to it: in every stretch the onsets gather on the beats and on the
off-beats (straight or swung), at one and the same lateness. Who plays free drifts through all of
it, even where the file's tempo is nearly right. Both stories are told of the take, stretch by
stretch, and the likelier one holds (log likelihoods in nats; a stretch is so many onsets):

* to the click: one lateness throughout, near none; a few stretches may be off.
* free: every stretch lies anywhere, a little faster or slower than the file, or with a pulse of
  its own (three against two and the like), or anyhow.

Units: places in the beat, in beats (a quarter note of the file); lateness in seconds.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

from linecheck.place.beat_grid import seconds_per_quarter
from linecheck.place.sorted_arrays import median, runs

if TYPE_CHECKING:
    from linecheck.terms import Take

Floats: TypeAlias = NDArray[np.float64]

_STRETCH = 16  # onsets
_MOST_STRETCHES = 24  # of a long take, spread over it
_LEAST_ONSETS = 6
_BINS = 48  # places in the beat
_LATENESS = (np.arange(_BINS) + _BINS // 2) % _BINS / _BINS - 0.5  # in beats, of each shift
_SHIFTED = (np.arange(_BINS)[:, None] - np.arange(_BINS)) % _BINS  # place, less lateness
_OFF_BEATS = (0.5, 0.58, 0.66, 0.74)
_SPREADS = (0.02, 0.045, 0.09)
# Weights of what an onset may be: beat, off-beat, each third of a triplet, anything.
_BEAT, _OFF_BEAT, _THIRD, _ANYTHING = 0.58, 0.24, 0.04, 0.1
# Paces of a free player against the file: a little off, or another pulse in a simple ratio.
_LITTLE_OFF = (0.94, 0.96, 0.97, 0.98, 0.99, 1.01, 1.02, 1.03, 1.04, 1.06)
_OTHER_PULSES = (2 / 3, 3 / 4, 4 / 5, 5 / 6, 6 / 5, 5 / 4, 4 / 3, 3 / 2)
_OTHER_PACES = (*_LITTLE_OFF, *_OTHER_PULSES)
_FEW_SHAPES = (0, 4, 6)  # of the densities: straight, exact and played; swung, played
# One standard deviation of the lateness that players and sound cards have, in seconds, and no
# more than so many beats where the beats are short.
_LATE_S, _LATE = 0.06, 0.12
_MOST_LATE_S, _MOST_LATE = 0.13, 0.23  # seconds, beats: later is no lateness but another beat
_SOME_BEATS = 0.25  # share of onsets on the beats that the most syncopated take has
_WANDER_S = 0.02  # one standard deviation of how far a stretch lies off its take's lateness
_DRIFT, _LEAP = 0.12, 0.2  # of a free player from stretch to stretch, in beats; or anywhere
_SAME_PACE, _OTHER_PACE, _NO_PACE = 0.3, 0.4, 0.3
_STRAY = 0.05  # share of stretches of a take to the click that may lie anywhere
_SURE = 0.65  # share of onsets on the beats, in every stretch, that no other pulse can give
_ON_BEAT = 0.12  # beats
_TEMPI = (25.0, 420.0)  # quarter notes a minute that can be a click


@dataclass(frozen=True, slots=True)
class ClickEvidence:
    """Whether the file's grid can be used, and why not.

    ``reason`` is a sentence for the player. ``support`` is the log odds that the take was played
    to the click; ``lateness_s`` is how far its onsets lie after (+) the beats of the grid.
    """

    usable: bool
    reason: str
    support: float = 0.0
    lateness_s: float = 0.0


def click_evidence(take: Take) -> ClickEvidence:
    """Tell whether the take was played to its file's grid. A written line always is."""
    if take.kind == "written":
        return _usable("a written line has its own beats")
    if take.tempo_map is None or any(note.onset_quarters is None for note in take.notes):
        return _unusable("the file counts clock time and has no beats")
    onsets = np.array([note.onset_quarters for note in take.notes], dtype=np.float64)
    onsets = onsets[runs(onsets)[0]]
    if len(onsets) < _LEAST_ONSETS:
        return _usable("too few notes to doubt the file's beats")
    beat_s = median(seconds_per_quarter(take.tempo_map, onsets))
    if not _TEMPI[0] <= 60 / beat_s <= _TEMPI[1]:
        return _unusable(f"the file's tempo, {60 / beat_s:.3g} a minute, is none to play to")
    return _judged(onsets, beat_s)


def _usable(reason: str, support: float = 0.0, lateness_s: float = 0.0) -> ClickEvidence:
    return ClickEvidence(True, reason, support, lateness_s)  # noqa: FBT003


def _unusable(reason: str, support: float = 0.0, lateness_s: float = 0.0) -> ClickEvidence:
    return ClickEvidence(False, reason, support, lateness_s)  # noqa: FBT003


def _judged(onsets: Floats, beat_s: float) -> ClickEvidence:
    stretches = _stretches(onsets)
    plain = _log_likelihoods(stretches, (1.0,), _densities())[:, 0]
    whole = plain.sum(axis=0) + _lateness_prior(beat_s)
    near = np.abs(_LATENESS) <= min(_MOST_LATE, _MOST_LATE_S / beat_s)
    shape, late = _likeliest(whole)
    if not near[late]:  # off-beats may outnumber beats; then it is half a beat off what is meant
        shape_near, late_near = _likeliest(np.where(near, whole, -np.inf))
        share = np.mean(_share_on_beats(stretches, float(_LATENESS[late_near])))
        if whole[shape_near, late_near] > whole[shape, late] / 2 and share > _SOME_BEATS:
            shape, late = shape_near, late_near
    each, lateness = plain[:, shape, late], float(_LATENESS[late])
    if (each > 0).all() and _share_on_beats(stretches, lateness).min() > _SURE:
        support = float(each.sum())  # walking: no need to try the other story
    else:
        support = _support(stretches, plain, beat_s)
    late_s = lateness * beat_s
    if support <= 0:
        return _unusable("the notes drift through the beats of the file", support)
    if not near[late]:
        reason = f"the notes lie {late_s * 1000:+.0f} ms off the beats of the file throughout"
        return _unusable(reason, support, late_s)
    return _usable("the notes keep to the beats of the file", support, late_s)


def _likeliest(whole: Floats) -> tuple[int, int]:
    return divmod(int(whole.argmax()), _BINS)


def _share_on_beats(stretches: list[Floats], lateness: float) -> Floats:
    near = [np.abs((s - lateness + 0.5) % 1.0 - 0.5) < _ON_BEAT for s in stretches]
    return np.array([np.mean(stretch) for stretch in near])


def _support(stretches: list[Floats], plain: Floats, beat_s: float) -> float:
    """Log odds of the two stories."""
    other = _other_paces(stretches)
    free = np.logaddexp(plain + np.log(_SAME_PACE), other[:, None, :])
    anyhow = _log_sum(free.reshape(len(free), -1), axis=1) - np.log(free[0].size)
    kept = np.logaddexp(
        _blurred(plain, _kernel(_WANDER_S / beat_s, 1e-6)) + np.log(1 - _STRAY),
        anyhow[:, None, None] + np.log(_STRAY),
    )
    to_click = _log_sum((kept.sum(axis=0) + _lateness_prior(beat_s)).reshape(-1), axis=0)
    drifting = _log_sum(_drifted(free).reshape(-1), axis=0) - np.log(_BINS)
    return float(to_click - drifting)


def _other_paces(stretches: list[Floats]) -> Floats:
    """Log likelihood by stretch and lateness at any pace but the file's, or at none."""
    few = _densities()[:, _FEW_SHAPES]
    told = _log_likelihoods(stretches, _OTHER_PACES, few).reshape(len(stretches), -1, _BINS)
    share = np.log(_OTHER_PACE / told.shape[1])
    with_none: Floats = np.logaddexp(_log_sum(told, axis=1) + share, np.log(_NO_PACE))
    return with_none


def _drifted(free: Floats) -> Floats:
    """Log likelihood of all stretches by shape and last lateness, where the lateness drifts."""
    kernel = _kernel(_DRIFT, _LEAP)
    along: Floats = free[0]
    for stretch in free[1:]:
        along = _blurred(along, kernel) + stretch
    return along


def _kernel(spread: float, anywhere: float) -> Floats:
    """From lateness to lateness, rows adding up to 1: near, or with a small weight anywhere."""
    near = np.exp(-0.5 * (_LATENESS / max(spread, 0.25 / _BINS)) ** 2)
    weights = (1 - anywhere) * near / near.sum() + anywhere / _BINS
    shifted: Floats = weights[_SHIFTED]
    return shifted


def _blurred(likelihoods: Floats, kernel: Floats) -> Floats:
    top = likelihoods.max(axis=-1, keepdims=True)
    blurred: Floats = np.log(np.exp(likelihoods - top) @ kernel) + top
    return blurred


def _stretches(onsets: Floats) -> list[Floats]:
    count = max(1, len(onsets) // _STRETCH)
    cut: list[Floats] = np.array_split(onsets, count)
    if count > _MOST_STRETCHES:
        chosen = np.linspace(0, count - 1, _MOST_STRETCHES).astype(np.int64)
        cut = [cut[i] for i in chosen]
    return cut


def _log_likelihoods(
    stretches: list[Floats], paces: tuple[float, ...], densities: Floats
) -> Floats:
    """By stretch, pace, shape and lateness, against onsets spread evenly."""
    row = np.repeat(np.arange(len(stretches)), [len(s) for s in stretches])
    onsets = np.concatenate(stretches)
    start = np.array([s[0] for s in stretches])[row]
    places = ((onsets - start) * np.array(paces)[:, None] + start) % 1.0
    cell = (places * _BINS + 0.5).astype(np.int64) % _BINS
    cell += (row * len(paces) + np.arange(len(paces))[:, None]) * _BINS
    size = len(stretches) * len(paces)
    counted = np.bincount(cell.reshape(-1), minlength=size * _BINS).reshape(size, _BINS)
    flat: Floats = counted @ densities.reshape(_BINS, -1)
    return flat.reshape(len(stretches), len(paces), -1, _BINS)


@lru_cache(maxsize=1)
def _densities() -> Floats:
    """Log density of places in the beat: by place, shape (spread and off-beat), lateness."""
    centre = np.arange(_BINS) / _BINS
    shapes = []
    for spread in _SPREADS:
        for off_beat in _OFF_BEATS:
            density = np.full(_BINS, _ANYTHING)
            peaks = ((0.0, _BEAT), (off_beat, _OFF_BEAT), (1 / 3, _THIRD), (2 / 3, _THIRD))
            for place, weight in peaks:
                away = (centre - place + 0.5) % 1.0 - 0.5
                density += weight * np.exp(-0.5 * (away / spread) ** 2) / (spread * 2.5066)
            shapes.append(np.log(density / density.mean()))
    return np.stack([shape[_SHIFTED] for shape in shapes], axis=1)


def _lateness_prior(beat_s: float) -> Floats:
    weight = np.exp(-0.5 * (_LATENESS / min(_LATE_S / beat_s, _LATE)) ** 2)
    prior: Floats = np.log(weight / weight.sum() * 0.99 + 0.01 / _BINS)
    return prior


def _log_sum(values: Floats, axis: int) -> Floats:
    top = values.max(axis=axis, keepdims=True)
    return np.asarray(np.log(np.exp(values - top).sum(axis=axis)) + np.squeeze(top, axis=axis))
