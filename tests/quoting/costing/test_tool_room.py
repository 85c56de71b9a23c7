"""Hours of tools in our own tool room: how many, and what they do to the lead time."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from machines.machine import Booking
from machines.promise import NoFreeHoursError
from quoting.catalog import ToolRoomRate, ToolRoomRates
from quoting.costing.landed import landed_cost
from quoting.costing.tool_room import tool_room_lines, tool_room_of
from quoting.costing.tooling import tooling_lines
from quoting.routing.recalled import Recalled
from tests.quoting.costing.shop import TODAY, some_catalog, some_planned, with_part

HOURS = {"cast_aluminium": (24.0, 6.0), "trim_fixture": (12.0, 3.0), "check_fixture": (8.0, 0.0), "plug": (8.0, 2.0)}
ROOM = ToolRoomRates(
    tuple(ToolRoomRate(name, *hours) for name, hours in HOURS.items()),
    texture_per_square_foot=0.5, moving_section=10.0, transferred_tool=8.0,
)  # fmt: skip


def in_a_plant(places: int, planned=None):
    """The worked cover in a plant with so many places in its tool room, and the catalog that knows it."""
    planned, catalog = planned or some_planned(), some_catalog()
    plant = replace(catalog.plants[0], tool_room_places=places)
    catalog = replace(catalog, plants=(plant,), rates=replace(catalog.rates, tool_room=ROOM))
    return replace(planned, candidate=replace(planned.candidate, plant=plant)), catalog


def hours_of(planned, catalog):
    return {one.name: one.hours for one in tool_room_lines(planned, catalog.rates, Recalled())}


def test_tools_of_the_worked_cover_take_the_hours_of_their_rates_at_the_reference_size():
    # worked cover: 40 x 28 x 8 in is the reference size, so each tool takes its fitting and its try-out as they stand
    planned, catalog = in_a_plant(2)

    found = tool_room_of(planned, catalog.rates, Recalled())

    assert {one.name: one.hours for one in found.lines} == pytest.approx(
        {"cast_aluminium": 30.0, "trim_fixture": 15.0, "check_fixture": 8.0}
    )
    assert (found.hours, found.places, found.why_none) == (pytest.approx(53.0), 2, "")


def test_fitting_grows_with_size_and_cavities_as_the_price_does_and_try_out_does_not():
    planned, catalog = in_a_plant(1)
    part = planned.request.part
    larger = with_part(planned, length=2 * part.length, width=2 * part.width, depth=2 * part.depth)
    layout = replace(larger.candidate.layout, across=2, along=1)
    two = replace(larger, candidate=replace(larger.candidate, layout=layout))
    share = float(next(one.cavity_share for one in catalog.rates.tooling if one.name == "cast_aluminium"))

    # (L+H)(W+H) grows fourfold: 4^.8
    assert hours_of(larger, catalog)["cast_aluminium"] == pytest.approx(24 * 4**0.8 + 6)
    assert hours_of(two, catalog)["cast_aluminium"] == pytest.approx(24 * 4**0.8 * (1 + share) + 6)


def test_texture_takes_hours_by_its_area_and_moving_sections_by_their_number():
    planned, catalog = in_a_plant(1)
    shaped = with_part(planned, texture_depth=0.1e-3, surface_area=2 * 0.3048**2, undercuts=3)

    found = hours_of(shaped, catalog)

    assert (found["texture"], found["moving_sections"]) == (pytest.approx(1.0), 30.0)
    assert set(found) == {line.name for line in tooling_lines(shaped, catalog.rates)}


def test_a_customers_tool_is_inspected_and_fitted_and_only_its_trim_fixture_is_made():
    planned, catalog = in_a_plant(1)
    moved = replace(planned, request=replace(planned.request, tooling="transfer"))

    assert hours_of(moved, catalog) == pytest.approx({"transferred_tool": 8.0, "trim_fixture": 15.0})


def test_a_plant_without_a_tool_room_has_no_hours_and_says_why():
    planned, catalog = in_a_plant(0)

    cost = landed_cost(planned, catalog, TODAY)

    assert (cost.tool_room.hours, cost.tool_room.lines) == (0.0, ())
    assert "bought outside" in cost.tool_room.why_none
    assert cost.breaks[0].timing.tool_room is None


def test_an_idle_tool_room_is_done_after_the_weeks_of_the_rate_and_a_full_one_puts_the_date_off():
    planned, catalog = in_a_plant(1)
    usual = landed_cost(some_planned(), some_catalog(), TODAY).breaks[0]

    idle = landed_cost(planned, catalog, TODAY).breaks[0]

    assert idle.timing.tool == pytest.approx(usual.timing.waits.tool) == pytest.approx(56.0)
    assert idle.timing.tool_room.queue == pytest.approx(0)
    assert idle.timing.leaves == pytest.approx(usual.timing.leaves)
    # the plant works 120 h a week: 53 h are the last of eight weeks. Two weeks are full when the tool comes.
    comes = TODAY + timedelta(days=int(idle.timing.waits.tool))
    monday = comes - timedelta(days=comes.weekday())
    full = tuple(Booking("P1/tool room", monday + timedelta(weeks=week), 120.0, True) for week in range(2))
    catalog = replace(
        catalog, beside=tuple(replace(one, machine=f"{catalog.plants[0].code}/tool room") for one in full)
    )
    busy = landed_cost(planned, catalog, TODAY).breaks[0]
    begins = busy.timing.waits.tool + busy.timing.tool_room.queue
    assert TODAY + timedelta(days=int(begins + 1e-6)) == monday + timedelta(weeks=2)
    # 53 h of 24 h a day
    assert busy.timing.tool == pytest.approx(begins + 53 / 24)
    assert busy.lead_time_weeks > idle.lead_time_weeks + 1
    two = replace(planned.candidate.plant, tool_room_places=2)
    beside = replace(planned, candidate=replace(planned.candidate, plant=two))
    assert landed_cost(beside, catalog, TODAY).breaks[0].timing == idle.timing  # the second place is free


def test_booked_work_at_trimmer_and_bench_makes_the_release_wait_there():
    planned, catalog = some_planned(), some_catalog()
    plant, trimmer = catalog.plants[0], planned.plan.trim.trimmer
    free = landed_cost(planned, catalog, TODAY).breaks[0]
    formed = TODAY + timedelta(days=int(free.timing.ready + free.timing.placed[0].queue + free.timing.placed[0].run))
    monday = formed - timedelta(days=formed.weekday())

    def with_full_week(name: str):
        booked = (Booking(f"{plant.code}/{name}", monday, 168.0, True),)
        placed = landed_cost(planned, replace(catalog, beside=booked), TODAY).breaks[0].timing.placed
        return {one.name: one.queue for one in placed}

    at_trimmer, at_bench = with_full_week(trimmer.code), with_full_week("assembly")

    until_monday = (monday + timedelta(weeks=1) - formed).days
    assert (
        until_monday - 1 < at_trimmer["trim"] <= until_monday + 3
    )  # 168 h fill a week of 120 h and 2 days of the next
    assert at_bench["trim"] == pytest.approx(0)
    assert at_bench["assembly"] > 1


def test_a_trimmer_that_is_booked_for_ever_is_named_with_what_it_has(planned, catalog):
    code = planned.plan.trim.trimmer.code
    booked = (Booking(f"{catalog.plants[0].code}/{code}", date(2026, 3, 2), 1e7, True),)

    with pytest.raises(NoFreeHoursError) as refused:
        landed_cost(planned, replace(catalog, beside=booked), TODAY)

    assert (refused.value.work, refused.value.where) == ("trim", code)
