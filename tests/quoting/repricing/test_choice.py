"""Re-pricing from what was kept gives what a full answer gives, to the cent and by the same candidate."""

from dataclasses import replace
from datetime import timedelta

import pytest

from quoting import choosing
from quoting.answering import answered, best_of_groups, judged_groups
from quoting.contract import to_plain
from quoting.intake.part import Coat, Secondary
from quoting.intake.reading_result import Reading
from quoting.repricing.basis import basis_of, from_text, opened, to_text
from quoting.repricing.choice import House, choice
from quoting.repricing.repriced import priced_by_basis, priced_of, quoted_of
from tests.quoting.repricing.demo import (
    ON,
    groups_of,
    house,
    requests,
    with_bookings,
    with_factors,
    with_hour_rates,
    with_hours_beside,
    with_rates,
    with_resin,
)

QUOTED = tuple(name for name in requests() if name < "10")  # the others of the demo are not a fit
CATALOGS = {
    "as it was": lambda: house(),
    "resin 10 % dearer": lambda: with_resin(house(), "1.10"),
    "resin at half, and one polymer at three times": lambda: with_resin(with_resin(house(), "0.5"), "3", "ABS"),
    "hour rates turned about": lambda: with_hour_rates(house(), ("0.4", "1.9", "1.0")),
    "margins": lambda: with_rates(house(), price__margin="0.31", margin__twin_sheet="0.09", price__overhead="0.05"),
    "freight at three times": lambda: with_rates(
        house(), freight__ltl_base="90", freight__linehaul_per_mile="9", freight__diesel_per_gallon="11"
    ),
    "a minimum release that binds": lambda: with_rates(house(), price__minimum_release_price="250000"),
    "scrap, trimming and handling": lambda: with_rates(
        house(),
        forming__scrap_vacuum="0.11",
        trim__scrap="0.07",
        trim__hole_time="40 s",
        sheet__material_handling="0.2",
    ),
    "tools at a tenth": lambda: with_rates(
        house(), tooling__cast_aluminium__price="900", tooling__pressure_tool__price="1500", price__programme_years="1"
    ),
    "machines booked": lambda: with_bookings(house(), 500.0, every=2),
    "machines booked, resin dearer": lambda: with_bookings(with_resin(house(), "1.10"), 90.0, every=3),
    "trimmers, benches and tool rooms booked, some for ever": lambda: with_hours_beside(house(), 70.0, without=4),
    "corrected by recorded runs": lambda: with_factors(house(), (1.6, 0.7, 1.15)),
    "corrected by recorded runs, resin dearer": lambda: with_factors(with_resin(house(), "1.10"), (0.8, 1.3)),
}


def fully_chosen(request, catalog):
    """The choice of the core itself: all candidates planned and judged anew, and every one that fits costed."""
    priced = [one for one in best_of_groups(request, catalog, ON) if one.cost is not None]
    return priced[0] if priced else None


def kept_basis(request):
    """What was kept when the inquiry was answered under the first rates."""
    return from_text(to_text(basis_of(request, groups_of(request))))


@pytest.fixture(params=CATALOGS, scope="module")
def catalog(request):
    return CATALOGS[request.param]()


@pytest.mark.parametrize("name", QUOTED)
def test_a_basis_gives_the_choice_of_a_full_answer_under_other_rates(name, catalog):
    asked = requests()[name]

    assert priced_by_basis(kept_basis(asked), House.of(catalog, ON)) == priced_of(fully_chosen(asked, catalog))


@pytest.mark.parametrize("name", QUOTED)
def test_the_whole_cost_of_the_choice_is_that_of_a_full_answer(name):
    asked, dearer = requests()[name], with_resin(house(), "1.10")
    kept, home = kept_basis(asked), House.of(dearer, ON)

    assert choice(opened(kept, home.known), kept.request, home).cost == fully_chosen(asked, dearer).cost


@pytest.mark.parametrize("name", sorted(set(requests()) - set(QUOTED)))
def test_what_did_not_fit_fits_under_no_other_rates(name):
    dearer = with_resin(house(), "1.10")

    assert priced_by_basis(kept_basis(requests()[name]), House.of(dearer, ON)) is None
    assert fully_chosen(requests()[name], dearer) is None


def test_where_nobody_has_an_hour_no_candidate_is_left_as_in_a_full_answer():
    asked = requests()["06-rail-seat-back"]
    full = with_hours_beside(house(), 70.0, without=1)

    assert fully_chosen(asked, full) is None
    assert priced_by_basis(kept_basis(asked), House.of(full, ON)) is None


@pytest.mark.parametrize("weeks", [3, 12, 16, 30])
@pytest.mark.parametrize("name", ["01-equipment-cover", "05-transferred-tool", "06-rail-seat-back"])
def test_a_date_that_only_some_machines_meet_is_weighed_as_in_a_full_answer(name, weeks):
    asked = replace(requests()[name], needed_by=ON + timedelta(weeks=weeks))
    booked = with_bookings(house(), 70.0, every=2)

    assert priced_by_basis(kept_basis(asked), House.of(booked, ON)) == priced_of(fully_chosen(asked, booked))


@pytest.mark.parametrize("over", [2_000, 40_000])
def test_tooling_that_is_paid_in_the_price_is_weighed_as_in_a_full_answer(over):
    asked = replace(requests()["06-rail-seat-back"], amortise_over=over)

    assert priced_by_basis(kept_basis(asked), House.of(house(), ON)) == priced_of(fully_chosen(asked, house()))


@pytest.mark.parametrize("name", QUOTED)
def test_a_surplus_that_the_parts_share_is_weighed_as_in_a_full_answer(name):
    asked = replace(requests()[name], surplus="shared", releases=(20, 60))
    dearer = with_resin(house(), "1.10")

    assert priced_by_basis(kept_basis(asked), House.of(dearer, ON)) == priced_of(fully_chosen(asked, dearer))


def test_coats_are_weighed_as_in_a_full_answer():
    coated = Secondary("paint", 2, Coat("free", 0.8, 1.5, 0.5))
    asked = replace(requests()["01-equipment-cover"], secondary=(coated,))

    assert priced_by_basis(kept_basis(asked), House.of(house(), ON)) == priced_of(fully_chosen(asked, house()))


@pytest.mark.parametrize("weeks", [3, 12, 16])
def test_a_date_is_weighed_with_corrected_hours_as_in_a_full_answer(weeks):
    asked = replace(requests()["01-equipment-cover"], needed_by=ON + timedelta(weeks=weeks))
    corrected = with_factors(with_bookings(house(), 70.0, every=2), (1.6, 0.7, 1.15))

    assert priced_by_basis(kept_basis(asked), House.of(corrected, ON)) == priced_of(fully_chosen(asked, corrected))


def test_corrections_change_prices():
    asked = requests()["01-equipment-cover"]
    first, corrected = (House.of(one, ON) for one in (house(), with_factors(house(), (1.6, 1.3))))

    assert priced_by_basis(kept_basis(asked), first) != priced_by_basis(kept_basis(asked), corrected)


def test_few_candidates_are_costed(monkeypatch):
    asked = requests()["04-pump-guard-for-steel"]
    kept, costed = basis_of(asked, groups_of(asked)), []
    exactly = choosing.landed_cost
    monkeypatch.setattr(choosing, "landed_cost", lambda *given: costed.append(1) or exactly(*given))
    priced_by_basis(kept, House.of(house(), ON))

    fitting = sum(len(group) for group in groups_of(asked) if group[0].fits)
    assert fitting > 200 and len(costed) < 10


def test_a_stored_quote_tells_the_prices_that_its_answer_had():
    asked = requests()["02-textured-console"]
    answer = answered(Reading(asked, (), (), ()), house(), ON)

    assert quoted_of(to_plain(answer)) == priced_of(answer.chosen)


@pytest.mark.parametrize("name", ["01-equipment-cover", "03-twin-sheet-deck"])
@pytest.mark.parametrize("side", ["female", "male"])
def test_kept_candidates_are_planned_as_they_were(name, side):
    asked = requests()[name]
    asked = replace(asked, part=replace(asked.part, tool_side=side))
    fitting = [group for group in judged_groups(asked, house(), ON) if group[0].fits]
    groups = opened(from_text(to_text(basis_of(asked, tuple(fitting)))), House.of(house(), ON).known)
    assert bool(groups) == (name != "03-twin-sheet-deck" or side == "female")
    for before, after in zip(fitting, groups, strict=True):
        for place, one in enumerate(before):
            again = after.planned(place)
            plan = one.planned.plan
            assert again.candidate == one.planned.candidate
            assert (again.plan.blank_mass, again.plan.part_mass, again.plan.trim) == (
                plan.blank_mass, plan.part_mass, plan.trim,
            )  # fmt: skip
            assert again.plan.cycle.parts_per_hour == plan.cycle.parts_per_hour
            assert again.plan.thinning.mean_wall == plan.thinning.mean_wall
