"""Which blank layout of a candidate is kept: the cheapest for the whole programme, tooling included."""

from dataclasses import replace
from datetime import date

from quoting.answer import PricedCandidate
from quoting.catalog import Catalog
from quoting.costing.landed import joined, landed_cost
from quoting.routing.candidate import JudgedCandidate
from quoting.routing.recalled import Recalled


def best_layout(group: tuple[JudgedCandidate, ...], catalog: Catalog, on: date, recalled: Recalled) -> PricedCandidate:
    """The layout of a group that is cheapest for the programme, priced; unpriced where none fits.

    Layouts are compared at the largest release; only the best one is priced at the others too.

    Parameters
    ----------
    group : tuple of JudgedCandidate
        Candidates that differ only in their layout [-].
    catalog : Catalog
        All that we know [-].
    on : date
        The day of the answer [-].
    recalled : Recalled
        What the answer worked out already [-].

    Returns
    -------
    best : PricedCandidate
        [$]
    """
    if not group[0].fits:
        return PricedCandidate(group[0], None, len(group))
    return at_all_releases(cheapest_layout(group, catalog, on, recalled), catalog, on, recalled)


def cheapest_layout(
    group: tuple[JudgedCandidate, ...], catalog: Catalog, on: date, recalled: Recalled
) -> PricedCandidate:
    """Of layouts that fit, the cheapest for the programme, priced at the largest release alone.

    Parameters
    ----------
    group, catalog, on, recalled
        As in ``best_layout`` [-].

    Returns
    -------
    cheapest : PricedCandidate
        [$]
    """
    largest = group[0].planned.request.releases[-1:]
    priced = [
        PricedCandidate(one, landed_cost(one.planned, catalog, on, largest, recalled), len(group)) for one in group
    ]
    return min(priced, key=lambda one: programme_cost(one, catalog) + (one.judged.planned.candidate.layout.turned,))


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
    request = priced.judged.planned.request
    years = catalog.rates.price.programme_years
    tooling = sum(line.price for line in priced.cost.tooling)
    in_price = priced.cost.amortised.per_part if priced.cost.amortised else 0
    parts = (priced.cost.ranking_price - in_price) * request.annual * years
    return (parts + tooling, priced.judged.planned.candidate.layout.cavities)
