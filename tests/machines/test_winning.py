"""Chance of winning: the shrunk rates against the integral, the ageing against Bayes, order and bad input."""

from dataclasses import replace
from math import prod

import pytest
from scipy.integrate import quad
from scipy.stats import beta, binom

from machines.winning import Record, RecordError, WinningRates, chance_of_winning, shrunk_rate, size_band

RATES = WinningRates(0.3, 10, 8, 60, (20_000, 100_000))
HOUSE, NEW = Record(60, 140), Record(0, 0)


@pytest.mark.parametrize(("won", "lost"), [(0, 0), (2, 0), (0, 5), (12, 30)])
def test_a_shrunk_rate_is_the_mean_of_the_posterior_by_the_integral(won, lost):
    # Bayes' rule, integrated: scipy's binomial likelihood times its beta prior of mean .3 that is worth 8 quotes
    def weight(rate: float) -> float:
        return binom.pmf(won, won + lost, rate) * beta.pdf(rate, 8 * 0.3, 8 * 0.7)

    mean = quad(lambda rate: rate * weight(rate), 0, 1)[0] / quad(weight, 0, 1)[0]

    assert shrunk_rate(Record(won, lost), 0.3, 8) == pytest.approx(mean, rel=1e-6)


def test_ageing_is_bayes_rule_where_the_open_share_of_won_quotes_halves_against_the_lost():
    # Of quotes that will be won a share 2^(-t/20) is still open after t days, of those that will be lost 2^(-t/30):
    # the ratio halves every 60 days. Bayes' rule on the share of them that is still open.
    for age in (0, 15, 60, 200):
        open_won, open_lost = 2 ** (-age / 20), 2 ** (-age / 30)
        rate = shrunk_rate(HOUSE, 0.3, 10)
        expected = rate * open_won / (rate * open_won + (1 - rate) * open_lost)

        assert chance_of_winning(HOUSE, NEW, NEW, age, RATES).chance == pytest.approx(expected)


def test_a_customer_without_record_and_a_size_like_the_house_leave_the_house_rate():
    found = chance_of_winning(HOUSE, NEW, NEW, 0, RATES)

    assert found.chance == pytest.approx((60 + 3) / (200 + 10))
    assert [reason.odds_factor for reason in found.basis[1:]] == pytest.approx([1, 1, 1])


def test_the_basis_multiplies_to_the_odds():
    found = chance_of_winning(HOUSE, Record(9, 3), Record(5, 40), 45, RATES)

    assert prod(reason.odds_factor for reason in found.basis) == pytest.approx(found.chance / (1 - found.chance))
    assert [reason.name for reason in found.basis] == ["house", "customer", "size", "age"]


def test_a_better_record_raises_the_chance_and_age_lowers_it():
    plain = chance_of_winning(HOUSE, Record(2, 2), Record(10, 20), 10, RATES).chance

    assert chance_of_winning(HOUSE, Record(3, 2), Record(10, 20), 10, RATES).chance > plain
    assert chance_of_winning(HOUSE, Record(2, 3), Record(10, 20), 10, RATES).chance < plain
    assert chance_of_winning(HOUSE, Record(2, 2), Record(10, 30), 10, RATES).chance < plain
    assert chance_of_winning(HOUSE, Record(2, 2), Record(10, 20), 11, RATES).chance < plain


def test_one_lucky_quote_moves_a_customer_little():
    once = chance_of_winning(HOUSE, Record(1, 0), NEW, 0, RATES).chance

    assert 0.30 < once < 0.40


@pytest.mark.parametrize(("amount", "band"), [(0, 0), (19_999, 0), (20_000, 1), (99_999, 1), (1e6, 2)])
def test_bands_of_size(amount, band):
    assert size_band(amount, RATES.size_limits) == band


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: Record(-1, 0), "record"),
        (lambda: chance_of_winning(HOUSE, NEW, NEW, -1, RATES), "age"),
        (lambda: chance_of_winning(HOUSE, NEW, NEW, float("nan"), RATES), "age"),
        (lambda: size_band(-5, ()), "amount"),
        (lambda: replace(RATES, half_life=0), "half_life"),
        (lambda: replace(RATES, prior_rate=1), "prior_rate"),
        (lambda: replace(RATES, size_limits=(5, 5)), "size_limits"),
        (lambda: shrunk_rate(NEW, 0, 1), "toward, strength"),
    ],
)
def test_a_record_that_cannot_be_is_refused_by_field(make, field):
    with pytest.raises(RecordError) as refused:
        make()
    assert refused.value.field == field
