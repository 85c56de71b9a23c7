"""The draws behind the range of error: the distribution that they claim, spread evenly, always the same."""

import numpy as np
import pytest

from quoting.catalog import Spread
from quoting.costing.draws import DRAWS, even_chances, triangular

SPREAD = Spread("cycle", 0.9, 1.3)


def test_every_slice_of_every_input_holds_one_draw():
    slices = np.sort(np.floor(even_chances(3, 500) * 500).astype(int), axis=1)
    assert (slices == np.arange(500)).all()


def test_the_draws_are_the_same_each_time_and_others_with_another_seed():
    first = even_chances(16).copy()
    even_chances.cache_clear()
    assert (even_chances(16) == first).all()
    assert not (even_chances(16, DRAWS, 7) == first).any(axis=1).any()


def test_no_two_inputs_go_together():
    together = np.corrcoef(even_chances(16))
    # of 120 pairs of 4,096 independent draws the largest correlation is about 2.9/sqrt(4096) = 0.045
    assert np.abs(together - np.eye(16)).max() < 0.065


def test_the_chances_are_kept_from_being_changed():
    with pytest.raises(ValueError, match="read-only"):
        even_chances(16)[0, 0] = 0.5


def test_the_factors_are_those_of_a_general_library():
    from scipy.stats import triang

    chance = np.linspace(0, 1, 101)
    # scipy.stats.triang, its own inverse
    theirs = triang.ppf(chance, c=(1 - 0.9) / 0.4, loc=0.9, scale=0.4)
    assert triangular(chance, SPREAD) == pytest.approx(theirs, abs=1e-12)


def test_mean_and_variance_are_those_of_the_closed_form():
    drawn = triangular(even_chances(1)[0], SPREAD)
    low, peak, high = 0.9, 1.0, 1.3
    # triangular distribution: mean (a + b + c)/3, variance (a2 + b2 + c2 - ab - ac - bc)/18
    assert drawn.mean() == pytest.approx((low + peak + high) / 3, rel=1e-5)
    variance = (low**2 + peak**2 + high**2 - low * peak - low * high - peak * high) / 18
    assert drawn.var() == pytest.approx(variance, rel=1e-3)


@pytest.mark.parametrize(("least", "most"), [(1.0, 1.0), (1.0, 1.2), (0.8, 1.0)])
def test_a_spread_to_one_side_or_to_none_stays_within_its_ends(least, most):
    drawn = triangular(even_chances(1)[0], Spread("cycle", least, most))
    assert least <= drawn.min() <= drawn.max() <= most
    assert drawn.mean() == pytest.approx((least + 1 + most) / 3, abs=1e-4)
