"""How far the cost of the chosen candidate may lie from its estimate, and which inputs matter most."""

from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np

from quoting.catalog import DRAWN, PARTS_FORMED, SPREAD_INPUTS, Catalog, Rates
from quoting.costing.draws import DRAWS, SEED, even_chances, triangular
from quoting.costing.inputs import plant_that_trims, release_inputs
from quoting.costing.lines import CostLine, LandedCost, PriceBreak
from quoting.costing.money import exact, loose, to_cent
from quoting.costing.price_breaks import NOT_MANUFACTURING
from quoting.costing.recorded_range import RUN_HOURS, Ranged, held, ranged
from quoting.costing.shipping import sent_release
from quoting.costing.varied import Varied, varied
from quoting.routing.candidate import PlannedCandidate

LOW, HIGH = 10, 90  # percent of the draws that lie below
MATTER_MOST = 3  # count of inputs that are named first
NEAR = 1e-9  # $, float rounding only

# What each input is called, and what it moves.
MEANING = {
    "cycle": ("time of a shot", "the time of one shot on the press: heating, cooling and index together"),
    "press_efficiency": ("good hours of the press", "good hours over clock hours while the press runs"),
    "setup_time": ("set-up time", "hours of setting up press and trimmer"),
    "startup_shots": ("start-up shots", "shots lost at each start-up, with their sheet"),
    "form_scrap": ("scrap in forming", "share of running shots lost, with their sheet"),
    "trim_scrap": ("scrap in trimming", "share of pieces lost in trimming, with their sheet and forming"),
    "trim_time": ("trim time", "piece-to-piece time at the trimmer"),
    "sheet_price": ("price of sheet", "price of a pound within its tier"),
    "sheet_mass": ("mass of sheet", "what the sheet of the order really weighs; the part's mass goes with it"),
    "regrind": ("value of regrind", "price and recovery of clean regrind together"),
    "operation_time": ("time of operations", "standard times of the work after trimming"),
    "operation_material": ("material of operations", "bought inserts, paint and the like"),
    "pack_time": ("pack time", "standard time of packing one part"),
    "pack_material": ("packing material", "pallet, wrap, interleaf and foam"),
    "freight_rate": ("freight rate", "part-load rates or the haul of a truck, without fuel"),
    "diesel": ("price of diesel", "diesel of a truck, or the fuel surcharge of a part load"),
    PARTS_FORMED: ("scrap", "parts formed for each good one: lost in forming and in trimming together"),
}
NEGLECTED = (
    "the inputs are drawn independently; a shop that runs slow and scraps more at once has a wider range",
    "parts per pallet, pallets, trucks and the choice between part load and truck stay as in the estimate",
    "hour rates, labour rates, colour charge, overhead and margin are taken as they are",
    "tools are taken as they are, whether billed apart or paid in the price; so is what is learnt in a release",
    "a wrong drawing, a changed part or a lost tool is not in this range",
)


@dataclass(frozen=True)
class RangeInput:
    """An input that is varied: factors over its likely value, which is that of the estimate."""

    name: str
    label: str
    moves: str
    least: float
    most: float
    source: str


@dataclass(frozen=True)
class Band:
    """Low and high are P10 and P90 of the draws; likely is the estimate itself, which need not be in the middle."""

    low: Decimal
    likely: Decimal
    high: Decimal


@dataclass(frozen=True)
class Effect:
    """One input alone: its share of the variance, and the landed unit price with it at its least and at its most."""

    name: str
    share: float
    at_least: Decimal
    at_most: Decimal

    @property
    def swing(self) -> Decimal:
        return abs(self.at_most - self.at_least)


@dataclass(frozen=True)
class ReleaseRange:
    """Per part [$]. ``landed`` keeps the margin; ``margin`` is what the quoted price leaves of itself [-]."""

    quantity: int
    cost: Band  # manufacturing
    landed: Band
    margin: Band
    mean: Decimal  # of the landed unit price
    dearer: float  # share of the draws whose landed unit price lies above the estimate
    effects: tuple[Effect, ...]  # of every input varied, the largest share first

    @property
    def matter_most(self) -> tuple[Effect, ...]:
        return tuple(one for one in self.effects if one.swing)[:MATTER_MOST]


@dataclass(frozen=True)
class CostRange:
    releases: tuple[ReleaseRange, ...]
    inputs: tuple[RangeInput, ...]
    not_varied: tuple[str, ...]  # labels of inputs for which the rates hold no spread
    distribution: str
    draws: int
    seed: int
    low_percent: int
    high_percent: int
    neglected: tuple[str, ...]


def cost_range(planned: PlannedCandidate, cost: LandedCost, catalog: Catalog, draws: int = DRAWS) -> CostRange | None:
    """The range of error of one priced candidate at each of its releases.

    Each input is drawn from a triangular distribution whose peak is the estimate; the releases are costed for all
    draws at once by the formulas of the estimate.

    Parameters
    ----------
    planned : PlannedCandidate
        Candidate, plan and request [-].
    cost : LandedCost
        Its estimate, which stays as it is [$].
    catalog : Catalog
        Rates with their spreads, and plants [-].
    draws : int
        [count], above 0.

    Returns
    -------
    found : CostRange or None
        None where neither rates nor recorded runs hold a spread: there is nothing to draw [$].

    Raises
    ------
    CannotPriceError
        As in ``landed_cost``.
    """
    inputs_varied = ranged(catalog)
    if not inputs_varied:
        return None
    rates = replace(catalog.rates, spreads=tuple(one.spread for one in inputs_varied))
    factors = drawn_factors(rates, draws)
    moves = _movements(factors, rates)
    estimates = {one.quantity: one for one in cost.breaks}
    lines = {quantity: [one for one in cost.lines if one.quantity == quantity] for quantity in estimates}
    start = plant_that_trims(planned, catalog)
    releases = []
    for quantity, estimate in estimates.items():
        inputs, _ = release_inputs(planned, quantity, catalog)
        found = varied(inputs, sent_release(planned, quantity, start, rates), factors, rates)
        releases.append(_release(found, estimate, lines[quantity], moves, rates, _tooling_in(cost)))
    told = {one.name for one in rates.spreads} | held(inputs_varied)
    return CostRange(
        releases=tuple(releases),
        inputs=tuple(_input(one) for one in inputs_varied),
        not_varied=tuple(MEANING[name][0] for name in SPREAD_INPUTS if name not in told),
        distribution="triangular between least and most, with its peak at the estimate",
        draws=draws,
        seed=SEED,
        low_percent=LOW,
        high_percent=HIGH,
        neglected=NEGLECTED,
    )


def drawn_factors(rates: Rates, draws: int = DRAWS) -> dict[str, np.ndarray]:
    """Factors of each input: first all at 1, then each alone at its least, each alone at its most, then the draws.

    Parameters
    ----------
    rates : Rates
        With their spreads [-].
    draws : int
        [count]

    Returns
    -------
    factors : dict
        For each of DRAWN an array of ``1 + 2 spreads + draws`` [-].
    """
    count, chances = len(rates.spreads), even_chances(len(SPREAD_INPUTS), draws)
    factors = dict.fromkeys(DRAWN, np.ones(1 + 2 * count + draws))
    for place, spread in enumerate(rates.spreads):
        mine = np.ones(1 + 2 * count + draws)
        mine[1 + place], mine[1 + count + place] = spread.least, spread.most
        mine[1 + 2 * count :] = triangular(chances[_place(spread.name)], spread)
        factors[spread.name] = mine
    return factors


def _place(name: str) -> int:
    """Which chances an input is drawn with. Scrap as runs tell it is drawn in the place of scrap in forming, which is
    not drawn then."""
    return SPREAD_INPUTS.index("form_scrap" if name == PARTS_FORMED else name)


def _input(one: Ranged) -> RangeInput:
    spread, meaning = one.spread, MEANING[one.spread.name]
    if one.recorded and spread.name == "cycle":
        meaning = RUN_HOURS
    return RangeInput(spread.name, *meaning, spread.least, spread.most, one.source)


def _release(
    found: Varied, estimate: PriceBreak, lines: list[CostLine], moves: np.ndarray, rates: Rates, tooling: float
) -> ReleaseRange:
    """``tooling`` is what each part pays of it [$], which nothing here moves."""
    quantity, drawn = found.quantity, slice(1 + 2 * len(rates.spreads), None)
    freight = found.freight / quantity
    needed = found.price / quantity + freight + tooling  # to keep the margin, were there no least release
    asked = np.maximum(found.price, loose(rates.price.minimum_release_price)) / quantity + freight + tooling
    quoted = loose(estimate.landed_unit_price)
    margin = (quoted - tooling - freight - found.full / quantity) / (loose(estimate.unit_price) - tooling)
    made = sum((one.total for one in lines if one.name not in NOT_MANUFACTURING), Decimal(0)) / quantity
    return ReleaseRange(
        quantity=quantity,
        cost=_money_band(found.manufacturing[drawn] / quantity, to_cent(made)),
        landed=_money_band(asked[drawn], estimate.landed_unit_price),
        margin=Band(*(exact(round(float(one), 4)) for one in _low_likely_high(margin[drawn], margin[0]))),
        mean=_money(asked[drawn].mean()),
        dearer=float((asked[drawn] > asked[0] + NEAR).mean()),
        effects=_effects(needed, moves, rates),
    )


def _tooling_in(cost: LandedCost) -> float:
    """What the price of a part pays of the tooling [$]."""
    return loose(cost.amortised.per_part) if cost.amortised else 0.0


def _low_likely_high(drawn: np.ndarray, likely: float) -> tuple[float, float, float]:
    low, high = np.percentile(drawn, (LOW, HIGH))
    return low, likely, high


def _money_band(drawn: np.ndarray, likely: Decimal) -> Band:
    low, high = np.percentile(drawn, (LOW, HIGH))
    return Band(_money(low), likely, _money(high))


def _money(amount: float) -> Decimal:
    return to_cent(exact(amount))


def _movements(factors: dict[str, np.ndarray], rates: Rates) -> np.ndarray:
    """The draws of each varied input about their mean, of length 1; zeros for an input that stays (inputs, draws)."""
    drawn = np.array([factors[one.name][1 + 2 * len(rates.spreads) :] for one in rates.spreads])
    drawn -= drawn.mean(axis=1, keepdims=True)
    lengths = np.sqrt((drawn**2).sum(axis=1, keepdims=True))
    return np.divide(drawn, lengths, out=np.zeros_like(drawn), where=lengths > 0)


def _effects(needed: np.ndarray, moves: np.ndarray, rates: Rates) -> tuple[Effect, ...]:
    """Share of variance: the squared linear correlation of the input with the landed unit price."""
    count = len(rates.spreads)
    price = needed[1 + 2 * count :] - needed[1 + 2 * count :].mean()
    whole = float(price @ price)
    shares = (moves @ price) ** 2 / whole if whole > 0 else np.zeros(count)
    found = [
        Effect(one.name, round(float(share), 4), _money(least), _money(most))
        for one, share, least, most in zip(
            rates.spreads, shares, needed[1 : 1 + count], needed[1 + count : 1 + 2 * count], strict=True
        )
    ]
    return tuple(sorted(found, key=lambda one: -one.share))
