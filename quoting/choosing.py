"""Which blank layout of a candidate is kept: the cheapest for the whole programme, tooling included."""

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import date
from decimal import Decimal

from machines.promise import NoFreeHoursError
from quoting.answer import PricedCandidate
from quoting.catalog import Catalog
from quoting.costing.landed import joined, landed_cost, tooling_of
from quoting.costing.lines import LandedCost, ToolingLine
from quoting.costing.priced_release import landed_price_beside, priced_release
from quoting.costing.screen import Programme, Tiers, screened
from quoting.intake.part import PartRequest
from quoting.routing.candidate import JudgedCandidate, PlannedCandidate
from quoting.routing.judging import JudgedGroup
from quoting.routing.recalled import Recalled
from quoting.routing.rules.booked import free_hours


def best_layouts(groups: Sequence[JudgedGroup], catalog: Catalog, on: date) -> list[PricedCandidate]:
    """The best layout of each group of one inquiry, as ``best_layout`` finds it, with few of the others costed.

    Parameters
    ----------
    groups : sequence of JudgedGroup
        As ``judged`` gives them [-].
    catalog : Catalog
        All that we know [-].
    on : date
        The day of the answer [-].

    Returns
    -------
    best : list of PricedCandidate
        In the order of the groups [$].
    """
    recalled = Recalled()
    places = _worth_costing([one for one in groups if one.fits and len(one) > 1], catalog, recalled)
    return [best_layout(one, catalog, on, recalled, places.get(id(one), ())) for one in groups]


def _worth_costing(groups: list[JudgedGroup], catalog: Catalog, recalled: Recalled) -> dict[int, list[int]]:
    """By the identity of a group with several layouts: those that may be its cheapest."""
    if not groups:
        return {}
    request = groups[0].planned(0).request
    screen = screened(groups, request, Tiers.of(catalog.offers), catalog, recalled)
    programme = Programme(request, catalog, recalled)
    return {
        id(one): programme.worth_costing(one, screen.made[layouts], screen.sure[layouts], shared=0.0)
        for one, layouts in ((one, screen.of_group(number)) for number, one in enumerate(groups))
    }


def best_layout(
    group: JudgedGroup, catalog: Catalog, on: date, recalled: Recalled, worth: Sequence[int] = ()
) -> PricedCandidate:
    """The layout of a group that is cheapest for the programme, priced; unpriced where none fits or has free hours.

    Layouts are compared at the largest release; only the best one is priced at the others too.

    Parameters
    ----------
    group : JudgedGroup
        Candidates that differ only in their layout [-].
    catalog : Catalog
        All that we know [-].
    on : date
        The day of the answer [-].
    recalled : Recalled
        What the answer worked out already [-].
    worth : sequence of int
        Places of the layouts that may be the cheapest; all where none is named [-].

    Returns
    -------
    best : PricedCandidate
        [$]
    """
    if not group.fits:
        return PricedCandidate(group[0], None, len(group))

    def cost(planned: PlannedCandidate) -> LandedCost:
        return landed_cost(planned, catalog, on, recalled=recalled)

    try:
        if worth:
            with suppress(NoFreeHoursError):  # then the next in price may be one that is not named
                best = _best_of(tuple(group[place] for place in worth), catalog, recalled)
                return PricedCandidate(best, cost(best.planned), len(group))
        return _with_hours(group, catalog, recalled, cost)
    except NoFreeHoursError as lacking:
        first = JudgedCandidate.of(group.planned(0), (*group[0].verdicts, free_hours(lacking)))
        return PricedCandidate(first, None, len(group))


def cheapest_layout(
    group: Sequence[JudgedCandidate], catalog: Catalog, on: date, recalled: Recalled
) -> PricedCandidate:
    """Of layouts that fit, the cheapest for the programme, priced at the largest release alone.

    Parameters
    ----------
    group : sequence of JudgedCandidate
        That fit and differ only in their layout [-].
    catalog, on, recalled
        As in ``best_layout`` [-].

    Returns
    -------
    cheapest : PricedCandidate
        [$]

    Raises
    ------
    NoFreeHoursError
        A place of the cheapest has not the hours within twenty years.
    """
    best = _best_of(group, catalog, recalled)
    largest = best.planned.request.releases[-1]
    return PricedCandidate(best, landed_cost(best.planned, catalog, on, (largest,), recalled), len(group))


def cheapest_with_hours(
    group: Sequence[JudgedCandidate], catalog: Catalog, on: date, recalled: Recalled
) -> PricedCandidate:
    """As ``cheapest_layout``, but of those that have free hours.

    Parameters
    ----------
    group : sequence of JudgedCandidate
        That fit and differ only in their layout [-].
    catalog, on, recalled
        As in ``best_layout`` [-].

    Returns
    -------
    cheapest : PricedCandidate
        [$]

    Raises
    ------
    NoFreeHoursError
        No layout has the hours within twenty years; told of the cheapest.
    """
    largest = group[0].planned.request.releases[-1]
    return _with_hours(group, catalog, recalled, lambda one: landed_cost(one, catalog, on, (largest,), recalled))


def _with_hours(
    group: Sequence[JudgedCandidate],
    catalog: Catalog,
    recalled: Recalled,
    cost: Callable[[PlannedCandidate], LandedCost],
) -> PricedCandidate:
    """The cheapest layout; where a place has not its hours, the next that takes fewer there or goes elsewhere."""
    lacks, left = None, group
    while left:
        best = _best_of(left, catalog, recalled)
        try:
            return PricedCandidate(best, cost(best.planned), len(group))
        except NoFreeHoursError as lacking:
            lacks, left = lacks or lacking, tuple(one for one in left if one is not best)
    raise lacks


def _best_of(group: Sequence[JudgedCandidate], catalog: Catalog, recalled: Recalled) -> JudgedCandidate:
    """By what parts and tools of the programme cost, from the price alone; of two alike the one that is not turned."""
    first = group[0]
    if len(group) == 1:
        return first
    shared = priced_release(first.planned, first.planned.request.releases[-1], catalog, recalled)

    def key(one: JudgedCandidate) -> tuple:
        price = (
            shared.landed_unit_price if one is first else landed_price_beside(one.planned, shared, catalog, recalled)
        )
        layout, tooling = one.planned.candidate.layout, tooling_of(one.planned, catalog, recalled)
        return _whole(price, tooling, one.planned.request, catalog), layout.cavities, layout.turned

    return min(group, key=key)


def at_all_releases(best: PricedCandidate, catalog: Catalog, on: date, recalled: Recalled) -> PricedCandidate:
    """A candidate that was priced at the largest release, priced at the smaller ones too.

    Parameters
    ----------
    best : PricedCandidate
        Priced at the largest release [$].
    catalog, on, recalled
        As in ``best_layout`` [-].

    Returns
    -------
    priced : PricedCandidate
        [$]
    """
    smaller = best.judged.planned.request.releases[:-1]
    if not smaller:
        return best
    others = landed_cost(best.judged.planned, catalog, on, smaller, recalled)
    return replace(best, cost=joined(others, best.cost))


def programme_cost(priced: PricedCandidate, catalog: Catalog) -> tuple:
    """What the parts and tools of the whole programme cost: by this the number of cavities is chosen.

    Parameters
    ----------
    priced : PricedCandidate
        A candidate that fits [-].
    catalog : Catalog
        For the programme's years [-].

    Returns
    -------
    key : tuple
        (landed cost of all parts plus tooling [$], cavities [-]); tooling that is paid in the part price counts once
    """
    planned, cost = priced.judged.planned, priced.cost
    in_price = cost.amortised.per_part if cost.amortised else 0
    whole = _whole(cost.ranking_price - in_price, cost.tooling, planned.request, catalog)
    return (whole, planned.candidate.layout.cavities)


def _whole(price: Decimal, tooling: tuple[ToolingLine, ...], request: PartRequest, catalog: Catalog) -> Decimal:
    """Landed parts of all years of the programme, at a price without tooling, and their tools [$]."""
    parts = price * request.annual * catalog.rates.price.programme_years
    return parts + sum([line.price for line in tooling])
