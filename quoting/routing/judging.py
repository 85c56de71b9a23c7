"""Every rule on every candidate."""

from collections.abc import Iterator

from quoting.routing.candidate import JudgedCandidate, PlannedCandidate
from quoting.routing.rules.all_rules import RULES, RULES_OF_THE_LAYOUT
from quoting.routing.verdict import Verdict


def judge(planned: PlannedCandidate) -> tuple[Verdict, ...]:
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


def judged(groups: tuple[tuple[PlannedCandidate, ...], ...]) -> tuple[tuple[JudgedCandidate, ...], ...]:
    """Judge groups of candidates that differ within a group only in their layout.

    Of a group all layouts that fit are kept, to be priced against each other; where none fits, the one that fails the
    fewest rules (the first of those alike) speaks for the group.

    Parameters
    ----------
    groups : tuple of tuple of PlannedCandidate
        As they come from ``planned`` [-].

    Returns
    -------
    groups : tuple of tuple of JudgedCandidate
        In the same order, each with at least one candidate [-].
    """
    return tuple(_judged_group(group) for group in groups)


def _judged_group(group: tuple[PlannedCandidate, ...]) -> tuple[JudgedCandidate, ...]:
    first = judge(group[0])
    doomed = any(
        not verdict.passed and rule not in RULES_OF_THE_LAYOUT for rule, verdict in zip(RULES, first, strict=True)
    )
    fitting, best, fewest = [], None, len(RULES) + 1
    for planned in group:
        verdicts = first if planned is group[0] else _with_layout(planned, first)
        one = JudgedCandidate(planned, verdicts)
        failures = sum(not verdict.passed for verdict in verdicts)
        if failures == 0:
            fitting.append(one)
        if failures < fewest:
            best, fewest = one, failures
        if doomed and not any(_fails_by_layout(verdicts)):
            break  # no other layout fails less
    return tuple(fitting) or (best,)


def _with_layout(planned: PlannedCandidate, known: tuple[Verdict, ...]) -> tuple[Verdict, ...]:
    return tuple(
        rule(planned) if rule in RULES_OF_THE_LAYOUT else verdict for rule, verdict in zip(RULES, known, strict=True)
    )


def _fails_by_layout(verdicts: tuple[Verdict, ...]) -> Iterator[bool]:
    return (not verdict.passed for rule, verdict in zip(RULES, verdicts, strict=True) if rule in RULES_OF_THE_LAYOUT)
