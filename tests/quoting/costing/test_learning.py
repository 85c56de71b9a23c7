"""The learning curve of hand work, and what it makes of a release."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.catalog import OperationRate
from quoting.costing.learning import exponent, learning_factor, summed
from quoting.costing.secondary import BenchInputs, secondary_line, worked
from quoting.intake.part import Secondary
from tests.quoting.costing.shop import some_rates

RATES, BENCH = some_rates(), BenchInputs(Decimal(34), 0.85)
LEARNT = OperationRate("assembly", Decimal(60), Decimal(0), Decimal("0.85"), "assembly_fixture")


def with_operation(rate: OperationRate):
    return replace(RATES, operations=(*RATES.operations, rate))


def labour(quantity: int, pieces: int, *asked: Secondary, rates) -> Decimal:
    return secondary_line(quantity, pieces, asked, BENCH, rates, rates.told).total


def test_sums_of_the_curve_are_those_of_a_published_table():
    # Solutions of a university text's chapter on learning curves (coursehero.com, file 6536972): 80 %, units 1-5 take
    # 3.738 and units 1-18 9.716 times the first; 70 %, from 15 minutes the first three take 34.023.
    assert summed(5, 0.8) == pytest.approx(3.738, abs=0.0005)
    assert summed(18, 0.8) == pytest.approx(9.716, abs=0.0005)
    assert 15 * summed(3, 0.7) == pytest.approx(34.023, abs=0.001)


def test_a_single_unit_of_the_curve_is_that_of_published_solutions():
    # The same: 300 h at 80 % are 178.7 h at unit 5; 85 % gives .614 at unit 8. A second text (coursepaper.com, table
    # 7S.1): 90 % gives .634 at unit 20.
    assert 300 * 5 ** exponent(0.8) == pytest.approx(178.7, abs=0.1)
    assert 8 ** exponent(0.85) == pytest.approx(0.614, abs=0.0005)
    assert 20 ** exponent(0.9) == pytest.approx(0.634, abs=0.0005)


@settings(max_examples=50)
@given(st.integers(1, 400), st.floats(0.6, 0.999), st.integers(1, 150))
def test_the_factor_is_the_mean_of_the_unit_times_summed_one_by_one(repetitions, learning, standard_at):
    # T_n = T_std (n/N)^b up to N, T_std after it: summed directly
    slope = exponent(learning)
    units = [max((n / standard_at) ** slope, 1.0) for n in range(1, repetitions + 1)]

    assert learning_factor(repetitions, learning, standard_at) == pytest.approx(sum(units) / repetitions)


@given(st.integers(1, 400), st.integers(1, 400), st.floats(0.6, 1.0))
def test_a_larger_release_never_takes_longer_a_piece_and_none_beats_the_standard(one, other, learning):
    small, large = sorted((one, other))
    in_small, in_large = (learning_factor(number, learning, 100) for number in (small, large))

    assert in_small >= in_large * (1 - 1e-12) and in_large >= 1 - 1e-12


@pytest.mark.parametrize("arguments", [(0, 0.9, 100), (10, 0.9, 0), (10, 0.0, 100), (10, 1.1, 100)])
def test_counts_and_rates_out_of_range_are_refused(arguments):
    with pytest.raises(ValueError, match="above 0"):
        learning_factor(*arguments)


def test_a_small_release_of_assembly_costs_more_a_part_and_the_line_opens_to_it():
    rates, asked = with_operation(LEARNT), Secondary("assembly", 1)
    line = secondary_line(25, 26, (asked,), BENCH, rates, rates.told)
    inputs = {one.name: one.number for one in line.inputs}

    factor = learning_factor(25, 0.85, 100)
    assert float(line.total) == pytest.approx(25 * 60 * factor / 0.85 * 34 / 3600)
    assert float(inputs["assembly, learning at this release"]) == pytest.approx(factor)
    assert (inputs["assembly, repetitions"], inputs["repetitions after which a standard holds"]) == (25, 100)
    assert line.total / 25 > labour(1200, 1213, asked, rates=rates) / 1200


def test_many_on_one_part_are_learnt_as_so_many_repetitions():
    rates = with_operation(LEARNT)
    (one,) = worked(10, 11, (Secondary("assembly", 5),), rates)

    assert float(one.factor) == pytest.approx(learning_factor(50, 0.85, 100))


def test_work_before_trim_is_done_on_the_pieces_that_trimming_spoils_too():
    rates = with_operation(OperationRate("fitting", Decimal(20), Decimal("0.45")))
    after, before = (worked(300, 304, (Secondary(name, 1),), rates)[0] for name in ("insert", "fitting"))

    assert (after.done, before.done) == (300, 304)
    assert before.material == 304 * Decimal("0.45")


def test_an_operation_that_is_not_learnt_takes_its_standard_in_any_release():
    per_part = {number: labour(number, number, Secondary("insert", 6), rates=RATES) / number for number in (1, 7, 5000)}

    assert len(set(per_part.values())) == 1
