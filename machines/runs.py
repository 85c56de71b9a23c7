"""What recorded runs teach: correction factors by machine, polymer and process, and how far estimates are off.

Logarithms of actual over estimated are taken as a sum of one effect each of machine, polymer and process around zero,
and chance: ``log(actual / estimated) = u[machine] + u[polymer] + u[process] + e``. The variances are found by moments,
the effects by best linear unbiased prediction: with few runs, or where groups differ no more than chance does, a factor
stays near one.
"""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from math import exp, isfinite, log, sqrt

import numpy as np
from scipy.optimize import brentq, nnls

EFFECTS = ("machine", "polymer", "process")
LEAST_VARIANCE = 1e-12  # so that repeats that agree exactly do not divide by nothing
TAIL = 0.1  # share of runs below P10 and above P90
LEAST_RUNS = 10  # for a range of error: a tenth is then one run; common practice, no source


class SpreadError(ValueError):
    """Runs that give no range of error about the estimate; says why."""


@dataclass(frozen=True)
class Run:
    """What a finished run took of one measure, as hours of forming, hours of set-up, shots lost."""

    job: str
    machine: str
    polymer: str
    process: str
    estimated: float
    actual: float
    weight: float = 1.0  # what it tells against others: the variance of chance is that of weight one over this

    @property
    def ratio(self) -> float:
        return self.actual / self.estimated


@dataclass(frozen=True)
class Refused:
    """A run that was not taken, with what is wrong."""

    job: str
    field: str
    given: str
    accepted: str


@dataclass(frozen=True)
class Factor:
    """By what estimates are multiplied. ``observed`` is the geometric mean of actual over estimated, unshrunk."""

    effect: str  # of EFFECTS
    name: str
    runs: int
    observed: float
    factor: float


@dataclass(frozen=True)
class Learned:
    """All factors of one measure with the variances of logarithms that they rest on."""

    factors: tuple[Factor, ...]
    within: float  # of runs alike
    between: tuple[float, ...]  # in the order of EFFECTS

    def factor(self, machine: str, polymer: str, process: str) -> float:
        """Product of the three factors; one for what was never run."""
        asked = dict(zip(EFFECTS, (machine, polymer, process), strict=True))
        found = 1.0
        for each in self.factors:
            if asked[each.effect] == each.name:
                found *= each.factor
        return found


def checked(runs: Collection[Run], jobs: Collection[str]) -> tuple[tuple[Run, ...], tuple[Refused, ...]]:
    """Runs that can be learned from, and those that cannot with the reason.

    Parameters
    ----------
    runs : collection of Run
        As recorded [-].
    jobs : collection of str
        Jobs that are known [-].

    Returns
    -------
    taken : tuple of Run
        [-]
    refused : tuple of Refused
        Runs of unknown jobs, and amounts that are not above 0 [-].
    """
    known, taken, refused = set(jobs), [], []
    for run in runs:
        bad = next((name for name in ("estimated", "actual", "weight") if not _above_zero(getattr(run, name))), None)
        if run.job not in known:
            refused.append(Refused(run.job, "job", run.job, "a job that was ordered"))
        elif bad is not None:
            refused.append(Refused(run.job, bad, str(getattr(run, bad)), "an amount above 0"))
        else:
            taken.append(run)
    return tuple(taken), tuple(refused)


def _above_zero(amount: float) -> bool:
    return isfinite(amount) and amount > 0


def learned(runs: Collection[Run]) -> Learned:
    """Correction factors, shrunk toward one.

    With one effect alone a factor is ``exp(t / (t + s / n) * mean)``, ``t`` the variance between groups, ``s`` within,
    ``n`` the sum of the weights of its runs, ``mean`` its weighted mean logarithm. Without two runs alike nothing is
    known of chance: all factors are one.

    Parameters
    ----------
    runs : collection of Run
        As ``checked`` lets pass [-].

    Returns
    -------
    learned : Learned
        [-]

    References
    ----------
    Variances: C. R. Henderson (1953), method 1, about a mean of zero; prediction: his mixed-model equations. Both from
    memory, unverified.

    Examples
    --------
    >>> runs = [Run("J", "F1", "ABS", "vacuum", 10, actual) for actual in (11, 12, 11, 12)]
    >>> 1 < learned(runs).factor("F1", "ABS", "vacuum") < 1.15
    True
    """
    runs = tuple(runs)
    logs, weights = np.array([log(run.ratio) for run in runs]), np.array([run.weight for run in runs])
    names, members = _members(runs)
    within = _within(runs)
    if within is None:
        between = np.zeros(len(EFFECTS))
        effects = np.zeros(sum(map(len, names)))
    else:
        between = _between(members, logs, weights, within)
        effects = _predicted(members, logs, weights, within, between)
    factors, place = [], 0
    for effect, levels, member in zip(EFFECTS, names, members, strict=True):
        for number, name in enumerate(levels):
            own = member == number
            mean = np.average(logs[own], weights=weights[own])
            factors.append(Factor(effect, name, int(own.sum()), exp(mean), exp(effects[place])))
            place += 1
    return Learned(tuple(factors), 0.0 if within is None else within, tuple(float(each) for each in between))


def _members(runs: tuple[Run, ...]) -> tuple[list[list[str]], list[np.ndarray]]:
    """Levels of each effect in order, and the number of each run's level."""
    names = [sorted({getattr(run, effect) for run in runs}) for effect in EFFECTS]
    members = [
        np.array([levels.index(getattr(run, effect)) for run in runs], dtype=int)
        for effect, levels in zip(EFFECTS, names, strict=True)
    ]
    return names, members


def _within(runs: tuple[Run, ...]) -> float | None:
    """Variance of runs alike at weight one, pooled; None where no two are."""
    cells: dict[tuple, list[tuple[float, float]]] = defaultdict(list)
    for run in runs:
        cells[run.machine, run.polymer, run.process].append((log(run.ratio), run.weight))
    freedom = sum(len(cell) - 1 for cell in cells.values())
    if not freedom:
        return None
    squares = sum(_squares(*np.array(cell).T) for cell in cells.values())
    return max(squares / freedom, LEAST_VARIANCE)


def _squares(logs: np.ndarray, weights: np.ndarray) -> float:
    return float(np.sum(weights * (logs - np.average(logs, weights=weights)) ** 2))


def _between(members: list[np.ndarray], logs: np.ndarray, weights: np.ndarray, within: float) -> np.ndarray:
    """Variances between groups, so that squared group totals over weights come out in sum as observed; none below 0."""
    size = len(members)
    expected, observed = np.zeros((size, size)), np.zeros(size)
    for row, member in enumerate(members):
        whole = np.bincount(member, weights)
        observed[row] = float(np.sum(np.bincount(member, weights * logs) ** 2 / whole)) - len(whole) * within
        for column, other in enumerate(members):
            together = np.zeros((len(whole), other.max() + 1))
            np.add.at(together, (member, other), weights)
            expected[row, column] = float(np.sum(together**2 / whole[:, None]))
    return nnls(expected, np.maximum(observed, 0.0))[0]


def _predicted(
    members: list[np.ndarray], logs: np.ndarray, weights: np.ndarray, within: float, between: np.ndarray
) -> np.ndarray:
    """Effects of all levels one after another, from the mixed-model equations; 0 where groups do not differ."""
    levels = [int(member.max()) + 1 for member in members]
    variance = np.repeat(between, levels)
    starts = np.concatenate([[0], np.cumsum(levels)[:-1]])
    design = np.zeros((len(logs), sum(levels)))
    for start, member in zip(starts, members, strict=True):
        design[np.arange(len(logs)), start + member] = 1.0
    moves = variance > 0
    used, result = design[:, moves], np.zeros(sum(levels))
    equations = used.T @ (weights[:, None] * used) / within + np.diag(1 / variance[moves])
    result[moves] = np.linalg.solve(equations, used.T @ (weights * logs) / within)
    return result


def spread(ratios: Collection[float], least_runs: int = LEAST_RUNS) -> tuple[float, float]:
    """Least and most of the triangular distribution with its peak at one that has the P10 and P90 of these ratios.

    Parameters
    ----------
    ratios : collection of float
        Actual over corrected estimate [-], above 0.
    least_runs : int
        So many are asked for [count], above 0.

    Returns
    -------
    least, most : float
        Below and above one [-].

    Raises
    ------
    SpreadError
        There are too few, or P10 and P90 lie on one side of one (a factor is to be corrected first), or the range
        would reach below 0.
    """
    if len(ratios) < least_runs:
        raise SpreadError(f"{len(ratios)} runs; a range of error takes {least_runs}")
    low, high = np.quantile(np.array(list(ratios), dtype=float), (TAIL, 1 - TAIL))
    below, above = 1 - float(low), float(high) - 1
    if not (below > 0 and above > 0):
        raise SpreadError(
            f"P10 is {low:.3f} and P90 {high:.3f}: one does not lie between them, correct the factor first"
        )

    def reach(share: float) -> float:  # of the width, from the tail's limit to the peak, with ``share`` on that side
        return share - sqrt(TAIL * share)

    peak = brentq(lambda share: reach(share) * above - reach(1 - share) * below, TAIL, 1 - TAIL)
    width = (below + above) / (reach(peak) + reach(1 - peak))
    least, most = 1 - width * peak, 1 + width * (1 - peak)
    if not least > 0:
        raise SpreadError(f"the range would reach down to {least:.3f}; a ratio is above 0")
    return least, most


def corrected_ratios(runs: Collection[Run], found: Learned) -> tuple[float, ...]:
    """Actual over corrected estimate of each run.

    Parameters
    ----------
    runs : collection of Run
        [-]
    found : Learned
        Factors, of these runs or others [-].

    Returns
    -------
    ratios : tuple of float
        [-]
    """
    return tuple(run.ratio / found.factor(run.machine, run.polymer, run.process) for run in runs)
