"""Tooling that is paid through the part price."""

from dataclasses import replace
from decimal import Decimal
from types import SimpleNamespace

from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.choosing import programme_cost
from quoting.costing.amortising import amortised_over
from quoting.costing.landed import landed_cost
from quoting.costing.lines import ToolingLine
from tests.quoting.costing.shop import TODAY, some_catalog, some_planned, some_rates, with_part

RATES = some_rates()


def wished(parts: int | None, **part):
    one = with_part(some_planned(), **part)
    return replace(one, request=replace(one.request, amortise_over=parts))


def test_tooling_over_one_year_pays_itself_and_half_a_year_of_interest():
    # By hand: 18,600 $ over 2,400 parts, one year at 8 % on half: 18,600 x 1.04 / 2,400 = 8.06 $ a part.
    amortised = landed_cost(wished(2400), some_catalog(), TODAY).amortised

    assert (amortised.tooling, amortised.per_part, amortised.carrying) == (18600, Decimal("8.06"), Decimal("744.00"))
    assert amortised.years == 1


@settings(max_examples=100)
@given(st.integers(1, 10**6), st.integers(1, 10**6), st.integers(1, 500_000))
def test_what_the_parts_pay_is_tooling_and_carrying_charge_to_the_cent(parts, annual, price):
    request = replace(some_planned().request, amortise_over=parts, annual=annual)
    paid = amortised_over(request, (ToolingLine("cast_aluminium", Decimal(price), 8.0, ""),), RATES)
    stated = Decimal(price) * (1 + RATES.price.tooling_carrying_rate * Decimal(parts) / annual / 2)

    assert paid.per_part * paid.parts == paid.tooling + paid.carrying
    assert 0 <= paid.per_part * paid.parts - stated < Decimal("0.0100001") * parts  # whole cents a part


def test_lines_still_add_up_and_only_one_line_is_new():
    apart, within = (landed_cost(wished(parts), some_catalog(), TODAY) for parts in (None, 2400))

    for before, after in zip(apart.breaks, within.breaks, strict=True):
        lines = [line for line in within.lines if line.quantity == after.quantity]
        assert sum(line.per_part for line in lines) == after.unit_price
        assert sum(line.total for line in lines) == after.quantity * after.unit_price
        assert lines[-1].name == "tooling, amortised" and lines[-1].total == after.quantity * Decimal("8.06")
        assert after.unit_price - before.unit_price == Decimal("8.06")
        assert lines[:-1] == [line for line in apart.lines if line.quantity == after.quantity]


def test_the_number_of_cavities_is_chosen_without_counting_the_tooling_twice():
    def cost_of(one):
        judged, cost = SimpleNamespace(planned=one), landed_cost(one, some_catalog(), TODAY)
        return programme_cost(SimpleNamespace(judged=judged, cost=cost), some_catalog())

    assert cost_of(wished(None)) == cost_of(wished(2400))


def test_tooling_is_billed_by_itself_unless_wished():
    cost = landed_cost(wished(None), some_catalog(), TODAY)

    assert cost.amortised is None
    assert "tooling, amortised" not in [line.name for line in cost.lines]
