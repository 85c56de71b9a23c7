"""An answer built by hand, with invented data, in the plain form in which a quote stores it."""

from copy import deepcopy
from dataclasses import fields, is_dataclass
from datetime import date
from decimal import Decimal
from math import radians

import pytest

from machines.cycle import Dwell
from machines.machine import HeaterBank, Machine, Oven, Plant, Station, Trimmer
from machines.promise import Placed, Timing, Waits
from materials.polymer import NeedMet, Polymer
from materials.sheet import PriceTier, SheetOffer
from quoting.answer import Answer, Condition, MetalComparison, PricedCandidate, Referral
from quoting.costing.lines import CostLine, LandedCost, Packing, PriceBreak, ToolingLine
from quoting.costing.money import Input
from quoting.intake.part import Customer, Destination, Part, PartRequest, Secondary
from quoting.intake.reading_result import Assumption, Doubt
from quoting.routing.candidate import (
    Candidate,
    Cooling,
    Cycle,
    FormingPlan,
    JudgedCandidate,
    Layout,
    PlannedCandidate,
    Press,
    Trim,
)  # fmt: skip
from quoting.routing.rules.comparing import verdict
from quoting.routing.verdict import Verdict
from quoting.words import words
from tests.quoting.plan_parts import some_heating, some_thinning

INCH = 0.0254
ISSUED, VALID = date(2026, 11, 25), date(2026, 12, 25)
SECRET = "77777.31"  # an amount that must never reach a document
ADDED = ("fits", "passed", "cavities", "ranking_price")


def plain(value):
    """A dataclass tree as dict, list and text, with the properties that the stored form adds."""
    if is_dataclass(value):
        names = getattr(value, "SHOWN", None) or tuple(field.name for field in fields(value))
        shown = {name: plain(getattr(value, name)) for name in names}
        return shown | {name: plain(getattr(value, name)) for name in ADDED if hasattr(type(value), name)}
    if isinstance(value, (tuple, list)):
        return [plain(inner) for inner in value]
    if isinstance(value, Decimal):
        return str(value)
    return value.isoformat() if isinstance(value, date) else value


def plant() -> Plant:
    trimmer = Trimmer("R-1", "five_axis", 3.0, 1.5, 1.0, True, Decimal(SECRET), 5 / 60, 1.0, 1.0, 0.85)
    return Plant(
        "ELK", "Elkbend", "IN", "46514", "US", 41.7, -85.9, "America/Indiana/Indianapolis", 294.0, Decimal(SECRET),
        Decimal(SECRET), 2, 8.0, 5, ("insert", "bonded_block"), (trimmer,),
    )  # fmt: skip


def machine() -> Machine:
    bank = HeaterBank(500.0, 900.0, 2.4, 1.6, 0.9, 0.85)
    return Machine(
        code="RO-3", plant="ELK", kind="three_station_rotary",
        stations=(Station("A", ("load", "unload")), Station("B", ("oven",)), Station("C", ("form",))),
        platen_length=72 * INCH, platen_width=60 * INCH, largest_opening_length=70 * INCH,
        largest_opening_width=58 * INCH, smallest_opening_length=24 * INCH, smallest_opening_width=20 * INCH,
        tool_height_above=0.8, tool_height_below=0.8, draw_depth_above=0.6, draw_depth_below=0.6,
        oven=Oven(bank, bank, 400.0, 8.0, 0.5), vacuum_pressure=88000.0, pressure_capability=0.0, lock_force=0.0,
        twin_sheet=False, thinnest_gauge=0.0015, thickest_gauge=0.0127, index_time=6.0, load_time=20.0,
        unload_time=14.0, close_time=4.0, open_time=4.0, vacuum_time=4.0, pressure_time=0.0,
        tool_film_coefficient=500.0, cooling_air_temperature=295.0, cooling_film_coefficient=30.0, crew=1.5,
        hour_rate=Decimal(SECRET), setup_hours=4.0, setup_crew=2.0, efficiency=0.85,
    )  # fmt: skip


def polymer() -> Polymer:
    return Polymer(
        "ABS", "general purpose, medium impact", False, 1050.0, 0.18, 1400.0, 2300.0, 373.0, 0.0, 373.0, 5.0, 0.92,
        9.5e-5, 2.07e9, 2.0e6, 360.0, 400.0, 433.0, 463.0, 340.0, 355.0, 0.006,
        needs=(
            NeedMet("food_contact", "Letter FC-7 of the sheet maker (invented)", date(2027, 6, 30)),
            NeedMet("flame_v0", "Data sheet FR-2 (invented)", None, 0.0025),
        ),
    )  # fmt: skip


def offer() -> SheetOffer:
    tiers = (PriceTier(0.0, Decimal(SECRET)),)
    return SheetOffer(
        "Mill offer 12", "ABS", "stock", 0.0015, 0.0127, 1.8, 3.6, tiers, 450.0, Decimal(SECRET), Decimal("0.45"), 0.1,
        3.0, date(2026, 1, 1), None,
    )  # fmt: skip


def part_request(**changed) -> PartRequest:
    part = Part(
        "Pump cover", 40 * INCH, 28 * INCH, 8 * INCH, None, 0.187 * INCH, 1.4, 3.45, radians(3), 0.25 * INCH, 0.0,
        0.0, None, "tool", False, 1, 12, 333.15,
    )  # fmt: skip
    settled = {
        "reference": "PC-1140 rev C", "customer": Customer("Meadow Pumps", "Ada Rowe", "ada.rowe@meadow.example"),
        "ship_to": Destination("43215", "US", 39.9, -83.0, "Columbus, OH"), "part": part, "polymers": (),
        "colour": "stock", "needs": ("food_contact", "flame_v0"), "annual": 1200, "releases": (100, 300, 1200),
        "tooling": "new", "secondary": (Secondary("insert", 6),), "replaces_metal": None, "needed_by": None,
        "target_price": None,
    }  # fmt: skip
    return PartRequest(**(settled | changed))


def plan() -> FormingPlan:
    return FormingPlan(
        thinning=some_thinning(1.94, 0.00245, 0.00147),
        heating=some_heating(150.0, 800.0, 780.0, 455.0, 425.0, 437.0, 2.2e6),
        sag=0.11, cooling=Cooling(70.0, 355.0, 0.004),
        cycle=Cycle((Dwell("A", 34.0), Dwell("B", 150.0), Dwell("C", 82.0)), 156.0, "B", 1, 19.6),
        press=Press(0.7226, (45 - 2) * (33 - 2) * INCH**2, 88000.0, 63600.0, 0.0),
        trim=Trim(plant().trimmers[0], "ELK", False), blank_energy=2.2e6,
        blank_mass=4.78, part_mass=3.5, selvedge_fraction=0.27,
    )  # fmt: skip


def verdicts(process: str) -> tuple[Verdict, ...]:
    deep = "the drawn depth is {measured} times the smaller side; {limit} is the most for this process"
    frame = "the blank of {measured} lies in a clamp opening of {limit}"
    hollow = "the part has {measured} skin; this process makes {limit}"
    found = [
        verdict("depth over width", True, 0.29, 0.75, "-", reason=deep, remedy="a shallower part",
                basis="a fabricator's page"),
        verdict("blank in clamp frame", True, 1.143, 1.778, "m", reason=frame, remedy="a smaller part",
                basis="machine data", condition="the sheet is cut square"),
    ]  # fmt: skip
    if process == "twin_sheet":
        found.append(verdict("skins", False, 1.0, 2.0, "count", reason=hollow, remedy="a closed hollow part"))
    return tuple(found)


TIMING = Timing(Waits(70.0, 7.0, 14.0, 0.0, 3.0, 0.0, 4.2), (Placed("forming", "M1", 9.9, 2.0, 0.8),))


def cost(quantities=(100, 300, 1200)) -> LandedCost:
    line = CostLine(100, "margin secret-line", Decimal(SECRET), Decimal(SECRET), "secret-basis",
                    lambda: (Input("hour rate", Decimal(SECRET), "$/h", "secret-source"),))  # fmt: skip
    breaks = tuple(
        PriceBreak(quantity, Decimal("68.11") - number, Decimal("6.35"), Decimal("74.46") - number, Decimal("7.96"),
                   12.0 + number, 9.9, 5.8, date(2027, 3, 1), TIMING)
        for number, quantity in enumerate(quantities)
    )  # fmt: skip
    packing = Packing(28, 4, 1, 118.0, 2.64, 2.8, "300", "ltl", 540000.0, "four pallets", Decimal("635"),
                      Decimal("635"), Decimal(SECRET))  # fmt: skip
    tooling = (
        ToolingLine("cast_aluminium", Decimal("14500.00"), 7.0, "secret-basis"),
        ToolingLine("trim_fixture", Decimal("3200.00"), 2.0, "secret-basis"),
        ToolingLine("check_fixture", Decimal("900.00"), 0.0, "secret-basis"),
    )
    return LandedCost(lambda: (line,), breaks, tooling, packing, (packing,) * len(breaks), ())


def priced(process: str, asked: PartRequest, landed: LandedCost | None) -> PricedCandidate:
    layout = Layout(False, 1, 1, 45 * INCH, 33 * INCH, 4 * INCH, 2.5 * INCH, 40 * INCH, 28 * INCH)
    candidate = Candidate(process, plant(), machine(), polymer(), offer(), layout, 0.187 * INCH, 0.187 * INCH)
    return PricedCandidate(JudgedCandidate.of(PlannedCandidate(asked, candidate, plan()), verdicts(process)), landed, 2)


def quoted_answer() -> Answer:
    asked = part_request()
    chosen = priced("vacuum", asked, cost())
    metal = MetalComparison("steel", 0.0598 * INCH, 7.9, 3.5, 0.443, 0.13, 0.274 * INCH,
                            (words("both taken as flat panels of the plan size"),))  # fmt: skip
    return Answer(
        "quote", words("we can make the cover by vacuum forming from a sheet of {gauge}", gauge=(0.00475, "m")), ISSUED,
        asked, chosen, (chosen, priced("twin_sheet", asked, None)), None, metal,
        (Condition(words("the release of {n} buys a full skid of sheet", n=(100, "count")),
                   words("the mill sells no less than {mass}", mass=(453.6, "kg"))),),
        (),
        (Assumption("part.draft_angle", words("{angle}", angle=(radians(3), "rad")), "none was given"),
         Assumption("part.surface_area", words("{area}", area=(1.4, "m2")), "estimated from the sizes")),
        (Doubt("part.depth", words("the depth of {depth} is large beside the wall", depth=(0.2, "m"))),),
        ("sharp edges are left as trimmed unless deburring is ordered",), None,
    )  # fmt: skip


def refused_answer() -> Answer:
    asked = part_request()
    twin = priced("twin_sheet", asked, None)
    return Answer(
        "not_a_fit", words("the pump cover is not a fit: it has one skin and the process left makes two"), ISSUED,
        asked, None, (twin,), Referral("injection moulding", words("it forms ribs, bosses and both faces at once")),
        None, (), (), (), (), (), None,
    )  # fmt: skip


@pytest.fixture
def quoted() -> dict:
    return deepcopy(plain(quoted_answer()))


@pytest.fixture
def refused() -> dict:
    return deepcopy(plain(refused_answer()))
