"""A second reckoning of the least cost of a short line: every way tried, one number at a time.

Nothing of ``linecheck.left_hand`` is used but the numbers of the costs. It is slow and plain on
purpose, and written from the words of ``costs.toml`` and the module that explains positions.
"""

from __future__ import annotations

from itertools import product
from math import inf

SECOND_POSITION = 3


def ways(pitch, strings, costs):
    """(string, finger, note above the hand's place, kind, place, anchor) of every way; no extension."""
    neck = [
        ("neck", place, anchor)
        for place, turn in product(range(1, costs.neck_to + 1), (-1, 0, 1))
        if 1 <= (anchor := place + turn) <= costs.neck_to
    ]
    thumb = [("thumb", place, place) for place in range(costs.thumb_from, costs.board + 1)]
    found = []
    for string, open_note in enumerate(strings):
        stop = pitch - open_note
        for hand in neck + thumb:
            kind, place, _ = hand
            if stop == 0:
                found.append((string, "open", 0, *hand))
            elif kind == "neck" and 0 < stop <= costs.board:
                if stop - place in (0, 1, 2):
                    found.append((string, 1 + stop - place, stop - place, *hand))
            elif 0 < stop <= costs.board:
                for finger, octave_reach in enumerate((0, costs.first, costs.second, costs.third)):
                    above = stop - place
                    reached = finger <= above and reaches(octave_reach, place, above)
                    if reached and (finger or not above):
                        found.append((string, finger, above, *hand))
    return found


def reaches(at_octave, place, half_steps):
    """Whether a stretch of so many half steps is no longer than the one at the octave, as a string."""
    longest = 0.5 - 2 ** (-(12 + at_octave) / 12)
    return 2 ** (-place / 12) - 2 ** (-(place + half_steps) / 12) <= longest + 1e-9


def by_itself(way, strings, costs):
    string, finger, _, kind, place, _ = way
    if finger == "open":
        return 0.0
    low = (len(strings) - 1 - string) * max(0, place - SECOND_POSITION)
    thumb = costs.in_thumb if kind == "thumb" else 0.0
    return costs.stopped + thumb + costs.height * (place - 1) + costs.high_on_low * low


def from_to(a, b, note, following, costs):
    """What it costs to go from way ``a`` of a note to way ``b`` of the next."""
    time_s = following.onset_s - note.onset_s
    ease = min(costs.most, max(costs.least, costs.even_s / time_s))
    if a[1] == "open" or time_s - note.duration_s >= costs.rest_s:
        ease *= costs.free
    total = costs.crossing * abs(a[0] - b[0])
    if note.pitch == following.pitch and (a[0], a[1]) != (b[0], b[1]):
        total += costs.another_finger
    if a[3:] == b[3:]:
        return total + within(a, b, costs)
    if a[3] == b[3] == "neck" and a[5] == b[5] and abs(a[4] - b[4]) == 1:
        return total + ease * costs.pivot
    if b[4] != b[5] or (a[3] == b[3] and a[4] == b[4]):
        return inf
    first = [way[4] + (2 if way[3] == "thumb" else 0) for way in (a, b)]
    shift = costs.start + costs.half_step * abs(first[0] - first[1])
    if a[3] != b[3]:
        shift += costs.thumb
    return total + ease * shift


def within(a, b, costs):
    """In one position of the hand: a finger across strings, and what a thumb position allows."""
    if "open" in (a[1], b[1]):
        return 0.0
    barred = costs.same_finger if a[0] != b[0] and a[1] == b[1] else 0.0
    if a[3] == "neck":
        return barred
    if a[1] == b[1]:
        return barred + costs.slide * abs(a[2] - b[2]) if abs(a[2] - b[2]) <= 1 else inf
    low, high = sorted((a, b), key=lambda way: way[1])
    apart, fingers = high[2] - low[2], high[1] - low[1]
    if apart < (fingers if a[0] == b[0] else 0):
        return inf
    if low[1] and not reaches(fingers * costs.neighbours, a[4], max(apart, 0)):
        return inf
    return 0.0


def least_cost(notes, strings, costs):
    """The least of all paths, each tried to its end."""
    options = [ways(note.pitch, strings, costs) for note in notes]

    def onward(index, way):
        own = by_itself(way, strings, costs)
        if index + 1 == len(notes):
            return own
        return own + min(
            onward(index + 1, other) + from_to(way, other, notes[index], notes[index + 1], costs)
            for other in options[index + 1]
        )

    return min(onward(0, way) for way in options[0])
