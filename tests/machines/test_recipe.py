"""The way of a sheet through preheat, oven and open air, against a general solver that is sent the same way."""

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from machines import recipe as recipe_module
from machines.heater_settings import setting_table
from machines.machine import Oven
from machines.oven import OvenCase, choose, oven_load
from machines.recipe import SPARE, Recipes, Way, dwell_of, recipes_of
from materials.polymer import Polymer
from tests.material_samples import CELSIUS, amorphous, bank, oven, semicrystalline
from tests.reference.cells import Stay, face_of, heat_between, open_air, sent_through

START, ROOM = 20 + CELSIUS, 22 + CELSIUS
INDEX, TO_CONTACT = 6.0, 18.0  # s
AS_SHIPPED = recipe_module.ROUNDS
MARCH = 0.5  # K, what a march is good to
few = settings(max_examples=8, deadline=None)


@dataclass(frozen=True)
class Sent:
    """A recipe with the setting it was made from: of one go, in ``one_go`` seconds."""

    recipe: Recipes
    one_go: float
    feasible: bool
    way: Way


def way_through(stations: int, dwell: float, index: float, contact: float) -> Way:
    return Way(*(np.array([float(value)]) for value in (stations, index, contact, ROOM, dwell)))


def send(
    polymer: Polymer, gauge: float, stations: int, dwell: float = 0.0, index: float = INDEX,
    contact: float = TO_CONTACT, place: int | None = None, heaters: Oven | None = None,
) -> Sent:  # fmt: skip
    """The recipe of one sheet; dwell 0: the heat sets the pace."""
    load = oven_load((OvenCase(polymer, gauge, heaters or oven(), START),))
    table, way = setting_table(load), way_through(stations, dwell, index, contact)
    if place is None:
        place = choose(table, np.array([stations * dwell - (stations - 1) * index]))[0]
    upper, lower, time = (column[:, place] for column in (table.upper, table.lower, table.time))
    (found,) = recipes_of(load, upper, lower, time, way).one_by_one()
    return Sent(found, float(time[0]), bool(table.feasible[0, place]), way)


@pytest.fixture
def one_setting_for_both(monkeypatch):
    monkeypatch.setattr(recipe_module, "_set_apart", lambda load, together, further, way: together)
    recipe_module._known.clear()
    yield
    recipe_module._known.clear()


@pytest.fixture
def never_further(monkeypatch):
    monkeypatch.setattr(recipe_module, "ROUNDS", 0)
    recipe_module._known.clear()
    yield
    recipe_module._known.clear()


def stays_of(polymer: Polymer, heaters: Oven, recipe: Recipes, stations: int) -> list[Stay]:
    """The same way for the general solver; grey parallel planes and view factor by hand."""

    def heat(upper: float, lower: float, time: float) -> Stay:
        sides = [
            b.view_factor / (1 / b.emissivity + 1 / polymer.emissivity - 1) for b in (heaters.upper, heaters.lower)
        ]
        return Stay(time, (sides[0], upper), (sides[1], lower), heaters.air_temperature, heaters.air_film_coefficient)

    each = recipe.preheat_time / max(stations - 1, 1)
    before = [heat(recipe.preheat_upper, recipe.preheat_lower, each), open_air(polymer, ROOM, INDEX)]
    return [*before * (stations - 1), heat(recipe.upper, recipe.lower, recipe.oven_time),
            open_air(polymer, ROOM, TO_CONTACT)]  # fmt: skip


WAYS = [
    (amorphous(), 0.0015, 1, 60.0), (amorphous(), 0.003, 2, 0.0), (amorphous(), 0.005, 2, 0.0),
    (amorphous(), 0.005, 2, 60.0), (amorphous(), 0.0095, 3, 60.0), (semicrystalline(), 0.003, 1, 0.0),
    (semicrystalline(), 0.003, 2, 150.0), (semicrystalline(), 0.005, 3, 150.0), (semicrystalline(), 0.0095, 2, 0.0),
]  # fmt: skip


@pytest.mark.parametrize(("polymer", "gauge", "stations", "dwell"), WAYS)
def test_a_general_solver_sent_the_same_way_finds_the_same_sheet(polymer, gauge, stations, dwell):
    found = send(polymer, gauge, stations, dwell).recipe
    stays = stays_of(polymer, oven(), found, stations)
    # scipy LSODA over finite volumes of its own, from the cold sheet through every station to the tool
    *_, leaving, touching = sent_through(polymer, gauge, START, stays)
    last = stays[-1]
    faces = [face_of(polymer, gauge, side, last.upper, last) for side in (touching, touching[::-1])]

    skin = MARCH if gauge < 0.009 else 0.6  # K, the skin of a thick sheet is steepest
    assert found.upper_skin_at_contact == pytest.approx(faces[0], abs=skin)
    assert found.lower_skin_at_contact == pytest.approx(faces[1], abs=skin)
    assert found.coldest_at_contact == pytest.approx(min(*faces, touching.min()), abs=MARCH)
    assert found.mean_at_contact == pytest.approx(touching.mean(), abs=MARCH)
    assert found.mean_at_exit == pytest.approx(leaving.mean(), abs=MARCH)
    # a core in the flank of its melting peak warms so fast that 1 % of the heat is 1.5 K
    assert found.core_at_exit == pytest.approx(leaving.min(), abs=1.5 if polymer.semicrystalline else MARCH)


@pytest.mark.parametrize(("polymer", "gauge", "stations", "dwell"), WAYS)
def test_the_energy_is_what_the_sheet_holds_more_at_the_exit_than_at_the_start(polymer, gauge, stations, dwell):
    found = send(polymer, gauge, stations, dwell).recipe
    *_, leaving, _ = sent_through(polymer, gauge, START, stays_of(polymer, oven(), found, stations))
    # scipy quad over the heat capacity, cell by cell of the general solver
    held = np.mean([heat_between(polymer, START, float(level)) for level in leaving])
    assert found.energy == pytest.approx(polymer.density * gauge * held, rel=0.006)


@given(st.floats(0.003, 0.0127), st.booleans(), st.floats(0.0, 300.0))
@few
def test_a_single_station_takes_the_time_of_the_table(gauge, melting, dwell):
    sent = send(semicrystalline() if melting else amorphous(), gauge, 1, dwell, contact=1.0)
    if sent.feasible and sent.recipe.coldest_at_contact > (132 if melting else 127) + CELSIUS + 0.01:
        assert sent.recipe.oven_time == pytest.approx(sent.one_go, rel=0.01)  # the table is marched more coarsely
    assert sent.recipe.preheat_time == 0.0
    assert (sent.recipe.preheat_upper, sent.recipe.preheat_lower) == (sent.recipe.upper, sent.recipe.lower)


@pytest.mark.parametrize("stations", [2, 3])
@pytest.mark.parametrize("polymer", [amorphous(), semicrystalline()], ids=["amorphous", "semi-crystalline"])
@pytest.mark.parametrize("gauge", [0.003, 0.005, 0.0095])
def test_stations_share_the_heat_alike_where_the_heat_sets_the_pace(one_setting_for_both, polymer, gauge, stations):
    sent = send(polymer, gauge, stations)
    shares = [sent.recipe.preheat_time / (stations - 1), sent.recipe.oven_time]
    assert max(shares) - min(shares) < 0.025 * sent.recipe.time  # the stay is guessed by a rough march


@pytest.mark.parametrize("stations", [2, 3])
@pytest.mark.parametrize("polymer", [amorphous(), semicrystalline()], ids=["amorphous", "semi-crystalline"])
@pytest.mark.parametrize("gauge", [0.0015, 0.003, 0.005])
def test_no_station_waits_long_for_another_though_a_thin_sheet_is_heated_further(polymer, gauge, stations):
    sent = send(polymer, gauge, stations)
    # all further heating at the end would put some 40 % more on the oven of the thinnest
    assert dwell_of(sent.recipe, sent.way)[0] < 1.15 * sent.recipe.time / stations


@pytest.mark.parametrize("stations", [2, 3])
@pytest.mark.parametrize("gauge", [0.003, 0.005, 0.0095])
def test_what_a_gap_in_the_heat_costs_is_what_the_open_air_takes(one_setting_for_both, gauge, stations):
    polymer = amorphous()
    sent = send(polymer, gauge, stations)
    # by hand: h 10 W/(m2 K) and grey radiation to the room, from skins between those of the exit and of the start;
    # the heaters put back at least 2 kW/m2 a face where the skin is hottest
    skin = sent.recipe.surface_peak
    most = 10 * (skin - ROOM) + polymer.emissivity * 5.670374419e-8 * (skin**4 - ROOM**4)
    exchange = 0.7 / (1 / 0.9 + 1 / 0.92 - 1) * 5.670374419e-8
    back = exchange * (min(sent.recipe.upper, sent.recipe.lower) ** 4 - skin**4) + 8 * (353.15 - skin)
    extra = sent.recipe.time - sent.one_go

    assert -0.1 < extra < (stations - 1) * INDEX * most / back


@given(st.floats(0.003, 0.010), st.floats(40.0, 200.0), st.integers(2, 3))
@few
def test_the_oven_has_its_whole_dwell_and_the_preheat_the_rest_where_other_stations_set_the_pace(
    gauge, dwell, stations
):
    sent = send(amorphous(), gauge, stations, dwell)
    if sent.recipe.time > stations * dwell or sent.recipe.coldest_at_contact < 127.2 + CELSIUS:
        return  # the heat sets the pace, or the sheet was heated further
    if sent.recipe.preheat_upper > sent.recipe.upper:
        return  # the stay before the oven was guessed so far off that the preheat was set apart
    # good to what that stay is guessed to
    assert sent.recipe.oven_time == pytest.approx(min(dwell - SPARE, sent.recipe.time), abs=2.0)
    assert sent.recipe.preheat_time <= (stations - 1) * dwell


def test_a_sheet_that_fits_the_dwell_of_other_stations_keeps_the_gentle_setting_for_both():
    # 213 s in one go, in three stations of 75 s each
    sent = send(amorphous(), 0.003, 3, 75.0)
    assert sent.recipe.preheat_upper == sent.recipe.upper


@given(st.floats(0.003, 0.0115), st.booleans(), st.integers(2, 3), st.floats(0.0, 120.0))
@few
def test_a_hotter_preheat_is_never_slower_scorches_nothing_and_arrives_warm(gauge, melting, stations, dwell):
    polymer = semicrystalline() if melting else amorphous()
    apart = send(polymer, gauge, stations, dwell)
    if not apart.feasible:
        return
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(recipe_module, "_set_apart", lambda load, together, further, way: together)
        recipe_module._known.clear()
        together = send(polymer, gauge, stations, dwell).recipe
    recipe_module._known.clear()

    dwells = [dwell_of(one, apart.way)[0] for one in (apart.recipe, together)]
    assert dwells[0] <= dwells[1]
    if apart.recipe != together:
        assert apart.recipe.surface_peak <= polymer.upper_forming_temperature
        assert apart.recipe.coldest_at_contact >= polymer.lower_forming_temperature
        assert apart.recipe.mean_at_exit >= polymer.normal_forming_temperature - 0.05


def test_a_thick_sheet_has_its_preheat_set_apart_and_gains_by_it():
    thick = send(amorphous(), 0.0095, 2)
    assert thick.recipe.preheat_upper > thick.recipe.upper + 20
    assert dwell_of(thick.recipe, thick.way)[0] < 0.9 * thick.one_go / 2


@pytest.mark.parametrize("stations", [1, 2])
@pytest.mark.parametrize(
    ("polymer", "gauge", "contact"),
    [
        (amorphous(), 0.0015, 18.0),
        (amorphous(), 0.0015, 22.0),
        (amorphous(), 0.002, 22.0),
        (semicrystalline(), 0.0015, 18.0),
        (semicrystalline(), 0.002, 22.0),
        pytest.param(
            semicrystalline(), 0.0015, 22.0,
        ),
    ],
)  # fmt: skip
def test_a_thin_sheet_that_would_get_to_the_tool_too_cold_is_heated_further(
    never_further, polymer, stations, gauge, contact
):
    lower = polymer.lower_forming_temperature
    plain = send(polymer, gauge, stations, 60.0, contact=contact).recipe
    assert plain.coldest_at_contact < lower
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(recipe_module, "ROUNDS", AS_SHIPPED)
        recipe_module._known.clear()
        further = send(polymer, gauge, stations, 60.0, contact=contact).recipe

    assert further.coldest_at_contact >= lower - MARCH
    assert further.mean_at_exit > plain.mean_at_exit
    assert further.surface_peak <= polymer.upper_forming_temperature + MARCH


@given(st.floats(0.003, 0.0127), st.booleans(), st.floats(1.0, 15.0), st.floats(0.5, 10.0))
@few
def test_a_longer_way_to_the_tool_never_brings_a_hotter_sheet(gauge, melting, contact, more):
    polymer = semicrystalline() if melting else amorphous()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(recipe_module, "ROUNDS", 0)  # else the later one may have been heated further
        recipe_module._known.clear()
        short, long = (send(polymer, gauge, 1, contact=time).recipe for time in (contact, contact + more))
    recipe_module._known.clear()

    assert long.mean_at_contact < short.mean_at_contact <= short.mean_at_exit
    for side in ("upper_skin_at_contact", "lower_skin_at_contact"):
        assert getattr(long, side) < getattr(short, side) + 0.05


@given(st.floats(0.003, 0.010), st.floats(3.0, 9.0), st.floats(0.5, 9.0))
@few
def test_a_longer_gap_between_stations_never_makes_the_heat_shorter(gauge, index, more):
    place = 3
    short, long = (send(amorphous(), gauge, 2, 1e-3, index=time, place=place).recipe for time in (index, index + more))
    if (short.preheat_upper, long.preheat_upper) == (short.upper, long.upper):
        assert long.time > short.time - 0.1


def recipes_in_company(places: list[int]) -> np.ndarray:
    """Rows of recipes of some of six cases that are solved together."""
    recipe_module._known.clear()
    cases = [OvenCase(p, g, oven(), START) for p in (amorphous(), semicrystalline()) for g in (0.002, 0.005, 0.0095)]
    ways = np.array([[1, 6, 18, ROOM, 60], [2, 6, 18, ROOM, 0], [2, 9, 20, ROOM, 50]] * 2, float)[places]
    load, at = oven_load(tuple(cases[place] for place in places)), np.arange(len(places))
    table = setting_table(load)
    chosen = choose(table, ways[:, 0] * ways[:, 4])
    columns = (table.upper[at, chosen], table.lower[at, chosen], table.time[at, chosen])
    found = recipes_of(load, *columns, Way(*ways.T))
    return np.column_stack(list(vars(found).values()))


def test_a_sheet_has_the_same_recipe_in_any_order():
    order = [3, 5, 0, 4, 2, 1]
    same = np.array_equal(recipes_in_company(order), recipes_in_company(list(range(6)))[order])
    assert same


def test_a_sheet_has_the_same_recipe_alone_as_among_others():
    alone = np.concatenate([recipes_in_company([place]) for place in range(6)])
    same = np.array_equal(alone, recipes_in_company(list(range(6))))
    assert same


def test_banks_that_are_not_alike_keep_their_sides():
    heaters = oven(bank(500.0, 800.0, view_factor=0.9), bank(500.0, 800.0, view_factor=0.5))
    turned = oven(heaters.lower, heaters.upper)
    up, down = (send(amorphous(), 0.005, 2, heaters=one).recipe for one in (heaters, turned))

    assert (up.upper, up.lower) == pytest.approx((down.lower, down.upper), rel=1e-9)
    assert up.upper_skin_at_contact == pytest.approx(down.lower_skin_at_contact, abs=1e-6)
    assert up.oven_time == pytest.approx(down.oven_time, rel=1e-9)


def test_the_dwell_is_that_of_the_station_which_needs_longest():
    some = Recipes(*(np.zeros(3) for _ in range(15)))
    times = some.replaced(np.arange(3), Recipes(**{name: np.zeros(3) for name in vars(some)} | {
        "preheat_time": np.array([0.0, 100.0, 100.0]), "oven_time": np.array([80.0, 60.0, 40.0])}))  # fmt: skip
    way = Way(np.array([1.0, 2.0, 3.0]), *(np.zeros(3) for _ in range(4)))
    # by hand: 80; 100 in one preheat; 50 in each of two
    assert dwell_of(times, way).tolist() == [80.0, 100.0, 50.0]


@pytest.mark.parametrize(("index", "contact"), [(0.0, 18.0), (0.0, 0.0)])
def test_a_machine_that_needs_no_time_between_stations_has_a_recipe(index, contact):
    found = send(amorphous(), 0.003, 2, index=index, contact=contact).recipe
    assert np.isfinite(list(vars(found).values())).all()
