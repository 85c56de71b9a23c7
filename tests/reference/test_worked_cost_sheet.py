"""The worked cover once more as a spreadsheet would have it: cells of plain arithmetic, nothing of the product in them.

Shop figures and formulas are those of the example written out by hand in ``test_worked_cost``; only what is priced at
the end comes from the product, so that any release size can be held against the cells, not just the three printed.
"""

from fractions import Fraction
from math import ceil

import pytest

from quoting.costing.price_breaks import price_release
from tests.quoting.costing.shop import some_rates
from tests.reference.test_worked_cost import inputs_of

RATES = some_rates()


def cells(quantity: int) -> dict[str, float]:
    """The sheet of one release, top to bottom; pounds, inches, dollars, seconds."""
    trimmed = ceil(Fraction(quantity) / Fraction(99, 100))
    shots = ceil(Fraction(quantity) / Fraction(99, 100) / Fraction(98, 100) + 6)
    blank = 45 * 33 * 0.187 * 0.0379
    part = (40 * 28 * 0.187 - 60 * 0.095) * 0.0379
    bought = shots * blank * 1.02
    tier = 2.25 if bought < 2000 else 2.05 if bought < 10_000 else 1.95
    sheet = bought * tier
    credit = -(bought - quantity * part) * 0.85 * 0.45
    inserts, packing_material = 6 * 0.22, 0.35 + (16 + 9) / 28
    handling = 0.08 * (sheet + quantity * (inserts + packing_material))
    setup = 4 * (90 + 2 * 34) + 1 * (85 + 34) + 45
    heat = 90 * (0.187 / 0.125) ** 1.4
    forming = shots * (90 + 1.5 * 34) / (3600 / (heat + 6) * 0.85)
    path = (136 + 32) * 0.0254 / (5 / 60)
    cutting = path + 12 * 4 + 2 * 10 + 20
    at_table = 45 + (136 + 32) * 0.0254 * 15
    trimming = trimmed * (85 + 34) * (max(cutting, at_table) + 6) / 0.85 / 3600
    secondary = quantity * ((6 * 12 + 30) / 0.85 * 34 / 3600 + inserts)
    packing = quantity * (40 / 0.85 * 34 / 3600 + packing_material)
    made = sheet + credit + handling + setup + forming + trimming + secondary + packing
    return {
        "sheet": sheet, "regrind credit": credit, "material handling": handling, "set-up": setup, "forming": forming,
        "trimming": trimming, "secondary operations": secondary, "packing": packing, "overhead": 0.12 * made,
        "each": made * 1.12 / 0.88 / quantity,
    }  # fmt: skip


def test_the_cells_give_the_three_printed_prices():
    # the table of the example: 68.11, 56.45, 51.76
    assert [round(cells(quantity)["each"], 2) for quantity in (100, 300, 1200)] == [68.11, 56.45, 51.76]


@pytest.mark.parametrize("quantity", [40, 100, 166, 167, 300, 777, 931, 1200, 5000])
def test_the_product_prices_any_release_as_the_cells_do(quantity):
    release, sheet = price_release(inputs_of(quantity), RATES), cells(quantity)

    for name, amount in sheet.items():
        if name != "each":
            assert float(release.named(name).total) == pytest.approx(amount, abs=0.005), name
    assert float(release.unit_price) == pytest.approx(sheet["each"], abs=0.0051)
