"""What is refused before the heat is marched: by process, sheet or machine, and then by every blank that there is."""

from collections.abc import Callable, Iterable, Sequence
from datetime import date
from operator import itemgetter

from quoting.intake.part import Part, PartRequest
from quoting.routing.blank_plan import hanging, press_of
from quoting.routing.candidate import (
    BlankAlone,
    Candidate,
    CandidateGroup,
    JudgedCandidate,
    PlannedCandidate,
    WallsAlone,
)
from quoting.routing.judging import Bench, Panel, Verdicts, each
from quoting.routing.plan import thinning_of
from quoting.routing.recalled import Recalled
from quoting.routing.rules.all_rules import (
    MACHINE,
    RULES,
    RULES_OF_THE_LAYOUT,
    RULES_OF_THE_MACHINE,
    RULES_OF_THE_STOCK,
    STOCK,
)
from quoting.routing.rules.of_layouts import failures_of_layouts


class RefusedGroup(Sequence[JudgedCandidate]):
    """A group that was never planned, in the place of a ``JudgedGroup``; one candidate speaks for it."""

    fits = False

    def __init__(self, only: JudgedCandidate) -> None:
        self._only = (only,)

    def __len__(self) -> int:
        return 1

    def __getitem__(self, number: int) -> JudgedCandidate:
        return self._only[number]


class EarlyRules:
    """Rules that read no heat, asked of the proposals of one inquiry, once for all that have in common what they read.

    What they refuse has no plan, and the verdicts of these rules alone: first those that read neither heat nor blank
    (a process that makes no such part, a sheet that does not do or is not offered, a machine that has not got the
    process, or not the room for the tool), then those of the blank too, where it fails on every layout.
    """

    def __init__(self, request: PartRequest, on: date) -> None:
        self._request, self._on, self._walls = request, on, Recalled()
        of_stock, self._of_layout = Panel(RULES_OF_THE_STOCK), Panel(RULES_OF_THE_LAYOUT)
        self._stock = Bench(STOCK, of_stock.ask)
        self._machine = Bench(MACHINE, each(RULES_OF_THE_MACHINE))
        asked = of_stock.rules + RULES_OF_THE_MACHINE
        self._in_order = _ordering(asked)
        self._in_order_with_layout = _ordering(asked + self._of_layout.rules)

    def of_proposals(self, proposed: Iterable[Candidate]) -> dict[int, RefusedGroup]:
        """Those refused without a blank, by their place among the proposals."""
        found = ((place, self._of_proposal(one)) for place, one in enumerate(proposed))
        return {place: one for place, one in found if one is not None}

    def of_blanks(self, laid: dict[int, CandidateGroup]) -> dict[int, RefusedGroup]:
        """Of groups of layouts that nothing else refuses those refused for every blank, by the same places."""
        failures = failures_of_layouts(self._request, tuple(laid.values()))
        return {
            place: self._of_blank(group[int(failed.argmin())], int(failed.min()))
            for (place, group), failed in zip(laid.items(), failures, strict=True)
            if failed.all()
        }

    def _of_proposal(self, one: Candidate) -> RefusedGroup | None:
        (of_sheet, hopeless), (of_machine, doomed) = self._ask(
            PlannedCandidate(self._request, one, self._known(one), self._on)
        )
        if not hopeless + doomed:
            return None
        return self._refused(one, hopeless + doomed, lambda: self._in_order(of_sheet + of_machine))

    def _of_blank(self, one: Candidate, failures: int) -> RefusedGroup:
        def said() -> Verdicts:
            part, thinning = self._request.part, self._known(one).thinning
            press = press_of(part, one.process, one.machine, one.layout, one.gauge)
            known = BlankAlone(thinning, hanging(part, one), press)
            asked = PlannedCandidate(self._request, one, known, self._on)
            (of_sheet, _), (of_machine, _) = self._ask(asked)
            return self._in_order_with_layout(of_sheet + of_machine + self._of_layout.ask(asked)[0])

        return self._refused(one, failures, said)

    def _ask(self, asked: PlannedCandidate) -> tuple[tuple[Verdicts, int], tuple[Verdicts, int]]:
        return self._stock.ask(asked), self._machine.ask(asked)

    def _known(self, one: Candidate) -> WallsAlone:
        return self._walls.of(_walls_alone, self._request.part, one.process, one.gauge)

    def _refused(self, one: Candidate, failures: int, said: Callable[[], Verdicts]) -> RefusedGroup:
        return RefusedGroup(JudgedCandidate(PlannedCandidate(self._request, one, None, self._on), failures, said))


def _ordering(asked: tuple) -> Callable[[Verdicts], Verdicts]:
    """Puts the verdicts of rules that were asked in some order into that of all rules."""
    return itemgetter(*(asked.index(rule) for rule in RULES if rule in asked))


def _walls_alone(part: Part, process: str, gauge: float) -> WallsAlone:
    return WallsAlone(thinning_of(part, process, gauge))
