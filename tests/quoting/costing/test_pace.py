"""Which of former and trimmer is the bottleneck, and the hand bench beside the router."""

from dataclasses import replace

import pytest

from quoting.costing.pace import pace
from tests.quoting.costing.shop import some_bench, some_catalog, some_planned, some_plant, some_router

BOTH = (some_router(), some_bench())


def found(planned=None, trimmers=BOTH):
    plant = replace(some_plant(), trimmers=trimmers)
    one = planned or some_planned()
    used = next((each for each in trimmers if each.kind == one.plan.trim.trimmer.kind), one.plan.trim.trimmer)
    plan = replace(one.plan, trim=replace(one.plan.trim, trimmer=used))
    one = replace(one, candidate=replace(one.candidate, plant=plant), plan=plan)
    return pace(one, replace(some_catalog(), plants=(plant,)))


def faster(planned, times):
    cycle = planned.plan.cycle
    plan = replace(planned.plan, cycle=replace(cycle, parts_per_hour=times * cycle.parts_per_hour))
    return replace(planned, plan=plan)


def test_the_worked_cover_waits_for_the_former():
    # Worked cover: 18.64 shots and 21.07 pieces an hour; 2 % lost in forming, 1 % in trimming
    result = found()

    assert result.former.parts_per_hour == pytest.approx(18.64 * 0.98 * 0.99, abs=0.01)
    assert result.trimmer.parts_per_hour == pytest.approx(21.07 * 0.99, abs=0.01)
    assert result.governs == "former"


def test_a_faster_former_waits_for_the_router():
    assert found(faster(some_planned(), 2)).governs == "trimmer"


def test_the_hand_bench_stands_beside_the_router_with_time_and_cost():
    # By hand: 4.267 m at 1.25 m/min 204.8 s + 12 holes x 20 s, + load 45 s + deburr 64 s = 553.8 s; bench 5 + 34 $/h
    router, bench = found().ways

    assert router.used and not bench.used
    assert bench.cutting == pytest.approx(204.8 + 240, abs=0.1)
    assert bench.cycle == pytest.approx(553.8, abs=0.1)
    assert float(bench.per_part) == pytest.approx(553.8 / 0.85 * 39 / 3600 / 0.99, abs=0.01)
    # jig 800 and drill fixture 600 against the trim fixture of 3,200
    assert (router.fixtures, bench.fixtures) == (3200, 1400)


def test_by_hand_it_costs_less_up_to_the_number_at_which_the_router_has_earned_its_fixture():
    result = found()
    router, bench = result.ways

    def spent(way, parts):
        return way.fixtures + way.setup + parts * way.per_part

    assert spent(bench, result.by_hand_up_to) <= spent(router, result.by_hand_up_to)
    assert spent(bench, result.by_hand_up_to + 1) > spent(router, result.by_hand_up_to + 1)


def test_a_plant_without_a_bench_has_one_way_and_so_has_a_part_that_is_trimmed_by_hand():
    one = some_planned()
    by_hand = replace(one, plan=replace(one.plan, trim=replace(one.plan.trim, trimmer=some_bench())))

    assert [way.kind for way in found(trimmers=(some_router(),)).ways] == ["five_axis"]
    assert [way.kind for way in found(by_hand).ways] == ["hand"]
    assert found(by_hand).governs == "trimmer"
