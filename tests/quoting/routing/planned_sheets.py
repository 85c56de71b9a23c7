"""Plans of several machines, polymers and gauges, planned once for all tests that look behind them."""

from functools import cache

import pytest

from materials.sheet import INCH
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.study import FormingStudy
from quoting.routing.studying import forming_study
from tests.quoting.routing.routing_catalog import FOUR, KELVIN, bank, catalog, machine, one_planned, oven, part, request

WAYS = (
    ("R3", "ABS", 0.187, "vacuum"),
    ("R3", "HDPE", 0.125, "vacuum"),
    ("R3", "ABS", 0.187, "pressure"),
    ("R4", "ABS", 0.093, "vacuum"),
    ("R4", "ABS", 0.375, "vacuum"),
    ("R4", "HDPE", 0.312, "vacuum"),
    ("S1", "ABS", 0.250, "vacuum"),
    ("S1", "HDPE", 0.187, "vacuum"),
    ("T4", "HDPE", 0.187, "twin_sheet"),
    ("T4", "ABS", 0.125, "twin_sheet"),
)


@cache
def plan_of(code: str, polymer: str, gauge: float, process: str) -> PlannedCandidate:
    """On one of the machines of the invented house; gauge [in]."""
    asked = request(part(gauge=gauge * INCH, enclosed=process == "twin_sheet"))
    return one_planned(process, asked, machine=code, polymer=polymer)


@cache
def study_of(code: str, polymer: str, gauge: float, process: str) -> FormingStudy:
    return forming_study(plan_of(code, polymer, gauge, process))


each_way = pytest.mark.parametrize("way", WAYS, ids=lambda way: "-".join(map(str, way)))


@cache
def set_apart() -> PlannedCandidate:
    """Half an inch of ABS that sets the pace of a rotary, so that its preheat runs hotter than its oven."""
    side = bank(lowest_temperature=250 + KELVIN, highest_temperature=420 + KELVIN)
    press = machine(
        kind="four_station_rotary", stations=FOUR, cooling_film_coefficient=300.0, oven=oven(upper=side, lower=side)
    )
    found = one_planned("vacuum", request(part(gauge=0.5 * INCH)), catalog(machines=(press,)))
    assert found.plan.heating.preheat_upper > found.plan.heating.upper_heater + 20
    return found
