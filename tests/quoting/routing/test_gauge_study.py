"""The sheet at both ends of its gauge tolerance."""

from dataclasses import replace

import pytest

from quoting.routing.gauge_study import gauge_effects, gauge_heats
from quoting.routing.other_heat import heated_as_planned
from tests.quoting.routing.planned_sheets import plan_of


def gauges_of(planned):
    heats = gauge_heats(planned)
    return gauge_effects(planned, heated_as_planned(planned, heats) if heats else ())


def test_walls_and_mass_follow_the_gauge_and_the_thick_sheet_takes_longer():
    planned = plan_of("R3", "ABS", 0.187, "vacuum")
    thin, ordered, thick = gauges_of(planned)

    # the test offer: plus or minus 10 %
    assert (thin.gauge, thick.gauge) == pytest.approx((0.9 * ordered.gauge, 1.1 * ordered.gauge))
    assert thin.thinnest_wall == pytest.approx(0.9 * planned.plan.thinning.thinnest_wall)
    assert thick.blank_mass == pytest.approx(1.1 * planned.plan.blank_mass)
    assert ordered.heating_time == pytest.approx(planned.plan.heating.time, rel=0.01)
    assert ordered.cooling_time == pytest.approx(planned.plan.cooling.time, rel=0.01)
    # trade practice, power law: time grows with gauge to between 1 (thin) and 2 (conduction alone)
    for less, more in ((thin, ordered), (ordered, thick)):
        ratio = more.gauge / less.gauge
        assert ratio < more.heating_time / less.heating_time < ratio**2 * 1.02
        assert ratio < more.cooling_time / less.cooling_time < ratio**2 * 1.02


def test_sheet_without_a_tolerance_has_no_ends():
    planned = plan_of("R3", "ABS", 0.187, "vacuum")
    offer = replace(planned.candidate.offer, gauge_tolerance=0.0)

    assert gauges_of(replace(planned, candidate=replace(planned.candidate, offer=offer))) == ()
