"""A share with its interval: against a second reckoning, at its edges, and what it covers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import beta, betabinom, norm

from linecheck.share_interval import ALIKE, difference, share_of, spread_of

COUNTS = st.lists(
    st.integers(1, 30).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))),
    min_size=1,
    max_size=6,
)
FEW = settings(max_examples=40, deadline=None)


@pytest.mark.parametrize(
    "counts", [[(10, 13)], [(9, 14), (12, 13)], [(1, 12), (3, 12), (0, 11)], [(40, 44), (43, 44)]]
)
def test_the_interval_is_that_of_the_belief_reckoned_with_scipy(counts):
    """scipy.stats.betabinom on a plain grid, far finer than ours."""
    theta = (np.arange(1500) + 0.5) / 1500
    rho = beta.ppf((np.arange(60) + 0.5) / 60, 1, ALIKE)
    weights = beta.pdf(theta, 0.5, 0.5)[:, None] * np.ones((1, 60))
    precision = 1 / rho[None, :] - 1
    for shown, asked in counts:
        weights = weights * betabinom.pmf(
            shown, asked, theta[:, None] * precision, (1 - theta[:, None]) * precision
        )
    belief = np.cumsum(weights.sum(axis=1)) / weights.sum()
    found = share_of(counts)
    assert found.low == pytest.approx(np.interp(0.025, belief, theta), abs=0.012)
    assert found.high == pytest.approx(np.interp(0.975, belief, theta), abs=0.012)


def test_nothing_asked_says_nothing():
    found = share_of([(0, 0), (0, 0)])
    assert (found.share, found.low, found.high, found.choruses) == (None, 0.0, 1.0, 0)


@FEW
@given(COUNTS)
def test_the_share_lies_within_and_the_mirrored_count_has_the_mirrored_interval(counts):
    found = share_of(counts)
    assert 0 <= found.low <= found.share <= found.high <= 1
    other = share_of([(asked - shown, asked) for shown, asked in counts])
    assert other.low == pytest.approx(1 - found.high, abs=1e-9)
    assert other.high == pytest.approx(1 - found.low, abs=1e-9)


@FEW
@given(COUNTS)
def test_the_order_of_choruses_is_nothing_and_all_kept_reaches_one(counts):
    assert share_of(counts) == share_of(counts[::-1])
    assert share_of([(n, n) for _, n in counts]).high == 1
    assert share_of([(0, n) for _, n in counts]).low == 0


def test_more_choruses_of_the_same_narrow_the_interval():
    widths = [found.high - found.low for found in (share_of([(9, 12)] * n) for n in (1, 2, 4, 8))]
    assert widths == sorted(widths, reverse=True)
    assert widths[0] > 0.5 > 2 * widths[-1]


def test_choruses_that_differ_widen_it():
    alike, unlike = share_of([(8, 12)] * 4), share_of([(12, 12), (4, 12)] * 2)
    assert unlike.share == alike.share
    assert unlike.high - unlike.low > 1.2 * (alike.high - alike.low)


def test_it_covers_what_it_claims_of_every_count_that_can_come():
    """Exact coverage for one chorus: every possible count, weighed by scipy's beta-binomial."""
    asked, rho = 13, 0.1
    found = [share_of([(shown, asked)]) for shown in range(asked + 1)]
    for share in (0.3, 0.5, 0.7, 0.8, 0.9):
        precision = 1 / rho - 1
        chances = betabinom.pmf(range(asked + 1), asked, share * precision, (1 - share) * precision)
        covered = sum(c for c, f in zip(chances, found, strict=True) if f.low <= share <= f.high)
        assert 0.94 <= covered <= 1


@FEW
@given(COUNTS, COUNTS)
def test_the_difference_the_other_way_round_is_its_negative(one, other):
    by, low, high = difference(share_of(one), share_of(other))
    back, back_low, back_high = difference(share_of(other), share_of(one))
    assert (back, back_low, back_high) == pytest.approx((-by, -high, -low))
    assert low <= by <= high


def test_the_difference_of_large_counts_is_that_of_the_normal_approximation():
    """Many choruses, each one landing: no likeness to allow for (Wald's interval, scipy's norm)."""
    one, other = [(k, 1) for k in [1] * 60 + [0] * 40], [(k, 1) for k in [1] * 75 + [0] * 25]
    by, low, high = difference(share_of(one), share_of(other))
    error = norm.ppf(0.975) * (0.6 * 0.4 / 100 + 0.75 * 0.25 / 100) ** 0.5
    assert (by, low, high) == pytest.approx((0.15, 0.15 - error, 0.15 + error), abs=0.012)


def test_a_difference_from_nothing_is_none():
    assert difference(share_of([]), share_of([(1, 2)])) is None


def test_the_spread_is_that_of_takes_that_differ():
    rng = np.random.default_rng(5)
    counts = [(int(rng.binomial(200, p)), 200) for p in rng.beta(8, 12, 80)]
    mean, spread = spread_of(counts)
    assert mean == pytest.approx(0.4, abs=0.03)
    assert spread == pytest.approx(beta.std(8, 12), abs=0.025)
