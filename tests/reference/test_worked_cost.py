"""A worked cost of a formed ABS cover, 40 x 28 x 8 in from .187 in sheet, three release sizes, to the cent.

The example was worked by hand for this product, line by line, from the shop figures below; full precision in between.
"""

from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal

import pytest

from machines.machine import Trimmer
from machines.trim import TrimPace, TrimWork, pieces_per_hour, trim_time
from materials.sheet import PriceTier, SheetOffer
from quoting.costing.labour import PressInputs, TrimInputs
from quoting.costing.money import pounds
from quoting.costing.packing import PackInputs
from quoting.costing.price_breaks import ReleaseInputs, price_release
from quoting.costing.secondary import BenchInputs
from quoting.costing.sheet import SheetInputs
from quoting.intake.part import Secondary
from tests.quoting.costing.shop import INCH, POUND, TODAY, some_rates

SHEET_AREA, GAUGE, DENSITY = 45 * 33, 0.187, 0.0379  # in2, in, lb/in3
PART_POUNDS = (40 * 28 * 0.187 - 60 * 0.095) * DENSITY  # 7.722, openings at the wall of .095 in
HEAT = 90 * (GAUGE / 0.125) ** 1.4  # s
SHOTS_PER_HOUR = 3600 / (HEAT + 6) * 0.85

# Table of the example: quantity -> value
TABLE = {
    100: {
        "pieces": 102, "shots": 110, "sheet pounds": "1180.9", "price per pound": "2.25", "sheet": "2656.95",
        "regrind credit": "-156.32", "regrind pounds": "347.4", "material handling": "233.06", "set-up": "796.00",
        "forming": "832.16", "trimming": "575.99", "secondary operations": "245.33", "packing": "168.73",
        "manufacturing": "5351.89", "overhead": "642.23", "total": "5994.11", "price": "6811.49", "each": "68.11",
        "sheet net each": "25.01", "set-up each": "7.96", "press hours": "9.90", "trim hours": "5.84", "pallets": 4,
    },
    300: {
        "pieces": 304, "shots": 316, "sheet pounds": "3392.3", "price per pound": "2.05", "sheet": "6954.22",
        "regrind credit": "-411.49", "regrind pounds": "914.4", "material handling": "617.85", "set-up": "796.00",
        "forming": "2390.56", "trimming": "1716.66", "secondary operations": "736.00", "packing": "506.19",
        "manufacturing": "13306.00", "overhead": "1596.72", "total": "14902.72", "price": "16934.91", "each": "56.45",
        "sheet net each": "21.81", "set-up each": "2.65", "press hours": "20.95", "trim hours": "15.43", "pallets": 11,
    },
    1200: {
        "pieces": 1213, "shots": 1243, "sheet pounds": "13343.8", "price per pound": "1.95", "sheet": "26020.35",
        "regrind credit": "-1559.71", "regrind pounds": "3466.0", "material handling": "2327.66", "set-up": "796.00",
        "forming": "9403.39", "trimming": "6849.71", "secondary operations": "2944.00", "packing": "2024.76",
        "manufacturing": "48806.16", "overhead": "5856.74", "total": "54662.90", "price": "62116.94", "each": "51.76",
        "sheet net each": "20.38", "set-up each": "0.66", "press hours": "70.69", "trim hours": "58.56", "pallets": 43,
    },
}  # fmt: skip
LINES = (
    "sheet", "regrind credit", "material handling", "set-up", "forming", "trimming", "secondary operations", "packing",
    "overhead",
)  # fmt: skip


def cents(money: Decimal) -> str:
    return str(money.quantize(Decimal("0.01"), ROUND_HALF_UP))


def tenths(number: Decimal) -> str:
    return str(number.quantize(Decimal("0.1"), ROUND_HALF_UP))


def router() -> Trimmer:
    return Trimmer("R", "five_axis", 1.5, 1.5, 1.0, True, Decimal(85), 5 / 60, 1.0, 1.0, 0.85)


def pace() -> TrimPace:
    return TrimPace(4, 0, 2, 10, 20, 45, 6, 15, 0.250 * INCH, 1.25 / 60, 20)


def trim_of_example():
    return trim_time(TrimWork((136 + 32) * INCH, 1, 12, GAUGE * INCH), pace(), router())


def inputs_of(quantity: int) -> ReleaseInputs:
    tiers = tuple(PriceTier(lb * POUND, Decimal(price)) for lb, price in ((0, "2.25"), (2000, "2.05"), (10000, "1.95")))
    offer = SheetOffer(
        "ABS", "ABS", "stock", 0.001, 0.0127, 2.0, 5.0, tiers, 0.0, Decimal(0), Decimal("0.45"), 0.1, 2.0, TODAY, None,
    )  # fmt: skip
    blank = SHEET_AREA * GAUGE * DENSITY * POUND
    labour, bench = Decimal(34), BenchInputs(Decimal(34), 0.85)
    return ReleaseInputs(
        quantity=quantity,
        process="vacuum",
        sheet=SheetInputs(offer, 1, 1, blank, PART_POUNDS * POUND),
        press=PressInputs(SHOTS_PER_HOUR, 1, Decimal(90), 1.5, 4.0, 2.0, labour),
        trim=TrimInputs(trim_of_example(), Decimal(85), 1.0, 1.0, 0.85, labour),
        secondary=(Secondary("insert", 6), Secondary("inspection", 1)),
        pack=PackInputs(28, 1.0, bench, foam=False),
    )


def test_trim_time_of_the_worked_cover_is_145_seconds_and_21_pieces_an_hour():
    time = trim_of_example()

    assert time.path == pytest.approx(51.2, abs=0.05)
    assert time.cutting == pytest.approx(139.2, abs=0.05)
    assert time.cycle == pytest.approx(145.2, abs=0.05)
    assert pieces_per_hour(time.cycle, 0.85) == pytest.approx(21.07, abs=0.005)


@pytest.mark.parametrize("quantity", TABLE)
def test_every_line_of_the_worked_cover_comes_out_to_the_cent(quantity):
    release = price_release(inputs_of(quantity), some_rates())

    found = {name: cents(release.named(name).total) for name in LINES}

    assert found == {name: TABLE[quantity][name] for name in LINES}


@pytest.mark.parametrize("quantity", TABLE)
def test_shots_pounds_and_tier_of_the_worked_cover_are_those_of_the_table(quantity):
    row, release = TABLE[quantity], price_release(inputs_of(quantity), some_rates())
    regrind = release.named("regrind credit")
    recovered = next(Decimal(each.value) for each in regrind.inputs if each.name == "recovered mass")

    assert (release.need.pieces, release.need.shots) == (row["pieces"], row["shots"])
    assert tenths(pounds(release.need.order_mass)) == row["sheet pounds"]
    assert str(release.need.price_per_pound) == row["price per pound"]
    assert tenths(pounds(recovered)) == row["regrind pounds"]


@pytest.mark.parametrize("quantity", TABLE)
def test_totals_and_price_each_of_the_worked_cover_are_those_of_the_table(quantity):
    row, release = TABLE[quantity], price_release(inputs_of(quantity), some_rates())
    total = release.manufacturing_cost + release.named("overhead").total
    sheet_net = release.named("sheet").total + release.named("regrind credit").total

    assert cents(release.manufacturing_cost) == row["manufacturing"]
    assert cents(total) == row["total"]
    assert cents(total + release.named("margin").total) == row["price"]
    assert str(release.unit_price) == row["each"]
    assert cents(sheet_net / quantity) == row["sheet net each"]
    assert cents(release.named("set-up").total / quantity) == row["set-up each"]


@pytest.mark.parametrize("quantity", TABLE)
def test_hours_and_pallets_of_the_worked_cover_are_those_of_the_table(quantity):
    row, release = TABLE[quantity], price_release(inputs_of(quantity), some_rates())

    assert cents(release.press_hours) == row["press hours"]
    assert cents(release.trim_hours) == row["trim hours"]
    assert -(-quantity // 28) == row["pallets"]


def test_costs_per_piece_of_the_worked_cover_are_those_of_its_text():
    release = price_release(inputs_of(300), some_rates())

    assert round(release.named("forming").total / 316, 3) == Decimal("7.565")
    assert round(release.named("trimming").total / 304, 3) == Decimal("5.647")
    assert round(release.named("secondary operations").total / 300, 3) == Decimal("2.453")
    assert round(release.named("packing").total / 300, 3) == Decimal("1.687")


def test_ten_cents_a_pound_on_the_sheet_raise_the_price_by_a_dollar_fifty_five():
    # Same example: 11.308 lb bought per part, 1.131 $ of material, 1.55 $ in price at 300 parts.
    plain = inputs_of(300)
    dearer = tuple(
        replace(tier, price_per_pound=tier.price_per_pound + Decimal("0.10")) for tier in plain.sheet.offer.tiers
    )
    raised = replace(plain, sheet=replace(plain.sheet, offer=replace(plain.sheet.offer, tiers=dearer)))

    before, after = price_release(plain, some_rates()), price_release(raised, some_rates())

    assert cents((after.named("sheet").total - before.named("sheet").total) / 300) == "1.13"
    assert cents((price_by_cost(after) - price_by_cost(before)) / 300) == "1.55"


def price_by_cost(release) -> Decimal:
    return release.manufacturing_cost + release.named("overhead").total + release.named("margin").total
