"""A small shop made by hand: rates, one plant with a router, one press, one polymer, one offer, one part."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

from machines.cycle import Dwell
from machines.machine import HeaterBank, Machine, Oven, Plant, Station, Trimmer
from materials.polymer import Polymer
from materials.sheet import PriceTier, SheetOffer
from quoting.catalog import (
    AdviceRates,
    Catalog,
    FormingRates,
    FreightRates,
    MarginRates,
    OperationRate,
    PackingRates,
    PriceRates,
    Rates,
    SecondaryRates,
    SheetRates,
    ToolingRate,
    ToolWorkRates,
    TransferRates,
    TrimRates,
)
from quoting.intake.part import Customer, Destination, Part, PartRequest, Secondary
from quoting.routing.candidate import (
    Candidate,
    Cooling,
    Cycle,
    FormingPlan,
    Layout,
    PlannedCandidate,
    Press,
    Trim,
)
from tests.quoting.plan_parts import some_heating, some_thinning

INCH, POUND, MILE, CUBIC_FOOT = 0.0254, 0.45359237, 1609.344, 0.0254**3 * 1728
TODAY = date(2026, 3, 4)  # a Wednesday
LTL_BREAKS = ((0, "1.25"), (500, "1.10"), (1000, "1.00"), (2000, "0.85"), (5000, "0.72"), (10000, "0.60"))


def tool(name: str, price: str, weeks: float, share: str = "0.6") -> ToolingRate:
    area = (40 + 8) * (28 + 8) * INCH**2
    return ToolingRate(name, Decimal(price), area, Decimal(share), weeks)


def some_rates() -> Rates:
    d = Decimal
    return Rates(
        forming=FormingRates(d("0.02"), d("0.03"), d("0.05"), d(6), d(6), d(12), d(45)),
        sheet=SheetRates(d("1.02"), d("0.85"), d("0.08"), d("0.20"), d("0.25")),
        trim=TrimRates(
            d("0.01"), d(4), d(0), d(2), d(10), d(20), d(45), d(6), d(15), 0.250 * INCH, 1.25 / 60, d(20),
        ),
        operations=(OperationRate("insert", d(12), d("0.22")), OperationRate("inspection", d(30), d(0))),
        secondary=SecondaryRates(100),
        packing=PackingRates(
            48 * INCH, 40 * INCH, 5.5 * INCH, 45 * POUND, 6 * POUND, 0.6 * POUND, 0.05 * INCH, 5,
            96 * INCH, 2000 * POUND, 1.25 * INCH, d(16), d(9), d("0.35"), d("1.50"), d(40),
        ),
        freight=FreightRates(
            1.2, 10 * MILE, d(12), d("0.020"), d(165), d("0.28"),
            tuple((least, d(factor)) for least, factor in LTL_BREAKS),
            20 * 12 * INCH, 20000 * POUND, 10, 750 * CUBIC_FOOT, 6.0,
            d("2.10"), d(650), d("3.80"), d("1.25"), d("6.5"), 630 * INCH, 100 * INCH, 108 * INCH, 44000 * POUND,
        ),
        tooling=(
            tool("cast_aluminium", "14500", 8), tool("machined_aluminium", "22000", 8),
            tool("pressure_tool", "32000", 10), tool("pressure_box", "6000", 8), tool("prototype", "3500", 2, "0.3"),
            tool("hand_trim_jig", "800", 1, "0"), tool("drill_fixture", "600", 1, "0"),
            tool("assembly_fixture", "1200", 2, "0"),
            tool("twin_sheet_pair", "65000", 12), tool("plug", "2000", 2, "1"),
            tool("trim_fixture", "3200", 3, "0"),
            tool("check_fixture", "900", 2, "0"), tool("cooling_fixture", "1500", 3, "0.5"),
        ),
        tool_work=ToolWorkRates(d(275), d(2000), 1.0, d(2750), 50, 1000),
        transfer=TransferRates(10, d("0.03"), d("0.15")),
        price=PriceRates(
            d("0.12"), d("0.12"), d(3), d(1500), 30, 0.6, 1.0, d(750), 2.0, d("0.08"), d("0.08"), d(1000000),
        ),
        margin=MarginRates(
            d("0.03"), d("0.02"), d("0.02"), d("0.02"), d("0.01"), d("0.01"), d("0.85"), d("0.20"),
        ),
        advice=AdviceRates(d("0.25"), d("0.60"), d("0.03")),
        sources=(("trim.hole_time", "shop study", date(2026, 1, 1)),),
    )  # fmt: skip


def some_router() -> Trimmer:
    return Trimmer("R1", "five_axis", 60 * INCH, 60 * INCH, 36 * INCH, True, Decimal(85), 5 / 60, 1.0, 1.0, 0.85)


def some_bench() -> Trimmer:
    return Trimmer("H1", "hand", 0.0, 0.0, 0.0, False, Decimal(5), 1.25 / 60, 1.0, 0.5, 0.85)


def some_plant() -> Plant:
    return Plant(
        "P1", "North", "IL", "60601", "US", 41.8858, -87.6181, "America/Chicago", 293.15, Decimal(34), Decimal(45), 3,
        8.0, 5, ("insert", "inspection"), (some_router(),),
    )  # fmt: skip


def some_machine() -> Machine:
    bank = HeaterBank(500.0, 700.0, 1.8, 1.5, 0.9, 0.8)
    return Machine(
        "M1", "P1", "three_station_rotary",
        (Station("load", ("unload", "load")), Station("oven", ("oven",)), Station("form", ("form",))),
        72 * INCH, 60 * INCH, 72 * INCH, 60 * INCH, 24 * INCH, 20 * INCH, 0.9, 0.9, 0.6, 0.6,
        Oven(bank, bank, 400.0, 8.0, 0.3), 8.5e4, 0.0, 0.0, False, 0.0015, 0.0127,
        6.0, 45.0, 0.0, 12.0, 10.0, 8.0, 4.0, 500.0, 300.0, 40.0, 1.5, Decimal(90), 4.0, 2.0, 0.85,
    )  # fmt: skip


def some_offer() -> SheetOffer:
    tiers = tuple(
        PriceTier(pounds * POUND, Decimal(price))
        for pounds, price in ((0, "2.55"), (500, "2.25"), (2000, "2.05"), (10000, "1.95"))
    )
    return SheetOffer(
        "ABS stock", "ABS", "stock", 0.0015, 0.0127, 1.8, 5.0, tiers, 500 * POUND, Decimal(0), Decimal("0.45"), 0.1,
        2.0, date(2026, 1, 1), None, "mill price list",
    )  # fmt: skip


def some_polymer() -> Polymer:
    return Polymer(
        "ABS", "", False, 1050.0, 0.18, 1500.0, 2000.0, 378.0, 0.0, 378.0, 1.0, 0.92, 9e-5, 2.3e9, 1e6, 363.0,
        400.0, 423.0, 453.0, 338.0, 355.0, 0.006,
    )  # fmt: skip


def some_request() -> PartRequest:
    part = Part(
        "cover", 40 * INCH, 28 * INCH, 8 * INCH, None, 0.187 * INCH, 2208 * INCH**2, 168 * INCH, 0.0524, None, 0.0, 0.0,
        None, "tool", False, 1, 12, 333.0,
    )  # fmt: skip
    return PartRequest(
        "", Customer("Example", "A. Buyer", "a@example.com"), Destination("75201", "US", 32.7876, -96.7994), part, (),
        "stock", (), 2400, (100, 300, 1200), "new", (Secondary("insert", 6), Secondary("inspection", 1)), None,
        None, None,
    )  # fmt: skip


def some_planned() -> PlannedCandidate:
    layout = Layout(False, 1, 1, 45 * INCH, 33 * INCH, 1.5 * INCH, 2.5 * INCH, 40 * INCH, 28 * INCH)
    gauge = 0.187 * INCH
    candidate = Candidate("vacuum", some_plant(), some_machine(), some_polymer(), some_offer(), layout, gauge, gauge)
    heat = 90 * (0.187 / 0.125) ** 1.4
    plan = FormingPlan(
        some_thinning(1.971, 0.095 * INCH, 0.057 * INCH),
        some_heating(heat, 600.0, 600.0, 440.0, 410.0, 425.0, 1e6),
        0.05, Cooling(96.7, 355.0, 0.095 * INCH),
        Cycle((Dwell("oven", heat),), heat + 6, "oven", 1, 3600 / (heat + 6) * 0.85),
        Press(0.72, 0.8, 8.5e4, 6e4, 0.0), Trim(some_router(), "P1", False), 1e6, 10.525 * POUND, 7.722 * POUND, 0.27,
    )  # fmt: skip
    return PlannedCandidate(some_request(), candidate, plan)


def some_catalog() -> Catalog:
    return Catalog((some_plant(),), (some_machine(),), (some_polymer(),), (some_offer(),), some_rates())


def with_part(planned: PlannedCandidate, **fields) -> PlannedCandidate:
    """The planned candidate with some fields of its part changed; the plan stays as it is."""
    return replace(planned, request=replace(planned.request, part=replace(planned.request.part, **fields)))
