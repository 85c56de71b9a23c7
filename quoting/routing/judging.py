"""Every rule on every candidate."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from itertools import groupby
from operator import attrgetter, itemgetter

import numpy as np

from quoting.routing.candidate import Candidate, JudgedCandidate, PlannedCandidate, Thinning, Trim
from quoting.routing.plan import PlannedGroup
from quoting.routing.rules.all_rules import (
    HARDLY_SHARED,
    READS,
    RULES,
    RULES_OF_THE_LAYOUT,
    RULES_OF_THE_STOCK,
    STOCK,
    Rule,
)
from quoting.routing.rules.of_layouts import failures_of_layouts
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
    """Some rules, asked once for all candidates that have in common what these read."""

    def __init__(self, reads: Iterable[str], ask: Callable[[PlannedCandidate], tuple[Verdicts, int]]) -> None:
        self._parts, self._ask = attrgetter("request", "on", *reads), ask
        self._said: dict[tuple, tuple[Verdicts, int, tuple]] = {}

    def ask(self, planned: PlannedCandidate) -> tuple[Verdicts, int]:
        """The verdicts, and how many of them did not pass."""
        parts = self._parts(planned)
        key = tuple(map(id, parts))  # parts that are equal but not the same are asked about again, which is rare
        said = self._said.get(key)
        if said is None:
            said = self._said[key] = (*self._ask(planned), parts)  # with the parts, so that they live as long
        return said[:2]


class Panel:
    """Several benches and the rules whose verdicts are hardly ever shared, asked one after the other."""

    def __init__(self, rules: Iterable[Rule]) -> None:
        rules = tuple(rule for rule in RULES if rule in rules)
        shared = dict.fromkeys(READS[rule] for rule in rules if READS[rule] not in HARDLY_SHARED)
        together = [tuple(rule for rule in rules if READS[rule] == reads) for reads in shared]
        alone = tuple(rule for rule in rules if READS[rule] in HARDLY_SHARED)
        self._asked = (
            *(Bench(reads, each(some)).ask for reads, some in zip(shared, together, strict=True)),
            each(alone),
        )
        self.rules = (*(rule for some in together for rule in some), *alone)

    def ask(self, planned: PlannedCandidate) -> tuple[Verdicts, int]:
        """Verdicts in the order of ``rules``, and how many of them did not pass."""
        verdicts, failures = (), 0
        for ask in self._asked:
            said, failed = ask(planned)
            verdicts, failures = verdicts + said, failures + failed
        return verdicts, failures


def each(rules: tuple[Rule, ...]) -> Callable[[PlannedCandidate], tuple[Verdicts, int]]:
    """What asks rules one after the other: their verdicts, and how many of them did not pass."""

    def ask(planned: PlannedCandidate) -> tuple[Verdicts, int]:
        verdicts = tuple([rule(planned) for rule in rules])
        return verdicts, sum([not verdict.passed for verdict in verdicts])

    return ask


class JudgedGroup(Sequence[JudgedCandidate]):
    """Layouts of one group that were kept, each planned and put into words when it is asked for, and once.

    ``failures``: of rules, alike for all of them. Either they fit, all of them, or there is one alone, which speaks for
    the group.
    """

    def __init__(
        self,
        group: PlannedGroup,
        places: tuple[int, ...],
        failures: int,
        say: Callable[[PlannedCandidate], Verdicts],
    ) -> None:
        self.failures, self.layouts = failures, tuple([group.candidates.layouts[place] for place in places])
        self._group, self._places, self._say = group, places, say
        self._known: dict[int, JudgedCandidate] = {}

    def __len__(self) -> int:
        return len(self._places)

    def __getitem__(self, number: int) -> JudgedCandidate:
        if number not in self._known:
            planned = self.planned(number)
            self._known[number] = JudgedCandidate(planned, self.failures, partial(self._say, planned))
        return self._known[number]

    def planned(self, number: int) -> PlannedCandidate:
        """One of them without its verdicts."""
        return self._group[self._places[number]]

    @property
    def fits(self) -> bool:
        return self.failures == 0

    # --- what all of them share ------------------------------------------------------------------------------------

    @property
    def candidate(self) -> Candidate:
        """With a layout of the group, which need not be one of those that were kept."""
        return self._group.candidates.first

    @property
    def thinning(self) -> Thinning:
        return self._group.plan.thinning

    @property
    def trim(self) -> Trim:
        return self._group.plan.trim

    @property
    def index(self) -> float:
        """Time between two blanks leaving the machine [s]."""
        return self._group.plan.turn.index

    @property
    def part_mass(self) -> float:
        """Of the trimmed part with all its skins [kg]."""
        return self._group.plan.part_mass


def judged(groups: Iterable[PlannedGroup]) -> tuple[JudgedGroup, ...]:
    """Judge groups of candidates that differ within a group only in their layout.

    Of a group all layouts that fit are kept, to be priced against each other; where none fits, the one that fails the
    fewest rules (the first of those alike) speaks for the group. Which these are is found by numbers alone
    (``rules/of_layouts.py``); the rules of the layout speak only of what is then asked for.

    Parameters
    ----------
    groups : iterable of PlannedGroup
        As they come from ``planned``, no group empty [-].

    Returns
    -------
    groups : tuple of JudgedGroup
        In the same order, each with at least one candidate [-].
    """
    of_stock, of_layout = Panel(RULES_OF_THE_STOCK), Panel(RULES_OF_THE_LAYOUT)
    of_group = Panel(set(RULES) - RULES_OF_THE_STOCK - RULES_OF_THE_LAYOUT)
    stock = Bench(STOCK, of_stock.ask)
    asked = of_stock.rules + of_group.rules + of_layout.rules
    in_order = itemgetter(*(asked.index(rule) for rule in RULES))

    def say(common: Verdicts) -> Callable[[PlannedCandidate], Verdicts]:
        return lambda planned: in_order(common + of_layout.ask(planned)[0])

    def kept(group: PlannedGroup, failures: np.ndarray) -> JudgedGroup:
        fewest = int(failures.argmin())
        (of_sheet, hopeless), (of_machine, doomed) = (one.ask(group[fewest]) for one in (stock, of_group))
        least = hopeless + doomed + int(failures[fewest])
        places = (fewest,) if least else tuple(np.flatnonzero(failures == 0).tolist())
        return JudgedGroup(group, places, least, say(of_sheet + of_machine))

    return tuple(kept(group, failures) for group, failures in _with_failures(groups))


def _with_failures(groups: Iterable[PlannedGroup]) -> Iterator[tuple[PlannedGroup, np.ndarray]]:
    """Each group with the number of rules that each of its layouts fails."""
    for _, some in groupby(groups, key=lambda one: id(one.request)):
        together = list(some)
        failures = failures_of_layouts(together[0].request, [one.candidates for one in together])
        yield from zip(together, failures, strict=True)
