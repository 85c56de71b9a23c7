"""What candidates have in common is worked out once in an answer, and that changes no figure of it."""

from dataclasses import replace

import pytest

from machines.machine import Booking
from materials.sheet import INCH
from quoting.answer import PricedCandidate
from quoting.answering import best_of_groups, programme_cost
from quoting.costing.landed import joined, landed_cost
from quoting.routing.candidates import candidates
from quoting.routing.judging import judged
from quoting.routing.plan import planned
from quoting.routing.recalled import Recalled
from tests.quoting.costing.shop import some_rates
from tests.quoting.routing.routing_catalog import TODAY, catalog, part, request, router

SMALL = part(length=18 * INCH, width=12 * INCH, depth=4 * INCH, surface_area=456 * INCH**2)
REQUESTS = (
    request(),
    request(SMALL),
    request(SMALL, releases=(250,)),
    request(tooling="transfer", releases=(20, 4000)),
    request(replace(SMALL, enclosed=True), annual=4000),
)


def house():
    """With rates, and with work booked on one of its machines."""
    plain = catalog(rates=some_rates())
    busy = tuple(Booking(plain.machines[0].code, TODAY, hours, firm=True) for hours in (60.0, 45.0))
    return replace(plain, workload=busy)


def far_trim():
    """The home plant of one machine has no router, so its parts move to the sister plant."""
    plain = house()
    first, *others = plain.plants
    small = router(table_length=5 * INCH, table_width=5 * INCH)
    return replace(plain, plants=(replace(first, trimmers=(small,)), *others))


def fitting_of(asked, shop):
    groups = judged(planned(asked, candidates(asked, shop, TODAY), shop, TODAY))
    return [[one for one in group if one.fits] for group in groups if group[0].fits]


@pytest.mark.parametrize("shop", (house(), far_trim()), ids=("at home", "trimmed at a sister plant"))
@pytest.mark.parametrize("asked", REQUESTS)
def test_a_cost_worked_out_beside_others_is_the_cost_worked_out_alone(asked, shop):
    priced = [one for one in best_of_groups(asked, shop, TODAY) if one.cost]

    assert priced
    assert any(one.judged.planned.plan.trim.moves for one in priced) == (shop == far_trim())
    assert all(one.cost == landed_cost(one.judged.planned, shop, TODAY) for one in priced)


@pytest.mark.parametrize("asked", REQUESTS)
def test_the_layout_that_is_kept_is_the_cheapest_for_the_programme_of_all_that_fit(asked):
    shop = house()
    kept = {id_of(one.judged): one for one in best_of_groups(asked, shop, TODAY) if one.cost}

    for group in fitting_of(asked, shop):
        every = [PricedCandidate(one, landed_cost(one.planned, shop, TODAY), len(group)) for one in group]
        cheapest = min(every, key=lambda one: programme_cost(one, shop))
        assert programme_cost(kept[id_of(group[0])], shop) == programme_cost(cheapest, shop)
        assert kept[id_of(group[0])].layouts_compared == len(group)


def id_of(judged_one):
    one = judged_one.planned.candidate
    return one.process, one.machine.code, one.polymer.name, one.offer.name


def test_releases_priced_apart_and_joined_are_those_priced_together():
    shop = house()
    one = fitting_of(request(SMALL), shop)[0][0].planned
    recalled = Recalled()
    last = landed_cost(one, shop, TODAY, (1200,), recalled)

    assert last.ranking_price == landed_cost(one, shop, TODAY).ranking_price
    assert joined(landed_cost(one, shop, TODAY, (100, 300), recalled), last) == landed_cost(one, shop, TODAY)
