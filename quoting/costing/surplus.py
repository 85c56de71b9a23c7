"""Sheet that a mill's minimum order forces beyond a release: told beside the price, or shared by its parts."""

from decimal import Decimal

from materials.sheet import SheetOffer
from quoting.costing.formulas import surplus_cost
from quoting.costing.lines import CostLine, Excess, line
from quoting.costing.money import Input, exact, given, pounds
from quoting.costing.sheet import Need, SheetInputs, source_of

NAME = "surplus of the minimum order"


def excess_of(quantity: int, need: Need, offer: SheetOffer) -> Excess | None:
    """Sheet beyond the release that the mill's minimum order forces; None where the release reaches the minimum.

    The release is charged for what it needs; whether its parts pay the surplus too is agreed with the customer.

    Parameters
    ----------
    quantity : int
        Good parts [count].
    need : Need
        What the release needs [-].
    offer : SheetOffer
        The mill's offer [-].

    Returns
    -------
    excess : Excess or None
        [-]
    """
    minimum = exact(offer.minimum_order)
    if need.order_mass >= minimum:
        return None
    cost = pounds(minimum - need.order_mass) * need.price_per_pound
    return Excess(quantity, float(need.order_mass), offer.minimum_order, cost)


def surplus_line(quantity: int, sheet: SheetInputs, need: Need) -> CostLine | None:
    """What parts share of a minimum order beyond their release; None where they share nothing.

    ``surplus = (minimum order - billed mass) x price at the tier of the release``; it is bought, and kept for the
    customer, so that no regrind comes back from it.

    Parameters
    ----------
    quantity : int
        Good parts [count].
    sheet : SheetInputs
        Blank, part and offer [-].
    need : Need
        What the release needs [-].

    Returns
    -------
    line : CostLine or None
        [$]
    """
    if not sheet.shares_minimum or excess_of(quantity, need, sheet.offer) is None:
        return None

    def inputs() -> tuple[Input, ...]:
        source = source_of(sheet.offer)
        return (
            given("billed mass", need.order_mass, "kg"),
            given("minimum order of the mill", sheet.offer.minimum_order, "kg", source),
            given("price of sheet", need.price_per_pound, "$/lb", source),
        )

    basis = "(minimum order - billed mass) x price at the tier of the release; kept for the customer's next release"
    beyond = pounds(exact(sheet.offer.minimum_order) - need.order_mass)
    return line(quantity, NAME, surplus_cost(beyond, need.price_per_pound, Decimal(0)), basis, inputs)
