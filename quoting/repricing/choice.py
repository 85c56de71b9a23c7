"""The same choice as among all candidates, with as few of them costed exactly as can be.

Groups are taken in the order of a bound that their landed price cannot go below. Once the bound of the next lies above
the best exact price, no later one can be the choice.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from math import inf

from machines.promise import NoFreeHoursError
from quoting.answer import PricedCandidate
from quoting.answering import choice_key
from quoting.catalog import Catalog
from quoting.choosing import at_all_releases, cheapest_layout, cheapest_with_hours
from quoting.costing.correcting import of_candidate
from quoting.costing.formulas import bench_work, handling_cost, per_release, work_cost
from quoting.costing.inputs import release_inputs, trim_inputs
from quoting.costing.labour import TrimInputs
from quoting.costing.lead import WEEK, earliest_dock, free_time
from quoting.costing.money import SECONDS_PER_HOUR, loose, to_cent
from quoting.costing.packing import material_of_packing
from quoting.costing.screen import HALF_CENT, SLACK, Programme, Tiers, least_price, screened
from quoting.costing.secondary import worked
from quoting.costing.sheet import pieces_to_trim
from quoting.costing.tooling import tooling_lines
from quoting.intake.part import PartRequest
from quoting.repricing.basis import Known, OpenGroup
from quoting.routing.candidate import JudgedCandidate, PlannedCandidate
from quoting.routing.plan import sheets_of
from quoting.routing.recalled import Recalled

HOUR = loose(SECONDS_PER_HOUR)


@dataclass(frozen=True)
class House:
    """What all inquiries of one run share: the catalog and its day, by name, as arrays, and what follows from it."""

    catalog: Catalog
    on: date
    known: Known
    tiers: Tiers
    common: Recalled

    @classmethod
    def of(cls, catalog: Catalog, on: date) -> "House":
        common = Recalled()
        plants = {plant.code: plant for plant in catalog.plants}
        for machine in catalog.machines:
            free_time(plants[machine.plant], machine.code, catalog, on, common)
        return cls(catalog, on, Known.of(catalog), Tiers.of(catalog.offers), common)


def choice(groups: tuple[OpenGroup, ...], request: PartRequest, house: House) -> PricedCandidate | None:
    """The candidate that a full answer would choose, priced at every release.

    Parameters
    ----------
    groups : tuple of OpenGroup
        All that fit, at least one [-].
    request : PartRequest
        What was asked [SI].
    house : House
        Catalog and day [-].

    Returns
    -------
    chosen : PricedCandidate or None
        Without verdicts; None where no candidate has free hours [$].

    Raises
    ------
    CannotPriceError
        A rate that the part needs is missing.
    """
    recalled = house.common.further()
    search = _Search(groups, request, house, recalled)
    bounds = [search.first_bound(number) for number in range(len(groups))]
    best, least = None, (inf, inf)
    for number in sorted(range(len(groups)), key=bounds.__getitem__):
        if bounds[number] > least:
            break
        places = search.layouts_worth_costing(number)
        if search.second_bound(number, places) > least:
            continue
        try:
            priced = search.costed(number, places)
        except NoFreeHoursError:  # a candidate without free hours is none, as in a full answer
            continue
        key = choice_key(priced, house.on)
        if best is None or key < best[0]:
            best, least = (key, priced), (key[0], float(key[1]))
    if best is None or request.needed_by:
        return best[1] if best else None
    return at_all_releases(best[1], house.catalog, house.on, recalled)


class _Search:
    """Bounds and exact costs of the groups of one inquiry."""

    def __init__(self, groups: tuple[OpenGroup, ...], request: PartRequest, house: House, recalled: Recalled) -> None:
        self.groups, self.request, self.house, self.recalled = groups, request, house, recalled
        self.rates, self.quantity = house.catalog.rates, max(request.releases)
        self.screen = screened(groups, request, house.tiers, house.catalog, recalled)
        self.plants = {plant.code: plant for plant in house.catalog.plants}
        self.pieces = pieces_to_trim(self.quantity, self.rates.trim.scrap)
        self.programme = Programme(request, house.catalog, recalled)
        self.firsts = [group.planned(0) for group in groups]
        self.finished: dict[int, float] = {}  # by the identity of trim inputs, which ``recalled`` keeps alive
        self.late = [self._least_late(number) for number in range(len(groups))]

    # --- bounds ------------------------------------------------------------------------------------------------------

    def first_bound(self, number: int) -> tuple[float, float]:
        """(weeks late, landed price [$]) that no layout of the group goes below: packing and freight left out."""
        layouts = self.screen.of_group(number)
        if not self.screen.sure[layouts].all():
            return self.late[number], -inf
        return self.late[number], self._price(number, self.screen.made[layouts].min(), self._finishing(number))

    def second_bound(self, number: int, places: list[int]) -> tuple[float, float]:
        """The same of some of its layouts, with packing and freight."""
        layouts = self.screen.of_group(number)
        if not self.screen.sure[layouts].all():
            return self.late[number], -inf
        inputs, packing = release_inputs(self.firsts[number], self.quantity, self.house.catalog, self.recalled)
        boxed, bench = loose(material_of_packing(inputs.pack, self.rates.packing)), inputs.pack.bench
        at_bench = bench_work(loose(self.rates.packing.pack_time), bench.efficiency, loose(bench.labour_rate), HOUR)
        share = loose(self.rates.sheet.material_handling)
        packed = per_release(self.quantity, at_bench, boxed) + handling_cost(share, 0.0, 0.0, self.quantity * boxed)
        least = self._price(number, self.screen.made[layouts][places].min(), self._finishing(number) + packed)
        return self.late[number], least + loose(to_cent(packing.freight_total / self.quantity))

    def _price(self, number: int, made: float, shared: float) -> float:
        return (
            least_price(made, shared, self.quantity, self.programme.margin(self.groups[number]), self.rates) - HALF_CENT
        )

    def _finishing(self, number: int) -> float:
        """Trimming with its set-up, inspection and operations at the bench, with their handling [$]."""
        group = self.groups[number]
        through, plant = group.candidate.gauge * sheets_of(group.candidate.process), self.plants[group.trim.plant]
        slower = of_candidate(group.candidate, "trim_time", self.house.catalog.corrections, self.recalled)
        at = self.request.part, through, group.trim.trimmer, plant, self.rates, slower
        trim = self.recalled.of(trim_inputs, *at)
        if id(trim) not in self.finished:
            self.finished[id(trim)] = self._finished(trim)
        return self.finished[id(trim)]

    def _finished(self, trim: TrimInputs) -> float:
        operations = worked(self.quantity, self.pieces, self.request.secondary, self.rates)
        totals = (sum(loose(getattr(one, name)) for one in operations) for name in ("seconds", "material", "drying"))
        seconds, material, drying = totals
        bench = bench_work(seconds, trim.efficiency, loose(trim.labour_rate), HOUR)
        handled = handling_cost(loose(self.rates.sheet.material_handling), 0.0, material, 0.0)
        trimming = work_cost(self.pieces, loose(trim.hourly), loose(trim.pieces_per_hour))
        return trimming + loose(trim.setup + self.rates.forming.setup_inspection) + bench + material + drying + handled

    def _least_late(self, number: int) -> float:
        """Weeks after the date asked for that the first release comes at the least; 0 where none was asked for."""
        needed, on = self.request.needed_by, self.house.on
        if needed is None:
            return 0.0
        planned, catalog = self.firsts[number], self.house.catalog
        hours = self.screen.hours[self.screen.of_group(number)].min() * (1 - SLACK)
        tools = tooling_lines(planned, self.rates, self.recalled)
        try:
            weeks = earliest_dock(planned, max(hours, SLACK), catalog, on, self.recalled, tools) / WEEK
        except NoFreeHoursError:
            return inf
        return max(0.0, weeks - (needed - on).days / 7 - SLACK)

    # --- layouts of a group ------------------------------------------------------------------------------------------

    def layouts_worth_costing(self, number: int) -> list[int]:
        """Those that may be the cheapest for the programme."""
        layouts = self.screen.of_group(number)
        made, sure = self.screen.made[layouts], self.screen.sure[layouts]
        return self.programme.worth_costing(self.groups[number], made, sure, self._finishing(number))

    def _planned(self, number: int, place: int) -> PlannedCandidate:
        return self.firsts[number] if place == 0 else self.groups[number].planned(place)

    def _judged(self, number: int, places: Iterable[int]) -> tuple[JudgedCandidate, ...]:
        return tuple(JudgedCandidate.of(self._planned(number, place), ()) for place in places)

    def costed(self, number: int, places: list[int]) -> PricedCandidate:
        """The best of some layouts, costed exactly; at all releases where the first one decides whether it is late."""
        known = self.house.catalog, self.house.on, self.recalled
        try:
            best = cheapest_layout(self._judged(number, places), *known)
        except NoFreeHoursError:  # the next in price may be one that the screen left out
            best = cheapest_with_hours(self._judged(number, range(len(self.groups[number].layouts))), *known)
        if self.request.needed_by is None:
            return best
        return at_all_releases(best, self.house.catalog, self.house.on, self.recalled)
