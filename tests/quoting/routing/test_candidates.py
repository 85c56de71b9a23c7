"""Which ways to make a part are proposed."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from materials.sheet import INCH, STOCKED_GAUGES
from quoting.routing.candidates import candidates
from quoting.routing.gauge import starting_gauge
from quoting.routing.wall_plan import areal_draw_of
from tests.quoting.routing.routing_catalog import TODAY, catalog, offer, part, request


def test_every_process_is_proposed_on_every_machine_in_every_polymer():
    groups = candidates(request(), catalog(), TODAY)

    assert len(groups) == 3 * 4 * 2
    assert len({(g[0].process, g[0].machine.code, g[0].polymer.name) for g in groups}) == 24


def test_only_accepted_polymers_are_proposed():
    groups = candidates(request(polymers=("HDPE",)), catalog(), TODAY)

    assert {group[0].polymer.name for group in groups} == {"HDPE"}


def test_a_polymer_without_sheet_in_the_colour_is_proposed_without_an_offer():
    groups = candidates(request(colour="custom"), catalog(), TODAY)

    assert {(group[0].polymer.name, group[0].offer and group[0].offer.name) for group in groups} == {
        ("ABS", None),
        ("HDPE", "HDPE custom"),
    }


@pytest.mark.parametrize(
    ("day", "found"),
    [(date(2026, 2, 28), False), (date(2026, 3, 1), True), (date(2026, 3, 31), True), (date(2026, 4, 1), False)],
)
def test_an_offer_holds_on_its_first_and_on_its_last_day(day, found):
    march = offer(valid_from=date(2026, 3, 1), valid_to=date(2026, 3, 31))
    house = catalog(offers=(march,))

    assert (candidates(request(polymers=("ABS",)), house, day)[0][0].offer is not None) == found


def test_each_offer_of_a_polymer_makes_its_own_group():
    house = catalog(offers=(offer(), offer(name="ABS other mill")))

    assert [g[0].offer.name for g in candidates(request(polymers=("ABS",)), house, TODAY)[:2]] == [
        "ABS other mill",
        "ABS stock",
    ]


@given(data=st.data())
def test_the_order_of_machines_polymers_plants_and_offers_in_the_data_does_not_matter(data):
    house = catalog()
    rooms = ("plants", "machines", "polymers", "offers")
    mixed = {room: tuple(data.draw(st.permutations(getattr(house, room)))) for room in rooms}

    assert candidates(request(), replace(house, **mixed), TODAY) == candidates(request(), house, TODAY)


def test_a_given_gauge_is_taken_as_it_is():
    found = starting_gauge(part(gauge=0.19 * INCH), "vacuum", offer())

    assert found.required == found.starting == 0.19 * INCH


def test_a_wall_asked_for_is_reached_from_the_next_stocked_gauge():
    # by hand for the cover of 40 x 28 x 8: .060 x 1.971 / .6 = .197, so .200; on sheet 10 % thin .217, so .220
    wanted = part(gauge=None, minimum_wall=0.060 * INCH)

    assert areal_draw_of(wanted) == pytest.approx(1.971, abs=5e-4)
    assert starting_gauge(wanted, "vacuum", offer(gauge_tolerance=0.0)).starting == pytest.approx(0.200 * INCH)
    assert starting_gauge(wanted, "vacuum", offer(gauge_tolerance=0.1)).starting == pytest.approx(0.220 * INCH)


def test_beyond_the_thickest_stocked_gauge_the_required_one_is_kept():
    found = starting_gauge(part(gauge=None, minimum_wall=0.3 * INCH), "vacuum", offer())

    assert found.starting == found.required > STOCKED_GAUGES[-1]
