import pytest

from linecheck.faults import OptionFault
from linecheck.place.file_bars import bar_lines, quarters_of_given, read_given_beat_one
from linecheck.terms import FileMeter, Meter, Take, TakeNote


def take(*meters: tuple[float, int, int], pickup: float = 0.0) -> Take:
    note = TakeNote(0.0, 0.4, 40, 80, 0.0, 0.9)
    return Take(
        source="t.mid",
        kind="played",
        notes=(note,),
        tempo_map=None,
        meters=tuple(FileMeter(at, Meter(beats, unit)) for at, beats, unit in meters),
        pickup_quarters=pickup,
    )


@pytest.mark.parametrize(
    ("text", "bar", "beat", "seconds"),
    [
        ("3", 3, 1.0, None),
        ("3:2", 3, 2.0, None),
        ("bar 3 beat 2.5", 3, 2.5, None),
        ("4.2s", None, 1.0, 4.2),
        ("4 s", None, 1.0, 4.0),
    ],
)
def test_given_beat_one_is_read(
    text: str, bar: int | None, beat: float, seconds: float | None
) -> None:
    given = read_given_beat_one(text)
    assert (given.bar, given.beat, given.seconds) == (bar, beat, seconds)


@pytest.mark.parametrize("text", ["", "bar", "three", "3:", "3:0", "4.2", "1e5s", "s", "3:2:1"])
def test_a_given_beat_one_that_says_nothing_is_refused(text: str) -> None:
    with pytest.raises(OptionFault, match="first beat one"):
        read_given_beat_one(text)


def test_seconds_may_lie_before_the_take() -> None:
    assert read_given_beat_one("-3.5s").seconds == -3.5


def test_bar_lines_follow_the_meters_of_the_file() -> None:
    lines, meters = bar_lines(take((0.0, 4, 4), (8.0, 3, 4), (14.0, 6, 8)), 15.0)
    assert lines == [0.0, 4.0, 8.0, 11.0, 14.0, 17.0]
    assert [m.beats for m in meters] == [4, 4, 3, 3, 6, 6]


def test_a_meter_change_in_mid_bar_opens_a_bar() -> None:
    lines, _ = bar_lines(take((0.0, 4, 4), (6.0, 3, 4)), 8.0)
    assert lines == [0.0, 4.0, 6.0, 9.0]


def test_a_pickup_bar_is_no_bar_of_the_count() -> None:
    lines, _ = bar_lines(take((0.0, 4, 4), pickup=1.0), 6.0)
    assert lines == [1.0, 5.0, 9.0]


def test_without_a_meter_bars_are_common_time() -> None:
    lines, _ = bar_lines(take(), 4.0)  # SMF 1.0: 4/4 is assumed
    assert lines == [0.0, 4.0, 8.0]


def test_given_bar_and_beat_become_quarters() -> None:
    meters = take((0.0, 4, 4), (8.0, 6, 8))
    assert quarters_of_given(read_given_beat_one("3:4"), meters, 12.0) == 9.5


@pytest.mark.parametrize(
    ("text", "says"), [("9", "no bar 9; it has bars 1 to 3"), ("0", "no bar 0"), ("2:5", "4 beats")]
)
def test_a_bar_that_the_file_has_not_is_refused(text: str, says: str) -> None:
    with pytest.raises(OptionFault, match=says):
        quarters_of_given(read_given_beat_one(text), take((0.0, 4, 4)), 11.0)
