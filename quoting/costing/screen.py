"""Which layouts cannot be the choice whatever the last cent says, so that only the others are costed exactly.

A screen and no price: floats by the estimate's own formulas (``costing.formulas``), and every doubt (a number that
just rounds up, an order that just reaches a tier) counts in favour of the candidate. What it lets through is costed in
Decimals by ``landed_cost``, and only that is compared, so that the choice is the same as that among all.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from materials.sheet import SheetOffer, blank_mass
from quoting.catalog import PARTS_FORMED, Catalog, Rates
from quoting.costing.correcting import corrected_scrap, factor_of, of_candidate
from quoting.costing.formulas import (
    handling_cost,
    hourly,
    order_mass,
    overhead_on,
    price_of,
    regrind_credit,
    setup_cost,
    surplus_cost,
    work_cost,
)
from quoting.costing.money import POUND, loose
from quoting.costing.regrind import regrind_limit
from quoting.costing.risk import margin_share, risks_of
from quoting.costing.sheet import form_scrap, startup_shots
from quoting.costing.tooling import tooling_lines
from quoting.intake.part import PartRequest
from quoting.routing.candidate import Candidate, Layout, PlannedCandidate, Trim
from quoting.routing.plan import WallFigures, parts_per_hour, sheets_of
from quoting.routing.recalled import Recalled

SLACK = 1e-9  # -, far above a float's rounding and far below any step that a shop would see
HALF_CENT = 0.0051  # $, by how much a price rounded to the cent may lie under the unrounded one, with float rounding
LB = loose(POUND)


class OpenGroup(Protocol):
    """Candidates that fit and differ only in their layout, as far as the screen asks."""

    candidate: Candidate  # with any of the layouts
    layouts: tuple[Layout, ...]
    thinning: WallFigures
    trim: Trim
    index: float  # s, between two blanks leaving the machine
    part_mass: float  # kg, all skins

    def planned(self, place: int) -> PlannedCandidate:
        """The candidate with one of the layouts."""


@dataclass(frozen=True)
class Tiers:
    """Every offer's price tiers as arrays: from which mass [kg], at what price [$/lb]; missing tiers never begin."""

    offers: tuple[SheetOffer, ...]
    place: dict[int, int]  # by the identity of the offer, since another day's may have its name
    begins: np.ndarray
    prices: np.ndarray

    @classmethod
    def of(cls, offers: tuple[SheetOffer, ...]) -> "Tiers":
        most = max((len(one.tiers) for one in offers), default=1)
        begins, prices = np.full((len(offers), most), np.inf), np.zeros((len(offers), most))
        for row, offer in enumerate(offers):
            for column, tier in enumerate(offer.tiers):
                begins[row, column], prices[row, column] = tier.from_mass, loose(tier.price_per_pound)
        return cls(offers, {id(one): row for row, one in enumerate(offers)}, begins, prices)


@dataclass(frozen=True)
class Screen:
    """For each layout of each group, at the largest release: what tells layouts apart.

    ``made`` [$]: sheet, regrind, its handling, set-up of the press and forming. ``hours`` [h] at the press in the
    smallest release, at least. ``sure``: no number lies so near a step that floats and Decimals might differ.
    """

    starts: np.ndarray  # place of the first layout of each group, and after the last the number of all
    made: np.ndarray
    hours: np.ndarray
    sure: np.ndarray

    def of_group(self, number: int) -> slice:
        """The layouts of one group."""
        return slice(int(self.starts[number]), int(self.starts[number + 1]))


def screened(
    groups: Sequence[OpenGroup], request: PartRequest, tiers: Tiers, catalog: Catalog, recalled: Recalled
) -> Screen:
    """What the layouts of all groups of one inquiry cost to form, without what the layouts of a group share.

    Parameters
    ----------
    groups : sequence of OpenGroup
        At least one [-].
    request : PartRequest
        Its releases and needs [-].
    tiers : Tiers
        Of the catalog's offers [$/lb].
    catalog : Catalog
        Rates and corrections in force [-].
    recalled : Recalled
        What was worked out already [-].

    Returns
    -------
    screen : Screen
        [$, h]
    """
    rates = catalog.rates
    counts = [len(one.layouts) for one in groups]
    table = np.repeat(np.array([_of_group(one, tiers, catalog, recalled) for one in groups]), counts, axis=0)
    (
        formed, startup, sheets, part_mass, regrind, colour, hour, setup, setup_hours, offer, minimum, slower, more,
        index, efficiency, gauge, density,
    ) = table.T  # fmt: skip
    cavities, length, width = _of_layouts(groups)
    mass = blank_mass(length, width, gauge, density) * more
    pace = parts_per_hour(sheets, index, cavities, efficiency) / slower
    pieces = max(request.releases) / (1 - loose(rates.trim.scrap))
    shots, sure = _rounded_up(pieces / formed / cavities + startup)
    billed = order_mass(shots * sheets, mass, loose(rates.sheet.billed_weight_factor))
    per_pound, in_tier = _tier_prices(tiers, offer.astype(int), billed)
    bought = billed / LB * per_pound
    left = np.maximum(0.0, (billed - max(request.releases) * part_mass) / LB) * loose(rates.sheet.regrind_recovery)
    limit = regrind_limit(request.needs, rates)
    returned = left if limit is None else np.minimum(left, loose(limit[0]) * billed / LB)
    handled = handling_cost(loose(rates.sheet.material_handling), bought, 0.0, 0.0)
    formed_for = work_cost(shots, hour, pace / cavities)
    beyond = (minimum - billed) / LB if request.surplus == "shared" else np.zeros_like(billed)
    surplus = surplus_cost(beyond, per_pound, np.zeros_like(billed))
    made = bought + surplus + regrind_credit(returned, regrind) + colour + handled + setup + formed_for
    few = np.floor(min(request.releases) / (1 - loose(rates.trim.scrap)) / formed / cavities + startup)
    hours = setup_hours + few / (pace / cavities)
    return Screen(np.concatenate(([0], np.cumsum(counts))), made, hours, sure & in_tier)


def _of_group(group: OpenGroup, tiers: Tiers, catalog: Catalog, recalled: Recalled) -> tuple[float, ...]:
    """The numbers that all layouts of a group share, one for each column of the table."""
    candidate, process = group.candidate, group.candidate.process
    rates = catalog.rates
    longer, slower, more = (
        factor_of(of_candidate(candidate, name, catalog.corrections, recalled))
        for name in ("setup_hours", "run_hours", "sheet")
    )
    lost = of_candidate(candidate, PARTS_FORMED, catalog.corrections, recalled)
    machine, labour, offer = candidate.machine, loose(candidate.plant.labour_rate), candidate.offer
    rate = loose(machine.hour_rate)
    return (  # in the order in which ``screened`` takes them apart
        1 - loose(corrected_scrap(form_scrap(process, rates.forming), lost)),
        loose(startup_shots(process, rates.forming)),
        sheets_of(process),
        group.part_mass,
        loose(offer.regrind_value_per_pound),
        loose(offer.colour_charge),
        hourly(rate, machine.crew, labour),
        setup_cost(machine.setup_hours * longer * hourly(rate, machine.setup_crew, labour), 0.0, 0.0),
        machine.setup_hours * longer,
        tiers.place[id(offer)],
        offer.minimum_order,
        slower,
        more,
        group.index,
        machine.efficiency,
        candidate.gauge,
        candidate.polymer.density,
    )


def _of_layouts(groups: Iterable[OpenGroup]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Cavities [count], length and width of the blank [m] of every layout."""
    rows = [(each.cavities, each.blank_length, each.blank_width) for one in groups for each in one.layouts]
    return tuple(np.array(rows).T)


def _rounded_up(numbers: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Numbers rounded up, and where there is no doubt about it."""
    low, high = np.ceil(numbers * (1 - SLACK)), np.ceil(numbers * (1 + SLACK))
    return low, low == high


def _tier_prices(tiers: Tiers, offers: np.ndarray, billed: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Price per pound of each order, and where there is no doubt about its tier."""
    begins = tiers.begins[offers]
    reached = (begins <= (billed * (1 - SLACK))[:, None]).sum(axis=1)
    sure = reached == (begins <= (billed * (1 + SLACK))[:, None]).sum(axis=1)
    return tiers.prices[offers, np.maximum(0, reached - 1)], sure


def least_price(made: float, shared: float, quantity: int, margin: float, rates: Rates) -> float:
    """A unit price from costs in floats, which the exact one does not go below by more than its rounding [$].

    Parameters
    ----------
    made, shared : float
        Manufacturing cost of the release: what the layout decides, and what its group shares [$].
    quantity : int
        Good parts [count].
    margin : float
        Share of the price, risks included [-].
    rates : Rates
        Overhead and the least price of a release [-].

    Returns
    -------
    price : float
        Unrounded [$].
    """
    cost = made + shared
    price = price_of(cost + overhead_on(cost, loose(rates.price.overhead)), margin)
    return max(price, loose(rates.price.minimum_release_price)) / quantity


class Programme:
    """Layouts of one inquiry weighed as its exact choice weighs them: by parts and tools of the whole programme."""

    def __init__(self, request: PartRequest, catalog: Catalog, recalled: Recalled) -> None:
        self.request, self.rates, self.recalled = request, catalog.rates, recalled
        self._floor = loose(catalog.rates.price.minimum_release_price) * (1 + SLACK)
        self._margins: dict[tuple[str, int, bool], float] = {}
        self._tools: dict[tuple[str, bool, bool, int, int], float] = {}

    def margin(self, group: OpenGroup) -> float:
        """Share of the price, with the risks of this process, these walls and this kind of polymer [-]."""
        candidate = group.candidate
        asked = candidate.process, id(group.thinning), candidate.polymer.semicrystalline
        if asked not in self._margins:
            risks = risks_of(group.planned(0), self.rates.margin)
            self._margins[asked] = loose(margin_share(risks, self.rates.price, self.rates.margin))
        return self._margins[asked]

    def tools(self, group: OpenGroup, place: int) -> float:
        """Tools of the programme [$]; which they are depends on what ``kinds_needed`` asks, their price on cavities."""
        candidate, cavities = group.candidate, group.layouts[place].cavities
        asked = (
            candidate.process, group.thinning.plug, candidate.polymer.semicrystalline, id(group.trim.trimmer), cavities,
        )  # fmt: skip
        if asked not in self._tools:
            lines = tooling_lines(group.planned(place), self.rates, self.recalled)
            self._tools[asked] = sum(loose(line.price) for line in lines)
        return self._tools[asked]

    def worth_costing(self, group: OpenGroup, made: np.ndarray, sure: np.ndarray, shared: float) -> list[int]:
        """Layouts of a group that may be the cheapest. All, where the price does not follow the cost evenly.

        Parameters
        ----------
        group : OpenGroup
            [-]
        made, sure : array
            Of its layouts, as the screen has them [$, -].
        shared : float
            What of the cost of the largest release its layouts share [$], or less.

        Returns
        -------
        places : list of int
            At least one, ascending [-].
        """
        every, price = list(range(len(group.layouts))), self.rates.price
        if len(every) == 1 or group.trim.moves or not sure.any():
            return every
        margin, quantity, overhead = self.margin(group), max(self.request.releases), loose(price.overhead)
        costs, certain = made.tolist(), sure.tolist()  # a few numbers: arrays would take longer
        if quantity * least_price(min(costs), shared, quantity, margin, self.rates) <= self._floor:
            return every
        programme = self.request.annual * loose(price.programme_years)
        whole = [
            price_of(cost + overhead_on(cost, overhead), margin) / quantity * programme + self.tools(group, place)
            for place, cost in enumerate(costs)
        ]
        doubt = 2 * HALF_CENT * programme + SLACK * max(map(abs, whole))
        most = min(one for one, known in zip(whole, certain, strict=True) if known) + doubt
        return [place for place in every if not certain[place] or whole[place] <= most]
