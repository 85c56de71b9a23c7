"""What taking over a customer's tool costs, and what is only guessed."""

from dataclasses import replace
from decimal import Decimal

import pytest

from quoting.costing.landed import landed_cost
from tests.quoting.costing.shop import TODAY, some_catalog, some_planned


def transferred(**candidate):
    one = some_planned()
    one = replace(one, candidate=replace(one.candidate, **candidate))
    return replace(one, request=replace(one.request, tooling="transfer"))


def tools(cost):
    return {one.name: one for one in cost.tooling}


def test_ten_sample_shots_are_sheet_set_up_and_press_at_the_price_of_other_work():
    # By hand: 10 x 10.525 lb x 1.02 x 2.55 $/lb = 273.75 $; 4 h and 10 shots at 18.64 an hour x (90 + 2 x 34) $/h
    # = 716.8 $; x 1.12/.88
    sampling = tools(landed_cost(transferred(), some_catalog(), TODAY))["sampling_run"]
    shots_per_hour = 3600 / (90 * (0.187 / 0.125) ** 1.4 + 6) * 0.85
    by_hand = (10 * 10.525 * 1.02 * 2.55 + (4 + 10 / shots_per_hour) * (90 + 2 * 34)) * 1.12 / 0.88

    assert float(sampling.price) == pytest.approx(by_hand, abs=0.5)
    assert all(one.source for one in sampling.inputs)


def test_a_transfer_is_inspected_sampled_and_its_trim_programmed_anew():
    assert list(tools(landed_cost(transferred(), some_catalog(), TODAY))) == [
        "transfer_inspection", "sampling_run", "trim_fixture",
    ]  # fmt: skip


def test_likely_repairs_are_a_span_beside_the_price_and_in_no_sum():
    # 3 and 15 % of the 14,500 $ that the tool of this size would cost new
    cost = landed_cost(transferred(), some_catalog(), TODAY)
    (repairs,) = cost.options

    assert (repairs.low, repairs.high) == (Decimal(435), Decimal(2175))
    assert "likely_repairs" not in tools(cost)


def test_a_new_tool_has_neither_sampling_nor_repairs():
    cost = landed_cost(some_planned(), some_catalog(), TODAY)

    assert "sampling_run" not in tools(cost)
    assert cost.options == ()
