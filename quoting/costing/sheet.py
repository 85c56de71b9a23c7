"""How many shots a release takes, how much sheet that is, what it costs, and what comes back as regrind."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from math import ceil

from materials.sheet import SheetOffer
from quoting.catalog import FormingRates, Rates
from quoting.costing.formulas import order_mass, regrind_credit
from quoting.costing.lines import CostLine, Excess, line
from quoting.costing.money import POUND, Input, Sources, exact, given, pounds

# Needs whose certificate limits the regrind in a sheet; each has its share among the rates.
LIMITS_REGRIND = ("food_contact", "flame_v0")


@dataclass(frozen=True)
class SheetInputs:
    """What one shot takes of sheet and leaves as part. ``part_mass`` is the trimmed part with all its skins."""

    offer: SheetOffer
    blanks_per_shot: int  # 2 for twin-sheet
    cavities: int
    blank_mass: float  # kg, one sheet
    part_mass: float  # kg
    needs: tuple[str, ...] = ()  # of the inquiry; some limit how much regrind the sheet may hold


@dataclass(frozen=True)
class Need:
    """What a release needs: pieces to trim, shots to form, sheets to buy and their billed mass."""

    pieces: int
    shots: int
    sheets: int
    order_mass: Decimal  # kg, as the mill bills it
    price_per_pound: Decimal


def form_scrap(process: str, forming: FormingRates) -> Decimal:
    """Share of running shots lost in forming, by process.

    Parameters
    ----------
    process : str
        vacuum, pressure or twin_sheet [-].
    forming : FormingRates
        Rates [-].

    Returns
    -------
    share : Decimal
        [-]
    """
    return getattr(forming, f"scrap_{process}")


def startup_shots(process: str, forming: FormingRates) -> Decimal:
    """Shots lost at each start-up, by process.

    Parameters
    ----------
    process : str
        vacuum, pressure or twin_sheet [-].
    forming : FormingRates
        Rates [-].

    Returns
    -------
    shots : Decimal
        [count]
    """
    return getattr(forming, f"startup_shots_{process}")


@lru_cache(maxsize=1024)  # fractions are exact and slow, and a shop has few scrap rates
def pieces_to_trim(quantity: int, trim_scrap: Decimal) -> int:
    """Pieces that must be trimmed: ``ceil(Q / (1 - trim scrap))``, without rounding in between.

    Parameters
    ----------
    quantity : int
        Good parts [count], above 0.
    trim_scrap : Decimal
        Share lost in trimming [-], 0 to below 1.

    Returns
    -------
    pieces : int
        [count]

    Examples
    --------
    >>> pieces_to_trim(300, Decimal("0.01"))
    304
    """
    return ceil(Fraction(quantity) / (1 - Fraction(trim_scrap)))


@lru_cache(maxsize=1024)
def shots_to_form(quantity: int, trim_scrap: Decimal, scrap: Decimal, startup: Decimal, cavities: int) -> int:
    """Shots of a release: ``ceil(Q / (1 - trim scrap) / (1 - form scrap) / cavities + start-up)``.

    Parameters
    ----------
    quantity : int
        Good parts [count], above 0.
    trim_scrap, scrap : Decimal
        Shares lost in trimming and in forming [-], 0 to below 1.
    startup : Decimal
        Shots lost at start-up [count].
    cavities : int
        Parts per shot [count], above 0.

    Returns
    -------
    shots : int
        [count]

    Examples
    --------
    >>> shots_to_form(300, Decimal("0.01"), Decimal("0.02"), Decimal(6), 1)
    316
    """
    running = Fraction(quantity) / (1 - Fraction(trim_scrap)) / (1 - Fraction(scrap)) / cavities
    return ceil(running + Fraction(startup))


def tier_price(offer: SheetOffer, order_mass: Decimal) -> Decimal:
    """Price per pound [$/lb] of the highest tier that the order reaches.

    Parameters
    ----------
    offer : SheetOffer
        The mill's offer, tiers ascending [-].
    order_mass : Decimal
        Billed mass of the order [kg].

    Returns
    -------
    price : Decimal
        [$/lb]
    """
    reached = [tier.price_per_pound for tier in offer.tiers if exact(tier.from_mass) <= order_mass]
    return reached[-1] if reached else offer.tiers[0].price_per_pound


def need_of(quantity: int, process: str, sheet: SheetInputs, rates: Rates) -> Need:
    """Pieces, shots, sheets, billed mass and tier price of one release.

    Parameters
    ----------
    quantity : int
        Good parts [count].
    process : str
        vacuum, pressure or twin_sheet [-].
    sheet : SheetInputs
        Blank, part and offer [-].
    rates : Rates
        Rates in force [-].

    Returns
    -------
    need : Need
        [-]
    """
    scrap, startup = form_scrap(process, rates.forming), startup_shots(process, rates.forming)
    shots = shots_to_form(quantity, rates.trim.scrap, scrap, startup, sheet.cavities)
    sheets = shots * sheet.blanks_per_shot
    billed = order_mass(sheets, exact(sheet.blank_mass), rates.sheet.billed_weight_factor)
    pieces = pieces_to_trim(quantity, rates.trim.scrap)
    return Need(pieces, shots, sheets, billed, tier_price(sheet.offer, billed))


def excess_of(quantity: int, need: Need, offer: SheetOffer) -> Excess | None:
    """Sheet beyond the release that the mill's minimum order forces; None where the release reaches the minimum.

    The release is charged for what it needs; the surplus is not in the price, its cost is stated beside it.

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


def source_of(offer: SheetOffer) -> str:
    """Where the prices of an offer came from; its name where that was not recorded."""
    return offer.source or f"offer {offer.name}"


def sheet_line(quantity: int, process: str, sheet: SheetInputs, need: Need, rates: Rates, sources: Sources) -> CostLine:
    """Sheet: billed pounds times the tier price.

    Parameters
    ----------
    quantity, process, sheet, need, rates, sources
        As in ``need_of``, with the need itself and where rates came from [-].

    Returns
    -------
    line : CostLine
        [$]
    """

    def inputs() -> tuple[Input, ...]:
        scrap, startup = form_scrap(process, rates.forming), startup_shots(process, rates.forming)
        billed = rates.sheet.billed_weight_factor
        return (
            given("pieces to trim", need.pieces, "-"),
            given("shots", need.shots, "-"),
            given("form scrap", scrap, "-", sources.of(f"forming.scrap_{process}")),
            given("trim scrap", rates.trim.scrap, "-", sources.of("trim.scrap")),
            given("start-up shots", startup, "-", sources.of(f"forming.startup_shots_{process}")),
            given("sheets", need.sheets, "-"),
            given("blank mass", sheet.blank_mass, "kg"),
            given("billed weight factor", billed, "-", sources.of("sheet.billed_weight_factor")),
            given("billed mass", need.order_mass, "kg"),
            given("price of sheet", need.price_per_pound, "$/lb", source_of(sheet.offer)),
        )

    basis = (
        "shots = parts / (1 - trim scrap) / (1 - form scrap) / cavities + start-up, rounded up; "
        "sheets x blank mass x billed weight factor x price at the tier of that order"
    )
    return line(quantity, "sheet", pounds(need.order_mass) * need.price_per_pound, basis, inputs)


def colour_line(quantity: int, offer: SheetOffer) -> CostLine:
    """Colour match and set-up at the mill, once per order.

    Parameters
    ----------
    quantity : int
        Good parts [count].
    offer : SheetOffer
        The mill's offer [-].

    Returns
    -------
    line : CostLine
        [$]
    """

    def inputs() -> tuple[Input, ...]:
        return (given("colour charge", offer.colour_charge, "$", source_of(offer)),)

    return line(quantity, "colour charge", offer.colour_charge, "the mill's colour charge, once per order", inputs)


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
        given(
            "value of regrind",
            sheet.offer.regrind_value_per_pound,
            "$/lb",
            source_of(sheet.offer),
        ),
    ]
    if regrind.share is not None:
        source = sources.of(f"sheet.regrind_share_{regrind.of_need}")
        inputs += [
            given("most regrind in such sheet", regrind.share, "-", source),
            given("returned to the extruder", regrind.returned * POUND, "kg"),
            given("beyond that share, without credit", regrind.beyond * POUND, "kg"),
        ]
    return tuple(inputs)
