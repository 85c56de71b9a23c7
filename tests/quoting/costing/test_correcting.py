"""Recorded runs correct hours, trim time and sheet, each in one place, and only where somebody accepted factors."""

import math
from dataclasses import replace
from datetime import date
from decimal import Decimal

import numpy as np
import pytest

from machines.runs import Factor
from quoting.catalog import DRAWN, Catalog, Corrections, MeasureCorrection, Spread
from quoting.contract import canonical, to_plain
from quoting.costing.cost_range import cost_range
from quoting.costing.inputs import release_inputs
from quoting.costing.landed import landed_cost
from quoting.costing.pace import pace
from quoting.costing.varied import varied_lines
from quoting.quotes.master_data import reopened
from tests.quoting.costing.shop import some_catalog, some_planned

ON = date(2026, 11, 25)


def corrected_by(*factors, least=None, most=None, runs=14, **measures) -> Catalog:
    """The shop with factors of each named measure: effect, name, factor."""
    found = tuple(
        MeasureCorrection(name, runs, tuple(Factor(effect, of, runs, by, by) for effect, of, by in told), least, most)
        for name, told in measures.items()
    )
    return replace(some_catalog(), corrections=Corrections(3, found))


def line(cost, name, quantity=300):
    return next(one for one in cost.lines if one.name == name and one.quantity == quantity)


def costed(catalog):
    return landed_cost(some_planned(), catalog, ON)


def named(inputs, name):
    return next(one for one in inputs if one.name == name)


def test_without_an_accepted_version_a_catalog_is_written_as_before():
    plain = to_plain(some_catalog())

    assert "corrections" not in plain and "corrections" not in canonical(plain)


def test_a_version_without_factors_of_the_candidate_changes_no_figure():
    elsewhere = corrected_by(run_hours=[("machine", "M9", 1.5), ("polymer", "HDPE", 2.0), ("process", "pressure", 3.0)])

    assert to_plain(costed(elsewhere)) == to_plain(costed(some_catalog()))


def test_run_hours_of_a_machine_that_takes_a_fifth_more_cost_a_fifth_more():
    before, after = costed(some_catalog()), costed(corrected_by(run_hours=[("machine", "M1", 1.2)]))

    assert float(line(after, "forming").total) == pytest.approx(1.2 * float(line(before, "forming").total))
    hours = [one.press_hours - 4.0 for one in before.breaks]
    assert [one.press_hours - 4.0 for one in after.breaks] == pytest.approx([1.2 * one for one in hours], rel=1e-12)
    # overhead 12 % of cost, margin 12 % of price: what forming costs more, over 0.88, is what the release costs more
    more = line(before, "forming").total * Decimal("0.2") * Decimal("1.12") / Decimal("0.88") / 300
    moved = after.breaks[1].unit_price - before.breaks[1].unit_price
    assert abs(moved - more) <= Decimal("0.01")
    assert all(line(after, name).total == line(before, name).total for name in ("sheet", "set-up", "trimming"))


def test_a_line_shows_the_stated_figure_its_correction_and_the_runs_behind_it():
    shown = line(costed(corrected_by(run_hours=[("machine", "M1", 1.2), ("process", "vacuum", 1.05)])), "forming")
    stated = line(costed(some_catalog()), "forming")

    assert shown.basis == f"{stated.basis}, with the correction of recorded runs"
    assert named(shown.inputs, "shots per hour").value == named(stated.inputs, "shots per hour").value
    correction = named(shown.inputs, "correction of run hours")
    assert float(correction.value) == pytest.approx(1.26)
    assert correction.source == "recorded runs, version 3: machine M1 1.200 of 14 runs, process vacuum 1.050 of 14 runs"


def test_set_up_trim_time_and_sheet_are_each_multiplied():
    before = costed(some_catalog())
    after = costed(
        corrected_by(
            setup_hours=[("machine", "M1", 1.5)],
            trim_time=[("polymer", "ABS", 1.1)],
            sheet=[("process", "vacuum", 1.04)],
        )
    )

    assert float(line(after, "trimming").total) == pytest.approx(1.1 * float(line(before, "trimming").total))
    # two further hours of the press at $90 with 2 people of $34
    assert line(after, "set-up").total - line(before, "set-up").total == pytest.approx(Decimal(2 * (90 + 2 * 34)))
    mass = [float(named(line(one, "sheet").inputs, "billed mass").value) for one in (before, after)]
    assert mass[1] == pytest.approx(1.04 * mass[0])
    assert after.breaks[1].trim_hours - 1 == pytest.approx(1.1 * (before.breaks[1].trim_hours - 1))


def shots_of(cost):
    return int(named(line(cost, "forming").inputs, "shots").value)


def test_scrap_of_runs_takes_more_shots_and_with_them_sheet_and_hours():
    before, after = costed(some_catalog()), costed(corrected_by(parts_formed=[("machine", "M1", 1.05)]))

    scrap, startup = (
        float(named(line(before, "sheet").inputs, name).value) for name in ("form scrap", "start-up shots")
    )
    kept = 1 - float(named(line(before, "sheet").inputs, "trim scrap").value)
    # by hand: 1.05 times the parts that the stated scrap takes, and the start-up once
    assert shots_of(after) == math.ceil(1.05 * 300 / kept / (1 - scrap) + startup)
    assert shots_of(after) > shots_of(before)
    ratio = shots_of(after) / shots_of(before)
    assert float(line(after, "forming").total) == pytest.approx(ratio * float(line(before, "forming").total))
    assert line(after, "trimming").total == line(before, "trimming").total  # what is lost is put on forming
    assert (
        named(line(after, "sheet").inputs, "form scrap").value
        == named(line(before, "sheet").inputs, "form scrap").value
    )
    shown = named(line(after, "sheet").inputs, "correction of parts formed for each good one")
    assert float(shown.value) == 1.05 and "machine M1 1.050 of 14 runs" in shown.source


def test_no_shot_yields_more_than_its_parts_whatever_the_runs_say():
    without = costed(corrected_by(parts_formed=[("machine", "M1", 0.5)]))
    startup, trimmed = (
        float(named(line(without, "sheet").inputs, name).value) for name in ("start-up shots", "trim scrap")
    )
    assert shots_of(without) == math.ceil(300 / (1 - trimmed) + startup)


def test_scrap_of_runs_is_drawn_once_for_both_kinds_of_scrap():
    stated = (Spread("form_scrap", 0.5, 2.0), Spread("trim_scrap", 0.5, 2.0), Spread("setup_time", 0.8, 1.6))
    rates = replace(some_catalog().rates, spreads=stated)
    told = corrected_by(parts_formed=[("machine", "M1", 1.02)], least=0.97, most=1.08, runs=31)
    catalog = replace(told, rates=rates)
    found = cost_range(some_planned(), costed(catalog), catalog)

    assert {one.name: (one.least, one.most) for one in found.inputs} == {
        "parts_formed": (0.97, 1.08), "setup_time": (0.8, 1.6)
    }  # fmt: skip
    assert not {"scrap in forming", "scrap in trimming", "scrap"} & set(found.not_varied)
    effect = next(one for one in found.releases[0].effects if one.name == "parts_formed")
    assert effect.at_least < effect.at_most


def test_the_lead_time_follows_the_press_hours():
    before, after = costed(some_catalog()), costed(corrected_by(run_hours=[("machine", "M1", 6.0)]))

    assert after.breaks[2].timing.leaves > before.breaks[2].timing.leaves


def test_the_former_of_the_bottleneck_is_corrected_too():
    before = pace(some_planned(), some_catalog())
    after = pace(some_planned(), corrected_by(run_hours=[("machine", "M1", 1.25)], trim_time=[("machine", "M1", 2.0)]))

    assert after.former.parts_per_hour == pytest.approx(before.former.parts_per_hour / 1.25)
    assert after.trimmer.parts_per_hour == pytest.approx(before.trimmer.parts_per_hour / 2)


def test_the_range_of_error_is_costed_about_the_corrected_estimate():
    catalog = corrected_by(
        run_hours=[("machine", "M1", 1.2)], setup_hours=[("machine", "M1", 1.5)], trim_time=[("polymer", "ABS", 1.1)],
        sheet=[("process", "vacuum", 1.04)], parts_formed=[("machine", "M1", 1.03)],
    )  # fmt: skip
    inputs, _ = release_inputs(some_planned(), 300, catalog)
    lines = varied_lines(inputs, {name: np.ones(1) for name in DRAWN}, catalog.rates)

    for name in ("sheet", "set-up", "forming", "trimming", "regrind credit"):
        assert lines[name][0] == pytest.approx(float(line(costed(catalog), name).total), rel=1e-9)


def test_the_range_of_recorded_runs_takes_the_place_of_the_stated_one():
    rates = replace(
        some_catalog().rates,
        spreads=(Spread("cycle", 0.5, 2.0), Spread("press_efficiency", 0.7, 1.2), Spread("setup_time", 0.8, 1.6)),
    )
    told = corrected_by(run_hours=[("machine", "M1", 1.2)], least=0.93, most=1.1, runs=23)
    catalog = replace(told, rates=rates)
    found = {one.name: one for one in cost_range(some_planned(), costed(catalog), catalog).inputs}

    assert (found["cycle"].least, found["cycle"].most) == (0.93, 1.1)
    assert found["cycle"].source == "from 23 recorded runs, version 3" and found["cycle"].label == "run hours"
    assert "press_efficiency" not in found  # run hours hold it
    assert (found["setup_time"].least, found["setup_time"].most) == (0.8, 1.6)


def test_too_few_runs_leave_the_stated_range():
    rates = replace(some_catalog().rates, spreads=(Spread("cycle", 0.5, 2.0), Spread("press_efficiency", 0.7, 1.2)))
    catalog = replace(corrected_by(run_hours=[("machine", "M1", 1.2)]), rates=rates)

    inputs = cost_range(some_planned(), costed(catalog), catalog).inputs
    assert [(one.name, one.least) for one in inputs] == [("cycle", 0.5), ("press_efficiency", 0.7)]


def test_a_catalog_with_corrections_is_kept_and_opened_again():
    catalog = corrected_by(run_hours=[("machine", "M1", 1.2)], least=0.9, most=1.2)

    assert reopened(to_plain(catalog)).corrections == catalog.corrections
    assert release_inputs(some_planned(), 300, reopened(to_plain(catalog)))[0].press.run.factor == 1.2
