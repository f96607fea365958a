"""Every beat of a take without a click, from its onsets alone.

A *beat* is one unit of the meter's lower figure. The rhythm alone often leaves open which level is
the beat and whether the on- or the off-beats are meant, so ``track_beats`` gives several readings
on one scale and the harmony decides (``free_time``). Times are seconds, positions are beats.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from linecheck.place.beat_fit import Warp, fit, learned_feel
from linecheck.place.beat_lattice import ANY_FEEL, ANY_HAND, Hand, best_paths, paths_of_hands
from linecheck.place.rhythm_likelihood import block_scores, chain, styles_of
from linecheck.place.sorted_arrays import median

if TYPE_CHECKING:
    from linecheck.place.beat_lattice import Feel, Path
    from linecheck.place.rhythm_likelihood import Styles

Array = NDArray[np.float64]

LOW_BPM, HIGH_BPM = 60.0, 300.0
TEMPO_MARGIN = 1.12  # how far a take may drift beyond the range that its mean tempo keeps to
BAND = 1.2  # of tempos around the found one, for the closer look
# The closer look is taken with hands from one that hardly moves the tempo to one that lets it sway.
HANDS = (
    Hand(0.0015, 30.0, 2.0),
    Hand(0.004, 8.0, 1.0),
    Hand(0.012, 8.0, 0.7),
    Hand(0.03, 8.0, 1.0),
)
# A drift of a tenth within a short take is steep: such takes are also looked at without a ramp and
# without an arch (log length of the beat from −1, the first onset, to 1, the last).
SHORT_S = 90.0
TRENDS = ((0.0, 0.08), (0.0, -0.08), (-0.07, 0.0, 0.14), (0.07, 0.0, -0.14))
CLOSER_LOOKS = 2  # at most; the second where the first has led to unlike beats
# A grid whose tempo changes by so much, over so many beats, is looked at again in narrow ranges.
BENT, BENT_BEATS, NARROW = 1.4, 16, 1.3
READINGS = 10  # that the harmony hears
NEAR_BEATS, NEARLY_ALL = 0.12, 0.97  # grids that are so near are one
LEAST_ONSETS, LEAST_S = 4, 2.0
GHOST_VELOCITY, GHOST_TRUST = 0.45, 0.5  # of the median velocity; how far a ghost counts
LEAST_JITTER_S = 0.012
# Levels beside the found one: beats of the reading for one beat of the found grid, with the
# phases (in beats of the found grid) that the reading's beat may have there.
LEVELS: tuple[tuple[float, tuple[float, ...]], ...] = (
    (1.0, (0.0,)),
    (2.0, (0.0,)),
    (0.5, (0.0, 1.0)),
    (3.0, (0.0,)),
    (1.5, (0.0, 1 / 3)),
    (2 / 3, (0.0, 0.5, 1.0)),
    (1 / 3, (0.0, 1.0, 2.0)),
    (4.0, (0.0,)),
    (0.25, (0.0, 1.0, 2.0, 3.0)),
    (0.75, (0.0, 1 / 3, 2 / 3, 1.0)),
    (4 / 3, (0.0, 0.25, 0.5)),
)
STRUCK_SHARE = 0.08  # of the onsets on a part of the beat, for it to be tried as the beat
TEMPO_SPREAD = 0.45  # of the log tempo around the middle of its range, hand-set
HINT_SPREAD = 0.08  # of the log tempo around a hint
HINT_TRUST = 0.8
# Measured on onsets by chance, 8 to 400 of them, and on synthetic takes.
CHANCE_GAIN, CHOICE_GAIN, GAIN_SPREAD = 0.22, 10.0, 0.05


@dataclass(frozen=True, slots=True)
class BeatCandidate:
    """One reading of where the beats are.

    Attributes:
        beats_s: ascending times of the beats, from before the first onset to after the last.
        positions: every onset in beats from ``beats_s[0]``.
        log_likelihood: natural log of the density of the onsets (notes a second) times the prior of
            the tempo; only differences between readings of one take mean something.
        bpm: beats a minute over the whole take.
        jitter_s: spread of the onsets around the parts of the beat.
        swing: where in the beat its off-beat falls, 0 to 1.
        steadiness: 0 to 1, how much better a steady beat explains the onsets than chance does.
    """

    beats_s: Array
    positions: Array
    log_likelihood: float
    bpm: float
    jitter_s: float
    swing: float
    steadiness: float


def track_beats(
    onsets_s: Array,
    velocities: Array,
    *,
    tempo_hint: float | None = None,
    beats_per_bar: int = 4,
    bpm_range: tuple[float, float] = (LOW_BPM, HIGH_BPM),
    most: int = READINGS,
) -> list[BeatCandidate]:
    """Unlike readings of a take's beats, most likely first by rhythm alone.

    Args:
        onsets_s: onsets in seconds, ascending.
        velocities: of the same notes; only their proportions count.
        tempo_hint: beats a minute that are likely, or None.
        beats_per_bar: beats of a bar: by twos, threes or fives the long notes fall.
        bpm_range: slowest and fastest mean tempo in beats a minute.
        most: so many readings at most.

    Returns:
        No reading where fewer than four onsets or less than two seconds were given.
    """
    if len(onsets_s) < LEAST_ONSETS or onsets_s[-1] - onsets_s[0] < LEAST_S:
        return []
    styles = styles_of(beats_per_bar)
    weights = np.where(velocities < GHOST_VELOCITY * median(velocities), GHOST_TRUST, 1.0)
    rated = _Rated(onsets_s, weights, styles, tempo_hint, bpm_range)
    rated.add(_first_look(onsets_s, weights, bpm_range))
    if not rated.readings:
        return []
    for range_ in _tempos_of_a_bent_grid(rated.best(), bpm_range):
        rated.add(_first_look(onsets_s, weights, range_))
    looked_at: BeatCandidate | None = None
    for _ in range(CLOSER_LOOKS):
        best = rated.best()
        if looked_at is not None and _same(best, looked_at):
            break
        rated.add(_closer_look(best, onsets_s, weights))
        looked_at = best
    found = sorted(rated.readings, key=lambda c: -c.log_likelihood)
    unlike: list[BeatCandidate] = []
    for reading in found:
        if len(unlike) == most:
            break
        if not any(_same(reading, other) for other in unlike):
            unlike.append(reading)
    return unlike


def _tempos_of_a_bent_grid(
    found: BeatCandidate, bpm_range: tuple[float, float]
) -> list[tuple[float, float]]:
    """Narrow ranges about the tempos of a grid that goes from one to another; else none.

    A line that is in two at first and then in four draws a grid along that doubles its tempo.
    """
    if len(found.beats_s) <= BENT_BEATS:
        return []
    lengths = (found.beats_s[BENT_BEATS:] - found.beats_s[:-BENT_BEATS]) / BENT_BEATS
    fastest, slowest = 60.0 / float(lengths.min()), 60.0 / float(lengths.max())
    if fastest < BENT * slowest:
        return []
    low, high = bpm_range
    ranges = ((max(low, bpm / NARROW), min(high, bpm * NARROW)) for bpm in (fastest, slowest))
    return [(a, b) for a, b in ranges if a < b]


def _same(reading: BeatCandidate, other: BeatCandidate) -> bool:
    """Whether two readings count nearly all onsets alike, from whichever beat."""
    away = reading.positions - other.positions
    away -= np.rint(median(away))
    return bool(np.mean(np.abs(away) < NEAR_BEATS) > NEARLY_ALL)


class _Rated:
    """Readings of unlike grids, each with its likelihood by the rhythm and the tempo.

    Attributes:
        readings: those so far, as they came.
    """

    def __init__(
        self,
        onsets_s: Array,
        weights: Array,
        styles: Styles,
        tempo_hint: float | None,
        bpm_range: tuple[float, float],
    ) -> None:
        self.readings: list[BeatCandidate] = []
        self._warps: list[Warp] = []
        self._onsets_s, self._weights, self._styles = onsets_s, weights, styles
        self._tempo_hint, self._bpm_range = tempo_hint, bpm_range

    def add(self, warps: list[Warp]) -> None:
        """Rate the readings of those grids that are like none so far."""
        made, tables = [], []
        for warp in warps:
            if any(_alike(warp, other) for other in self._warps):
                continue
            self._warps.append(warp)
            for level, phase in _levels(warp, self._weights, self._bpm_range):
                reading, table = _reading(warp, level, phase, self._weights, self._styles)
                made.append(reading)
                tables.append(table)
        if not made:
            return
        told = self._tempo_hint is not None
        for reading, score in zip(made, chain(tables, self._styles).tolist(), strict=True):
            prior = _tempo_prior(reading.bpm, self._tempo_hint, self._bpm_range)
            steadiness = _steadiness(self._onsets_s, score, told=told)
            self.readings.append(
                replace(reading, log_likelihood=prior + score, steadiness=steadiness)
            )

    def best(self) -> BeatCandidate:
        """The likeliest reading."""
        return max(self.readings, key=lambda c: c.log_likelihood)


def _first_look(onsets_s: Array, weights: Array, bpm_range: tuple[float, float]) -> list[Warp]:
    """Grids of beats by what is expected of anybody."""
    low, high = bpm_range[0] / TEMPO_MARGIN, bpm_range[1] * TEMPO_MARGIN
    paths = best_paths(onsets_s, low, high)
    if onsets_s[-1] - onsets_s[0] < SHORT_S:
        for trend in TRENDS:
            drift = _Drift(onsets_s, np.polynomial.Polynomial(trend))
            paths += drift.paths(onsets_s, low, high, ANY_FEEL, (ANY_HAND,), most=2)[0]
        paths.sort(key=lambda path: -path.log_score)
    return [fit(path, onsets_s, weights) for path in _unlike(paths)]


def _closer_look(found: BeatCandidate, onsets_s: Array, weights: Array) -> list[Warp]:
    """Grids near a found one, by what the take shows on it, with hands of every kind."""
    warp = Warp(found.beats_s, found.positions, found.jitter_s)
    usual = 60.0 * len(warp.beats_s) / (warp.beats_s[-1] - warp.beats_s[0])
    near, feel = (usual / BAND, usual * BAND), learned_feel(warp)
    drift = _Drift.of(warp, onsets_s)
    by_hand = drift.paths(onsets_s, *near, feel, HANDS, most=1)
    # A found grid that slides from the beats to the off-beats has a drift that is not the take's.
    by_hand += paths_of_hands(onsets_s, *near, feel, HANDS, most=2)
    return [fit(path, onsets_s, weights) for paths in by_hand for path in paths]


class _Drift:
    """The long drift of a take's tempo, and its time as it would be without.

    ``curve`` is the log length of a beat over the take, which goes from −1 to 1. A path that would
    have to follow the drift by jerks need not where the time has been evened.
    """

    def __init__(self, onsets_s: Array, curve: np.polynomial.Polynomial) -> None:
        centre, span = _middle(onsets_s)
        self.times_s = np.arange(onsets_s[0] - 4.0, onsets_s[-1] + 4.0, 0.25)
        log_length = curve(np.clip((self.times_s - centre) / span, -1, 1))
        self.log_pace = np.mean(log_length) - log_length
        pace = np.exp(self.log_pace)
        self.even_s = np.concatenate([[0.0], np.cumsum((pace[1:] + pace[:-1]) / 2 * 0.25)])

    @classmethod
    def of(cls, warp: Warp, onsets_s: Array) -> _Drift:
        """A curve of the third degree through the beats of a warp."""
        centre, span = _middle(onsets_s)
        middles = (warp.beats_s[1:] + warp.beats_s[:-1]) / 2
        lengths = np.log(np.diff(warp.beats_s))
        return cls(onsets_s, np.polynomial.Polynomial.fit((middles - centre) / span, lengths, 3))

    def paths(
        self,
        onsets_s: Array,
        low_bpm: float,
        high_bpm: float,
        feel: Feel,
        hands: tuple[Hand, ...],
        *,
        most: int,
    ) -> list[list[Path]]:
        """For each hand the best paths through the evened onsets, in the take's own time."""
        even = np.interp(onsets_s, self.times_s, self.even_s)
        # A density over evened time is one over time by the pace at each onset.
        more = float(np.interp(onsets_s, self.times_s, self.log_pace).sum())
        return [
            [
                replace(
                    path,
                    times_s=np.interp(path.times_s, self.even_s, self.times_s),
                    log_score=path.log_score + more,
                )
                for path in paths
            ]
            for paths in paths_of_hands(even, low_bpm, high_bpm, feel, hands, most=most)
        ]


def _middle(onsets_s: Array) -> tuple[float, float]:
    """The middle of a take, and how far its ends lie from there."""
    return float(onsets_s[0] + onsets_s[-1]) / 2, float(onsets_s[-1] - onsets_s[0]) / 2


def _alike(warp: Warp, other: Warp) -> bool:
    """Whether nearly all beats of two warps are the same."""
    nearest = np.interp(warp.beats_s, other.beats_s, np.arange(len(other.beats_s)))
    away = np.abs(nearest - np.rint(nearest))
    return bool(np.mean(away < NEAR_BEATS) > NEARLY_ALL)


def _unlike(paths: list[Path], most: int = 2) -> list[Path]:
    """Paths that are not one another's at another level or by a few beats at the end."""
    first, last = paths[0].times_s[[0, -1]].tolist()
    times_s = np.linspace(first, last, len(paths[0].times_s))
    kept: list[tuple[Path, Array]] = []
    for path in paths:
        rate = np.maximum(np.diff(np.interp(times_s, path.times_s, path.positions)), 1e-3)
        for _, other in kept:
            ratio = rate / other
            if np.mean(np.abs(ratio / median(ratio) - 1) < 0.08) > 0.7:
                break
        else:
            kept.append((path, rate))
        if len(kept) == most:
            break
    return [path for path, _ in kept]


def _levels(
    warp: Warp, weights: Array, bpm_range: tuple[float, float]
) -> list[tuple[float, float]]:
    """Levels within the range of tempos, with their phases."""
    bpm = 60.0 * (len(warp.beats_s) - 1) / (warp.beats_s[-1] - warp.beats_s[0])
    struck = _struck(warp, weights)
    found: list[tuple[float, float]] = []
    for level, phases in LEVELS:
        if not bpm_range[0] / 1.06 <= bpm * level <= bpm_range[1] * 1.06:
            continue
        tried: list[float] = []
        for phase in (*phases, *(p % min(1.0, 1 / level) for p in struck)):
            # Within the beat of the reading, the way round.
            if all(abs((phase - t) * level - round((phase - t) * level)) > 0.11 for t in tried):
                tried.append(phase)
        found.extend((level, phase) for phase in tried)
    return found


def _struck(warp: Warp, weights: Array) -> list[float]:
    """Places in the beat where this take strikes often: the beat may be any of them."""
    counts, _ = np.histogram(warp.positions % 1.0, 48, (0.0, 1.0), weights=weights)
    wide = np.concatenate([counts[-2:], counts, counts[:2]])
    heap = np.convolve(wide, [0.5, 1.0, 1.0, 1.0, 0.5], mode="valid") / max(1e-9, counts.sum())
    found: list[float] = []
    for index in np.argsort(-heap).tolist():
        place = (index + 0.5) / 48
        if heap[index] < STRUCK_SHARE or len(found) == 4:
            break
        if all(0.12 < abs(place - f) < 0.88 for f in (0.0, *found)):
            found.append(place)
    return found


def _reading(
    warp: Warp, level: float, phase: float, weights: Array, styles: Styles
) -> tuple[BeatCandidate, Array]:
    """A warp read at another level, and its table of styles; its log-likelihood is still 0."""
    first = np.floor((warp.positions[0] - phase) * level)
    last = np.ceil((warp.positions[-1] - phase) * level)
    beats_s = _times_at(np.arange(first, last + 1.0) / level + phase, warp.beats_s)
    positions = (warp.positions - phase) * level - first
    periods = np.interp(positions, np.arange(len(beats_s) - 1) + 0.5, np.diff(beats_s))
    jitter = max(warp.jitter_s, LEAST_JITTER_S)
    table, swing = block_scores(positions, periods, jitter, weights, styles)
    bpm = 60.0 * (len(beats_s) - 1) / float(beats_s[-1] - beats_s[0])
    return BeatCandidate(beats_s, positions, 0.0, bpm, warp.jitter_s, swing, 0.0), table


def _steadiness(onsets_s: Array, log_likelihood: float, *, told: bool) -> float:
    """How steady the beat is: nats a note against onsets by chance at the take's own rate.

    Onsets by chance gain up to ``CHANCE_GAIN`` a note and, in a short take, more from the freedom
    to choose among tempos, which a hint takes away.
    """
    count = len(onsets_s)
    by_chance = count * np.log(count / (onsets_s[-1] - onsets_s[0])) - count
    gain = (log_likelihood - float(by_chance)) / count
    centre = CHANCE_GAIN + (CHOICE_GAIN / 2 if told else CHOICE_GAIN) / count
    return float(1 / (1 + np.exp(-(gain - centre) / GAIN_SPREAD)))


def _times_at(where: Array, beats_s: Array) -> Array:
    """Times of places on a grid, going on at its outer tempos beyond its ends."""
    count = len(beats_s)
    times = np.interp(where, np.arange(count), beats_s)
    head, tail = beats_s[1] - beats_s[0], beats_s[-1] - beats_s[-2]
    times = np.where(where < 0, beats_s[0] + where * head, times)
    return np.where(where > count - 1, beats_s[-1] + (where - count + 1) * tail, times)


def _tempo_prior(bpm: float, hint: float | None, bpm_range: tuple[float, float]) -> float:
    typical = float(np.sqrt(bpm_range[0] * bpm_range[1]))
    wide = np.exp(-0.5 * (np.log(bpm / typical) / TEMPO_SPREAD) ** 2) / TEMPO_SPREAD
    if hint is None:
        return float(np.log(wide))
    near = np.exp(-0.5 * (np.log(bpm / hint) / HINT_SPREAD) ** 2) / HINT_SPREAD
    return float(np.log(HINT_TRUST * near + (1 - HINT_TRUST) * wide))
