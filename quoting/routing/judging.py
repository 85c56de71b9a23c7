"""Every rule on every candidate."""

from collections.abc import Callable, Iterable
from operator import attrgetter, itemgetter

from quoting.routing.candidate import JudgedCandidate, PlannedCandidate
from quoting.routing.rules.all_rules import READS, RULES, RULES_OF_THE_LAYOUT, Rule
from quoting.routing.verdict import Verdict

Verdicts = tuple[Verdict, ...]


def judge(planned: PlannedCandidate) -> Verdicts:
    """What each rule says of one candidate, in the order of the rules.

    Parameters
    ----------
    planned : PlannedCandidate
        [-]

    Returns
    -------
    verdicts : tuple of Verdict
        One for each rule [-].
    """
    return tuple(rule(planned) for rule in RULES)


class Bench:
    """Rules that read the same parts of a candidate; asked once for all candidates that have these in common."""

    def __init__(self, reads: tuple[str, ...], rules: Iterable[Rule]) -> None:
        self.rules = tuple(rule for rule in rules if READS[rule] == reads)
        self._parts = attrgetter("request", "on", *reads)
        self._said: dict[tuple, tuple[Verdicts, int, tuple]] = {}

    def ask(self, planned: PlannedCandidate) -> tuple[Verdicts, int, tuple]:
        """The verdicts, how many of them did not pass, and the parts they hold for."""
        parts = self._parts(planned)
        key = tuple(map(id, parts))  # parts that are equal but not the same are asked about again, which is rare
        said = self._said.get(key)
        if said is None:
            verdicts = tuple(rule(planned) for rule in self.rules)
            said = self._said[key] = (verdicts, sum(not verdict.passed for verdict in verdicts), parts)
        return said


class Panel:
    """Several benches, asked one after the other."""

    def __init__(self, rules: Iterable[Rule]) -> None:
        rules = tuple(rule for rule in RULES if rule in rules)
        self._benches = tuple(Bench(reads, rules) for reads in dict.fromkeys(READS[rule] for rule in rules))
        self.rules = tuple(rule for bench in self._benches for rule in bench.rules)

    def ask(self, planned: PlannedCandidate) -> tuple[Verdicts, int]:
        """Verdicts in the order of ``rules``, and how many of them did not pass."""
        verdicts, failures = (), 0
        for bench in self._benches:
            said, failed, _ = bench.ask(planned)
            verdicts, failures = verdicts + said, failures + failed
        return verdicts, failures


def judged(groups: Iterable[Iterable[PlannedCandidate]]) -> tuple[tuple[JudgedCandidate, ...], ...]:
    """Judge groups of candidates that differ within a group only in their layout.

    Of a group all layouts that fit are kept, to be priced against each other; where none fits, the one that fails the
    fewest rules (the first of those alike) speaks for the group. A group is read only as far as it matters.

    Parameters
    ----------
    groups : iterable of iterable of PlannedCandidate
        As they come from ``planned``, no group empty [-].

    Returns
    -------
    groups : tuple of tuple of JudgedCandidate
        In the same order, each with at least one candidate [-].
    """
    of_group, of_layout = Panel(set(RULES) - RULES_OF_THE_LAYOUT), Panel(RULES_OF_THE_LAYOUT)
    asked = of_group.rules + of_layout.rules
    in_order = itemgetter(*(asked.index(rule) for rule in RULES))
    return tuple(_judged_group(group, of_group, of_layout, in_order) for group in groups)


def _judged_group(
    group: Iterable[PlannedCandidate],
    of_group: Panel,
    of_layout: Panel,
    in_order: Callable[[Verdicts], Verdicts],
) -> tuple[JudgedCandidate, ...]:
    fitting, common, doomed, best, fewest = [], None, 0, None, len(RULES) + 1
    for planned in group:
        if common is None:
            common, doomed = of_group.ask(planned)
        verdicts, failures = of_layout.ask(planned)
        if doomed + failures == 0:
            fitting.append(JudgedCandidate(planned, in_order(common + verdicts)))
        elif failures < fewest:
            best, fewest = (planned, common + verdicts), failures
        if doomed and not failures:
            break  # no other layout fails less
    return tuple(fitting) or (JudgedCandidate(best[0], in_order(best[1])),)
