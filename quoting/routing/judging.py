"""Every rule on every candidate."""

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

    Parameters
    ----------
    groups : tuple of tuple of PlannedCandidate
        As they come from ``planned`` [-].

    Returns
    -------
    groups : tuple of tuple of JudgedCandidate
        In the same order [-].
    """
    return tuple(_judged_group(group) for group in groups)


def _judged_group(group: tuple[PlannedCandidate, ...]) -> tuple[JudgedCandidate, ...]:
    first = judge(group[0])
    rest = (
        tuple(rule(planned) if rule in RULES_OF_THE_LAYOUT else known for rule, known in zip(RULES, first, strict=True))
        for planned in group[1:]
    )
    verdicts = (first, *rest)
    return tuple(JudgedCandidate(planned, said) for planned, said in zip(group, verdicts, strict=True))
