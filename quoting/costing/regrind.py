"""What a release leaves of its sheet, and what of that comes back as regrind."""

from dataclasses import dataclass
from decimal import Decimal

from quoting.catalog import Rates, Sources
from quoting.costing.formulas import regrind_credit
from quoting.costing.lines import CostLine, line
from quoting.costing.money import POUND, Input, exact, given, pounds
from quoting.costing.sheet import Need, SheetInputs, source_of

# Needs whose certificate limits the regrind in a sheet; each has its share among the rates.
LIMITS_REGRIND = ("food_contact", "flame_v0")


@dataclass(frozen=True)
class Regrind:
    """What a release leaves of its sheet [lb]. ``share`` is the most that may go back into such sheet; None: no limit
    counted. ``returned`` is credited, ``beyond`` brings nothing."""

    left: Decimal
    recovered: Decimal
    share: Decimal | None
    of_need: str
    returned: Decimal

    @property
    def beyond(self) -> Decimal:
        return self.recovered - self.returned


def regrind_limit(needs: tuple[str, ...], rates: Rates) -> tuple[Decimal, str] | None:
    """The strictest share of regrind that sheet for these needs may hold, and for which need; None where none counts.

    Parameters
    ----------
    needs : tuple of str
        What the material must do [-].
    rates : Rates
        Rates in force [-].

    Returns
    -------
    limit : (Decimal, str) or None
        Share of the sheet's mass [-] and the need.
    """
    limits = [(getattr(rates.sheet, f"regrind_share_{name}"), name) for name in LIMITS_REGRIND if name in needs]
    return min(limits, default=None)


def regrind_of(quantity: int, sheet: SheetInputs, need: Need, rates: Rates) -> Regrind:
    """Selvedge and scrap of a release, what is recovered of it, and what of that may be extruded again.

    ``left = billed mass - parts shipped``, ``recovered = left x recovery``; for sheet with a food-contact or flame
    certificate ``returned = min(recovered, share x billed mass)``, as the same mass of such sheet takes no more.

    Parameters
    ----------
    quantity, sheet, need, rates
        As in ``sheet_line`` [-].

    Returns
    -------
    regrind : Regrind
        [lb]
    """
    left = max(Decimal(0), pounds(need.order_mass - quantity * exact(sheet.part_mass)))
    recovered = left * rates.sheet.regrind_recovery
    limit = regrind_limit(sheet.needs, rates)
    if limit is None:
        return Regrind(left, recovered, None, "", recovered)
    share, name = limit
    return Regrind(left, recovered, share, name, min(recovered, share * pounds(need.order_mass)))


def regrind_line(quantity: int, sheet: SheetInputs, need: Need, rates: Rates, sources: Sources) -> CostLine:
    """Regrind credit: mass that comes back x its value, negative.

    Parameters
    ----------
    quantity, sheet, need, rates, sources
        As in ``sheet_line`` [-].

    Returns
    -------
    line : CostLine
        [$], 0 or below
    """
    regrind = regrind_of(quantity, sheet, need, rates)
    value = sheet.offer.regrind_value_per_pound
    basis = "- (sheet bought - parts shipped x part mass) x recovery x value of clean regrind"
    if regrind.share is not None:
        basis = (
            "- least of (sheet bought - parts shipped x part mass) x recovery and most regrind in such sheet x sheet "
            "bought, x value of clean regrind"
        )

    def inputs() -> tuple[Input, ...]:
        return _inputs_of_regrind(regrind, sheet, need, rates, sources)

    return line(quantity, "regrind credit", regrind_credit(regrind.returned, value), basis, inputs)


def _inputs_of_regrind(
    regrind: Regrind, sheet: SheetInputs, need: Need, rates: Rates, sources: Sources
) -> tuple[Input, ...]:
    inputs = [
        given("billed mass", need.order_mass, "kg"),
        given("part mass", sheet.part_mass, "kg"),
        given("selvedge and scrap", regrind.left * POUND, "kg"),
        given("recovery", rates.sheet.regrind_recovery, "-", sources.of("sheet.regrind_recovery")),
        given("recovered mass", regrind.recovered * POUND, "kg"),
        given("value of regrind", sheet.offer.regrind_value_per_pound, "$/lb", source_of(sheet.offer)),
    ]
    if regrind.share is not None:
        source = sources.of(f"sheet.regrind_share_{regrind.of_need}")
        inputs += [
            given("most regrind in such sheet", regrind.share, "-", source),
            given("returned to the extruder", regrind.returned * POUND, "kg"),
            given("beyond that share, without credit", regrind.beyond * POUND, "kg"),
        ]
    return tuple(inputs)
