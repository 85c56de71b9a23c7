"""Few layouts are costed exactly, and what is kept is what would be kept if all were."""

from dataclasses import replace

import pytest

from machines.promise import NoFreeHoursError
from quoting import choosing
from quoting.answering import judged_groups
from quoting.choosing import best_layout, best_layouts
from quoting.routing.recalled import Recalled
from tests.quoting.repricing.demo import (
    ON,
    house,
    requests,
    with_bookings,
    with_factors,
    with_hours_beside,
    with_rates,
    with_resin,
)

CATALOGS = {
    "as it was": lambda: house(),
    "resin at half": lambda: with_resin(house(), "0.5"),
    "a minimum release that binds": lambda: with_rates(house(), price__minimum_release_price="250000"),
    "machines booked": lambda: with_bookings(house(), 90.0, every=2),
    "some places booked for ever": lambda: with_hours_beside(house(), 70.0, without=4),
    "corrected by recorded runs": lambda: with_factors(house(), (1.6, 0.7, 1.15)),
}
QUOTED = tuple(name for name in requests() if name < "10")


def small(name):
    """Half as long and wide, in any polymer and in small and large releases, so that many layouts compete."""
    asked = requests()[name]
    part = asked.part
    part = replace(
        part, length=part.length / 2, width=part.width / 2, depth=part.depth / 2, surface_area=part.surface_area / 4
    )
    return replace(asked, part=part, polymers=(), releases=(7, 60, 900))


def costed_all(groups, catalog):
    """The best of each group with every layout of it priced."""
    return [best_layout(group, catalog, ON, Recalled()) for group in groups]


@pytest.mark.parametrize("changed", CATALOGS)
@pytest.mark.parametrize("name", QUOTED)
def test_the_layouts_that_are_kept_are_those_of_an_answer_that_prices_all(name, changed):
    catalog = CATALOGS[changed]()
    groups = judged_groups(small(name), catalog, ON)

    assert best_layouts(groups, catalog, ON) == costed_all(groups, catalog)


def test_few_layouts_are_compared_by_their_exact_price(monkeypatch):
    groups = judged_groups(small("01-equipment-cover"), house(), ON)
    exactly, compared = choosing.landed_price_beside, []
    monkeypatch.setattr(choosing, "landed_price_beside", lambda *given: compared.append(1) or exactly(*given))
    best_layouts(groups, house(), ON)

    others = sum(len(group) - 1 for group in groups if group.fits)
    assert others > 50 and len(compared) < others / 4


def test_where_the_one_layout_worth_costing_lacks_hours_the_next_may_be_one_that_was_left_out(monkeypatch):
    groups = judged_groups(small("01-equipment-cover"), house(), ON)
    free = best_layouts(groups, house(), ON)
    cheapest = {id(one.judged.planned.candidate.layout) for one in free if one.cost is not None}
    exactly = choosing.landed_cost

    def without_hours(planned, *more, **others):
        if id(planned.candidate.layout) in cheapest:
            raise NoFreeHoursError(50.0, 10.0, "1040 weeks", "forming", planned.candidate.machine.code)
        return exactly(planned, *more, **others)

    monkeypatch.setattr(choosing, "landed_cost", without_hours)
    found = best_layouts(groups, house(), ON)

    assert found == costed_all(groups, house())
    assert any(
        one.cost is not None and one.judged.planned.candidate.layout is not was.judged.planned.candidate.layout
        for one, was in zip(found, free, strict=True)
    )
