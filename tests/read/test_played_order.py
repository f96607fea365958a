"""Repeats, endings and jumps are played out. Each case: the signs bar by bar, the bars in order.

The orders are those of common practice; bars are counted from 1 here as on paper.
"""

from __future__ import annotations

import pytest

from linecheck.read.played_order import MOST_PLAYED, played_order
from linecheck.read.score import Flow

# The signs of one bar, in the order of the staff. Endings: "[1" begins, "]" ends.
SIGNS = {
    "|:": {"opens_repeat": True},
    ":|": {"closes_repeat": 2},
    ":|x3": {"closes_repeat": 3},
    ":|after": {"closes_repeat": 2, "repeats_after_jump": True},
    "[1": {"ending": (1,)},
    "[2": {"ending": (2,)},
    "[3": {"ending": (3,)},
    "[1,2": {"ending": (1, 2)},
    "]": {"ending_stops": True},
    "segno": {"segno": ""},
    "segno2": {"segno": "2"},
    "coda": {"coda": ""},
    "to": {"to_coda": ""},
    "fine": {"fine": True},
    "DC": {"da_capo": True},
    "DS": {"dal_segno": ""},
    "DS2": {"dal_segno": "2"},
}


def order(*bars):
    flows = []
    for bar in bars:
        signs = {}
        for sign in bar.split():
            signs |= SIGNS[sign]
        flows.append(Flow(**signs))
    return "".join(
        ("'" if visit.turned_back else "") + str(visit.index + 1) for visit in played_order(flows)
    )


@pytest.mark.parametrize(
    ("bars", "expected"),
    [
        pytest.param(["", "", ""], "123", id="straight through"),
        pytest.param(["|:", ":|", ""], "12'123", id="a repeat"),
        pytest.param(["", ":|", "", ":|"], "12'1234'34", id="repeats without an opening sign"),
        pytest.param(["", "|: :|x3", ""], "12'2'23", id="three times one bar"),
        pytest.param(["|:", "", "[1 :| ]", "[2 ]", ""], "123'1245", id="two endings"),
        pytest.param(["|:", "[1 ]", ":|", "[2", "]", ""], "123'1456", id="a repeat after the first"),
        pytest.param(["|:", "[1,2 :| ]", "[3 ]", ""], "12'12'134", id="ending 1 and 2, then 3"),
        pytest.param(["|:", "[1 :| ]", "[2 :| ]", "[3 ]"], "12'13'14", id="three endings"),
        pytest.param(["|:", "[1 :| ]", "", ""], "12'134", id="only the first has a bracket"),
        pytest.param(["|:", "[1 :| ]", "[2 :| ]", ""], "12'134", id="a sign closes the second, too"),
        pytest.param(
            ["|:", "[1 :| ]", "[2 ]", "|:", "[1 :| ]", "[2 ]"], "12'134 5'46".replace(" ", ""),
            id="endings twice",
        ),
        pytest.param(["", "fine", "", "DC"], "1234'12", id="D.C. al Fine"),
        pytest.param(["", "segno", "fine", "DS"], "1234'23", id="D.S. al Fine"),
        pytest.param(["", "to", "", "DC", "coda", ""], "1234'1256", id="D.C. al Coda"),
        pytest.param(["", "segno to", "", "DS", "coda"], "1234'25", id="D.S. al Coda"),
        pytest.param(["", "coda", "", "DC", "coda"], "1234'125", id="the coda sign at both ends"),
        pytest.param(["|:", ":|", "DC", ""], "12'123'1234", id="no repeats after a jump"),
        pytest.param(["|:", ":|after", "DC"], "12'123'12'123", id="a repeat that asks for it"),
        pytest.param(
            ["|:", "[1 :| ]", "[2 fine ]", "", "DC"], "12'1345'13", id="AABA with D.C. al Fine"
        ),
        pytest.param(["", "to", "DC", "coda |:", ":|"], "123'1245'45", id="repeats in the coda"),
        pytest.param(["segno", "DS", "segno2", "DS2"], "12'1234'34", id="two signs"),
        pytest.param(["", "fine", ""], "123", id="Fine without a jump is only a word"),
        pytest.param(["", "to", "", "coda"], "1234", id="a coda without a jump"),
        pytest.param(
            ["|:", "[1 :| ]", "[2", "", "", ":|"], "12'13456'456",
            id="the sign that closes the next section is not that of a second ending",
        ),
        pytest.param(["|:", ":|", "[2 ]", ""], "12'1234", id="a second bracket without a first"),
        pytest.param(["", "segno", "", "segno DS"], "1234'234", id="a sign where D.S. stands"),
        pytest.param(["", "DS"], "12'12", id="a jump to a sign that is not there"),
        pytest.param([], "", id="nothing"),
    ],
)  # fmt: skip
def test_order(bars, expected):
    assert order(*bars) == expected


def test_an_evening_of_repeats_is_refused():
    flows = [Flow(opens_repeat=True), Flow(), Flow(closes_repeat=MOST_PLAYED)]
    with pytest.raises(ValueError, match="its repeats lead to more than 50000 measures"):
        played_order(flows)
