"""Factors from recorded runs: closed forms, Bayes' integral, known truths; ranges of error; runs that are not taken."""

from dataclasses import replace
from math import exp, log, sqrt

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import binom, norm, triang

from machines.runs import EFFECTS, Run, SpreadError, checked, corrected_ratios, learned, spread


def by_machine(**actual: list[float]) -> list[Run]:
    """Runs of one polymer and process, each machine with its actual amounts of an estimate of 10."""
    return [Run("J", name, "ABS", "vacuum", 10.0, each) for name, amounts in actual.items() for each in amounts]


def invented(seed: int, machines: int, runs: int, between: float, within: float) -> tuple[dict[str, float], list[Run]]:
    """True logarithms of machines, and runs with chance; each run a polymer and a process of no effect at random."""
    generator = np.random.default_rng(seed)
    truth = {f"F{n}": float(generator.normal(0, sqrt(between))) for n in range(machines)}
    made = [
        Run("J", name, f"P{generator.integers(2)}", f"R{generator.integers(2)}", 10.0,
            10 * exp(value + generator.normal(0, sqrt(within))))
        for name, value in truth.items() for _ in range(runs)
    ]  # fmt: skip
    return truth, made


def test_factors_of_one_effect_are_the_closed_form_of_shrinkage():
    runs = by_machine(F1=[13.0, 14.0, 13.5], F2=[8.0, 7.5], F3=[10.5])
    found = learned(runs)
    # Only one of the three effects differs here, polymer and process are the same for all. Whatever share of variance
    # the moments gave to each, the normal-normal posterior mean holds for what is left to the machines.
    common = log(found.factor("never", "ABS", "vacuum"))

    for factor in (one for one in found.factors if one.effect == "machine"):
        weight = found.between[0] / (found.between[0] + found.within / factor.runs)
        assert log(factor.factor) == pytest.approx(weight * (log(factor.observed) - common))


def test_weighted_runs_count_by_their_weights_as_the_closed_form_has_it():
    amounts = {
        "F1": [(13.0, 200.0), (14.0, 20.0), (13.5, 90.0)],
        "F2": [(8.0, 300.0), (7.5, 40.0)],
        "F3": [(10.5, 60.0)],
    }
    runs = [Run("J", name, "ABS", "vacuum", 10.0, *each) for name, many in amounts.items() for each in many]
    found = learned(runs)
    common = log(found.factor("never", "ABS", "vacuum"))

    for factor in (one for one in found.factors if one.effect == "machine"):
        logs, weights = np.array([(log(actual / 10), weight) for actual, weight in amounts[factor.name]]).T
        mean, whole = np.average(logs, weights=weights), weights.sum()
        share = found.between[0] / (found.between[0] + found.within / whole)
        assert log(factor.factor) == pytest.approx(share * (mean - common))


def test_a_weight_is_as_many_runs_of_weight_one_with_the_same_result():
    weighted = [Run("J", "F1", "ABS", "vacuum", 10.0, 12.0, 3.0), Run("J", "F2", "ABS", "vacuum", 10.0, 9.0)]
    chance = by_machine(F1=[11.0, 13.0], F2=[8.0, 10.0], F3=[10.0, 10.5])
    once = learned([*weighted, *chance])
    thrice = learned([Run("J", "F1", "ABS", "vacuum", 10.0, 12.0)] * 3 + weighted[1:] + chance)

    assert [one.observed for one in once.factors] == pytest.approx([one.observed for one in thrice.factors])


@pytest.mark.parametrize("scale", [0.01, 250.0])
def test_only_weights_against_each_other_count(scale):
    _, runs = invented(5, machines=8, runs=4, between=0.01, within=0.02)
    scaled = learned([replace(run, weight=scale) for run in runs])

    assert [one.factor for one in scaled.factors] == pytest.approx([one.factor for one in learned(runs).factors])


def test_with_runs_of_very_different_size_weighted_factors_are_nearer_to_the_truth_than_unweighted_ones():
    weighed, plain = [], []
    for seed in range(40):
        generator = np.random.default_rng(seed)
        truth = {f"F{n}": float(generator.normal(0, 0.1)) for n in range(12)}
        runs = []
        for name, value in truth.items():
            for size in generator.choice([1.0, 4.0, 40.0], 4):
                actual = 10 * exp(value + generator.normal(0, 0.3 / sqrt(size)))
                runs.append(Run("J", name, "ABS", "vacuum", 10.0, float(actual), float(size)))
        for found, kept in ((learned(runs), weighed), (learned([replace(one, weight=1.0) for one in runs]), plain)):
            kept += [(log(one.factor) - truth[one.name]) ** 2 for one in found.factors if one.effect == "machine"]

    assert np.mean(weighed) < 0.7 * np.mean(plain)


def test_a_factor_is_the_mean_of_bayes_posterior_by_the_integral():
    runs = by_machine(F1=[13.0, 14.0, 13.5], F2=[8.0, 7.5], F3=[10.5, 9.0])
    found = learned(runs)
    common = log(found.factor("never", "ABS", "vacuum"))
    logs = [log(run.ratio) - common for run in runs if run.machine == "F1"]

    def weight(effect: float) -> float:
        # Bayes' rule with scipy's normal densities: prior of the machines times likelihood of the runs of F1
        prior = norm.pdf(effect, 0, sqrt(found.between[0]))
        return prior * np.prod([norm.pdf(one, effect, sqrt(found.within)) for one in logs])

    mean = quad(lambda u: u * weight(u), -2, 2, points=[0, 0.3])[0] / quad(weight, -2, 2, points=[0, 0.3])[0]

    factor = next(one for one in found.factors if one.name == "F1")
    assert log(factor.factor) == pytest.approx(mean, rel=1e-5)


def test_crossed_effects_are_the_best_linear_prediction_written_with_the_full_covariance():
    generator = np.random.default_rng(3)
    runs = [
        Run("J", f"F{generator.integers(5)}", f"P{generator.integers(4)}", f"R{generator.integers(3)}", 10.0,
            float(10 * exp(generator.normal(0.1, 0.2))))
        for _ in range(60)
    ]  # fmt: skip
    found = learned(runs)
    logs = np.array([log(run.ratio) for run in runs])
    covariance = found.within * np.eye(len(runs))
    for effect, variance in zip(EFFECTS, found.between, strict=True):
        levels = np.array([getattr(run, effect) for run in runs])
        covariance += variance * (levels[:, None] == levels[None, :])
    weighted = np.linalg.solve(covariance, logs)

    for factor in found.factors:
        own = np.array([getattr(run, factor.effect) == factor.name for run in runs])
        expected = found.between[EFFECTS.index(factor.effect)] * weighted[own].sum()
        assert log(factor.factor) == pytest.approx(expected, abs=1e-9)


def test_the_variances_are_those_with_which_runs_were_made():
    between, within = [], []
    for seed in range(40):
        _, runs = invented(seed, machines=30, runs=6, between=0.02, within=0.01)
        found = learned(runs)
        between.append(found.between)
        within.append(found.within)

    assert np.mean(within) == pytest.approx(0.01, rel=0.05)
    assert np.mean([one[0] for one in between]) == pytest.approx(0.02, rel=0.15)
    assert np.mean([one[1:] for one in between]) < 0.002


def test_shrunk_factors_are_nearer_to_the_truth_than_plain_means_and_than_none():
    shrunk, plain, none = [], [], []
    for seed in range(40):
        truth, runs = invented(seed, machines=12, runs=3, between=0.006, within=0.02)
        for factor in (one for one in learned(runs).factors if one.effect == "machine"):
            value = truth[factor.name]
            shrunk.append((log(factor.factor) - value) ** 2)
            plain.append((log(factor.observed) - value) ** 2)
            none.append(value**2)

    assert np.mean(shrunk) < 0.8 * min(np.mean(plain), np.mean(none))


def test_one_run_moves_a_factor_little_and_many_move_it_far():
    others = {f"M{n}": [10.0, 10.8, 9.4] for n in range(6)} | {"up": [13.0, 12.0, 12.5], "down": [8.0, 8.4, 7.7]}
    once = learned(by_machine(**others, F1=[12.0])).factor("F1", "ABS", "vacuum")
    often = learned(by_machine(**others, F1=[12.0] * 20)).factor("F1", "ABS", "vacuum")

    assert 1.0 < once < often < 1.2


def test_where_no_two_runs_are_alike_nothing_is_learned():
    found = learned([Run("J", "F1", "ABS", "vacuum", 10, 14), Run("J", "F2", "ABS", "vacuum", 10, 8)])

    assert {one.factor for one in found.factors} == {1.0}


def test_runs_that_agree_with_the_estimate_leave_every_factor_at_one():
    found = learned(by_machine(F1=[10.0, 10.0], F2=[10.0, 10.0]))

    assert [one.factor for one in found.factors] == pytest.approx([1.0] * 4)


def test_without_runs_there_are_no_factors_and_nothing_is_corrected():
    assert learned([]).factors == ()
    assert learned([]).factor("F1", "ABS", "vacuum") == 1.0


def test_what_was_never_run_is_not_corrected():
    assert learned(by_machine(F1=[12.0, 13.0])).factor("F9", "PC", "pressure") == 1.0


def test_a_run_of_an_unknown_job_and_amounts_of_nothing_are_refused_with_the_reason():
    good = Run("J1", "F1", "ABS", "vacuum", 10, 11)
    bad = [Run("J9", "F1", "ABS", "vacuum", 10, 11), Run("J1", "F1", "ABS", "vacuum", 10, -3),
           Run("J1", "F1", "ABS", "vacuum", 0, 3), Run("J1", "F1", "ABS", "vacuum", 10, float("nan"))]  # fmt: skip

    taken, refused = checked([good, *bad], {"J1"})

    assert taken == (good,)
    assert [(one.job, one.field) for one in refused] == [
        ("J9", "job"), ("J1", "actual"), ("J1", "estimated"), ("J1", "actual"),
    ]  # fmt: skip


@pytest.mark.parametrize(("least", "most"), [(0.9, 1.12), (0.8, 1.3), (0.5, 1.67), (0.97, 1.03)])
def test_a_range_of_error_has_the_tenths_of_scipys_triangular_distribution(least, most):
    shape = triang((1 - least) / (most - least), loc=least, scale=most - least)
    ratios = shape.ppf((np.arange(20_000) + 0.5) / 20_000)

    assert spread(ratios) == pytest.approx((least, most), abs=2e-4)


def test_ratios_after_correction_lie_about_one():
    runs = by_machine(F1=[12.0, 13.0, 12.2, 12.9] * 4, F2=[9.0, 9.8, 9.1, 9.6] * 4)
    least, most = spread(corrected_ratios(runs, learned(runs)))

    assert 0.8 < least < 1 < most < 1.2


@pytest.mark.parametrize(
    ("ratios", "words"),
    [
        ([1.0] * 3, "3 runs"),
        ([1.2 + 0.01 * n for n in range(20)], "correct the factor"),
        ([0.01, 1.0, 5.0] * 10, "reach down"),
    ],
)
def test_runs_that_give_no_range_say_why(ratios, words):
    with pytest.raises(SpreadError, match=words):
        spread(ratios)


def test_scrap_of_many_machines_is_shrunk_as_the_beta_binomial_posterior_has_it():
    # scipy.stats.binom draws the runs; the mean of a beta prior, from memory, unverified: (a + lost) / (a + b + formed)
    a, b, formed, repeats, estimated = 6.0, 194.0, 500, 6, 1 / 0.97
    random = np.random.default_rng(7)
    runs, posterior = [], {}
    for machine in (f"M{number:02d}" for number in range(60)):
        share = random.beta(a, b)
        lost = binom.rvs(formed, share, size=repeats, random_state=random)
        runs += [Run("J", machine, "ABS", "vacuum", estimated, formed / (formed - one)) for one in lost]
        posterior[machine] = (a + lost.sum()) / (a + b + formed * repeats)
    found = learned(runs)
    scrap = {one: 1 - 1 / (estimated * found.factor(one, "ABS", "vacuum")) for one in posterior}

    off = np.array([scrap[one] - posterior[one] for one in posterior])
    raw = np.array([1 - 1 / (estimated * one.observed) for one in found.factors if one.effect == "machine"])
    assert np.abs(off).max() < 0.004 and np.sqrt((off**2).mean()) < 0.0015  # of shares about 0.03
    spread_of = np.std(list(scrap.values())), np.std(raw)
    assert spread_of[0] < spread_of[1]
