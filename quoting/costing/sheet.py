"""How many shots a release takes, how much sheet that is, and what it costs."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from math import ceil

from materials.sheet import SheetOffer
from materials.web import web_cut
from quoting.catalog import FormingRates, Rates, Sources
from quoting.costing.correcting import (
    SCRAP_CORRECTION,
    SHEET_CORRECTION,
    Corrected,
    corrected_scrap,
    factor_of,
    shown,
    told,
)
from quoting.costing.formulas import order_mass
from quoting.costing.lines import CostLine, line
from quoting.costing.money import Input, exact, given, pounds


@dataclass(frozen=True)
class SheetInputs:
    """What one shot takes of sheet and leaves as part. ``part_mass`` is the trimmed part with all its skins."""

    offer: SheetOffer
    blanks_per_shot: int  # 2 for twin-sheet
    cavities: int
    blank_mass: float  # kg, one sheet
    part_mass: float  # kg
    needs: tuple[str, ...] = ()  # of the inquiry; some limit how much regrind the sheet may hold
    blank_length: float = 0.0  # m; 0 where only the mass is known, so that nothing is told of the mill's web
    blank_width: float = 0.0
    shares_minimum: bool = False  # parts pay what the mill's minimum order forces beyond the release
    corrected: Corrected | None = None
    scrap: Corrected | None = None  # parts formed for each good one

    @property
    def mass_a_blank(self) -> float:
        """What is drawn for each blank of the estimate [kg], as recorded runs have it where they correct the sheet."""
        return self.blank_mass * factor_of(self.corrected)


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
    scrap = corrected_scrap(form_scrap(process, rates.forming), sheet.scrap)
    startup = startup_shots(process, rates.forming)
    shots = shots_to_form(quantity, rates.trim.scrap, scrap, startup, sheet.cavities)
    sheets = shots * sheet.blanks_per_shot
    billed = order_mass(sheets, exact(sheet.mass_a_blank), rates.sheet.billed_weight_factor)
    pieces = pieces_to_trim(quantity, rates.trim.scrap)
    return Need(pieces, shots, sheets, billed, tier_price(sheet.offer, billed))


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
        return _inputs_of_sheet(process, sheet, need, rates, sources)

    basis = (
        "shots = parts / (1 - trim scrap) / (1 - form scrap) / cavities + start-up, rounded up; "
        "sheets x blank mass at the gauge ordered x billed weight factor x price at the tier of that order, wherever "
        "in its tolerance the gauge runs"
    )
    total = pounds(need.order_mass) * need.price_per_pound
    return line(quantity, "sheet", total, told(basis, sheet.corrected, sheet.scrap), inputs)


def _inputs_of_sheet(process: str, sheet: SheetInputs, need: Need, rates: Rates, sources: Sources) -> tuple[Input, ...]:
    return (
        given("pieces to trim", need.pieces, "-"),
        given("shots", need.shots, "-"),
        given("form scrap", form_scrap(process, rates.forming), "-", sources.of(f"forming.scrap_{process}")),
        *shown(sheet.scrap, SCRAP_CORRECTION),
        given("trim scrap", rates.trim.scrap, "-", sources.of("trim.scrap")),
        given(
            "start-up shots", startup_shots(process, rates.forming), "-", sources.of(f"forming.startup_shots_{process}")
        ),
        given("sheets", need.sheets, "-"),
        given("blank mass", sheet.blank_mass, "kg"),
        *shown(sheet.corrected, SHEET_CORRECTION),
        given("billed weight factor", rates.sheet.billed_weight_factor, "-", sources.of("sheet.billed_weight_factor")),
        given("billed mass", need.order_mass, "kg"),
        given("price of sheet", need.price_per_pound, "$/lb", source_of(sheet.offer)),
        *_as_the_mill_makes_it(sheet),
    )


def _as_the_mill_makes_it(sheet: SheetInputs) -> tuple[Input, ...]:
    """What lies behind the mass of a blank, for a reader who checks the mill's bill; none of it moves the price."""
    offer = sheet.offer
    source, tolerance = source_of(offer), offer.gauge_tolerance
    told = ()
    if tolerance:
        told = (
            given("gauge tolerance of the mill, either way", tolerance, "-", source),
            given("blank at the low end of the gauge", sheet.blank_mass * (1 - tolerance), "kg"),
            given("blank at the high end of the gauge", sheet.blank_mass * (1 + tolerance), "kg"),
        )
    if not sheet.blank_length:
        return told
    cut = web_cut(sheet.blank_length, sheet.blank_width, offer.widest, offer.longest)
    return (
        *told,
        given("blank across the mill's web", cut.across, "m"),
        given("blank along it, the way it is extruded", cut.along, "m"),
        given("widest web of the mill", offer.widest, "m", source),
        given("longest cut of the mill", offer.longest, "m", source),
        given("blanks side by side on the web", cut.lanes, "-"),
    )


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
