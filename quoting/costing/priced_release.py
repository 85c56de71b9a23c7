"""The price of one release of a candidate, and of another layout of its group beside it."""

from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from quoting.catalog import Catalog
from quoting.costing.inputs import press_inputs, release_inputs, sheet_inputs
from quoting.costing.lines import Packing, Risk
from quoting.costing.money import to_cent
from quoting.costing.price_breaks import Costs, Release, ReleaseInputs, costs_of, price_on_another_blank, priced
from quoting.costing.sheet import SheetInputs
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.recalled import Recalled


@dataclass(frozen=True)
class PricedRelease:
    """One release of a candidate, priced without tooling; how it is packed and shipped; what adds to its margin."""

    release: Release
    packing: Packing
    costs: Costs

    @property
    def inputs(self) -> ReleaseInputs:
        return self.costs.inputs

    @property
    def risks(self) -> tuple[Risk, ...]:
        return self.inputs.risks

    @cached_property
    def freight_per_part(self) -> Decimal:
        return to_cent(self.packing.freight_total / self.release.quantity)

    @property
    def landed_unit_price(self) -> Decimal:
        return self.release.unit_price + self.freight_per_part


def priced_release(planned: PlannedCandidate, quantity: int, catalog: Catalog, recalled: Recalled) -> PricedRelease:
    """The price of one release, without what else is told of it: enough to compare layouts.

    Parameters
    ----------
    planned : PlannedCandidate
        Candidate, plan and request [-].
    quantity : int
        Good parts [count].
    catalog : Catalog
        Rates and plants [-].
    recalled : Recalled
        What the answer worked out already [-].

    Returns
    -------
    priced : PricedRelease
        [$]

    Raises
    ------
    CannotPriceError
        As in ``landed_cost``.
    """
    return recalled.by((planned, quantity, catalog), _priced_release, planned, quantity, catalog, recalled)


def _priced_release(planned: PlannedCandidate, quantity: int, catalog: Catalog, recalled: Recalled) -> PricedRelease:
    inputs, packing = release_inputs(planned, quantity, catalog, recalled)
    costs = costs_of(inputs, catalog.rates, recalled)
    return PricedRelease(priced(costs, catalog.rates, recalled), packing, costs)


def landed_price_beside(
    planned: PlannedCandidate, other: PricedRelease, catalog: Catalog, recalled: Recalled
) -> Decimal:
    """Landed price of a layout beside another one of its group, whose release is priced.

    They share all but sheet and forming.

    Parameters
    ----------
    planned : PlannedCandidate
        Differs from the one that is priced in its layout alone [-].
    other : PricedRelease
        [$]
    catalog : Catalog
        Rates and plants [-].
    recalled : Recalled
        What the answer worked out already [-].

    Returns
    -------
    price : Decimal
        As ``priced_release`` has it, to the last digit [$].
    """
    sheet = recalled.of(SheetInputs, *sheet_inputs(planned, catalog, recalled))
    press = press_inputs(planned, catalog, recalled)
    return other.freight_per_part + price_on_another_blank(other.costs, sheet, press, catalog.rates, recalled)
