"""A small invented house to route parts through: two plants, four machines, three polymers."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

from machines.machine import HeaterBank, Machine, Oven, Plant, Station, Trimmer
from materials.polymer import NeedMet, Polymer
from materials.sheet import INCH, PriceTier, SheetOffer
from quoting.catalog import Catalog
from quoting.intake.part import Customer, Destination, Part, PartRequest
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.candidates import candidates
from quoting.routing.plan import PlannedGroup, planned

TODAY = date(2026, 11, 25)
PSI = 6894.757293168361
KELVIN = 273.15


def bank(**changes) -> HeaterBank:
    plain = HeaterBank(
        lowest_temperature=200 + KELVIN,
        highest_temperature=500 + KELVIN,
        heated_length=100 * INCH,
        heated_width=76 * INCH,
        emissivity=0.9,
        view_factor=0.85,
    )
    return replace(plain, **changes)


def oven(**changes) -> Oven:
    plain = Oven(upper=bank(), lower=bank(), air_temperature=350.0, air_film_coefficient=8.0, clearance_below=14 * INCH)
    return replace(plain, **changes)


THREE = (Station("load", ("load", "unload")), Station("oven", ("oven",)), Station("form", ("form",)))
FOUR = (
    Station("load", ("load", "unload")),
    Station("preheat", ("preheat",)),
    Station("oven", ("oven",)),
    Station("form", ("form",)),
)


def machine(**changes) -> Machine:
    plain = Machine(
        code="R3",
        plant="A",
        kind="three_station_rotary",
        stations=THREE,
        platen_length=96 * INCH,
        platen_width=72 * INCH,
        largest_opening_length=96 * INCH,
        largest_opening_width=72 * INCH,
        smallest_opening_length=24 * INCH,
        smallest_opening_width=20 * INCH,
        tool_height_above=30 * INCH,
        tool_height_below=34 * INCH,
        draw_depth_above=24 * INCH,
        draw_depth_below=28 * INCH,
        oven=oven(),
        vacuum_pressure=85e3,
        pressure_capability=120 * PSI,
        lock_force=2.5e6,
        twin_sheet=False,
        thinnest_gauge=0.060 * INCH,
        thickest_gauge=0.500 * INCH,
        index_time=6.0,
        load_time=25.0,
        unload_time=20.0,
        close_time=12.0,
        open_time=10.0,
        vacuum_time=8.0,
        pressure_time=4.0,
        tool_film_coefficient=500.0,
        cooling_air_temperature=25 + KELVIN,
        cooling_film_coefficient=40.0,
        crew=1.5,
        hour_rate=Decimal("90"),
        setup_hours=4.0,
        setup_crew=2.0,
        efficiency=0.85,
    )
    return replace(plain, **changes)


def twin_machine(**changes) -> Machine:
    return machine(
        **{
            "code": "T4",
            "kind": "twin_sheet_rotary",
            "stations": FOUR,
            "twin_sheet": True,
            "index_time": 9.0,
            **changes,
        }
    )


def router(**changes) -> Trimmer:
    plain = Trimmer(
        code="5X",
        kind="five_axis",
        table_length=60 * INCH,
        table_width=60 * INCH,
        table_height=36 * INCH,
        twin_table=True,
        hour_rate=Decimal("85"),
        feed=5 / 60,
        crew=1.0,
        setup_hours=1.0,
        efficiency=0.85,
    )
    return replace(plain, **changes)


def bench(**changes) -> Trimmer:
    return router(
        **{"code": "HB", "kind": "hand", "table_length": 0.0, "table_width": 0.0, "table_height": 0.0, **changes}
    )


def plant(**changes) -> Plant:
    plain = Plant(
        code="A",
        name="Plant A",
        state="OH",
        postal_code="43004",
        country="US",
        latitude=40.0,
        longitude=-83.0,
        time_zone="America/New_York",
        shop_temperature=295.0,
        labour_rate=Decimal("34"),
        inspector_rate=Decimal("40"),
        shifts_per_day=2,
        hours_per_shift=8.0,
        days_per_week=5,
        assembly=("insert", "inspection"),
        trimmers=(router(),),
    )
    return replace(plain, **changes)


def abs_polymer(**changes) -> Polymer:
    plain = Polymer(
        name="ABS",
        description="acrylonitrile butadiene styrene",
        semicrystalline=False,
        density=1050.0,
        conductivity=0.19,
        specific_heat_solid=1500.0,
        specific_heat_hot=2100.0,
        step_temperature=105 + KELVIN,
        latent_heat=0.0,
        melting_temperature=105 + KELVIN,
        melting_width=5.0,
        emissivity=0.92,
        expansion=9e-5,
        flexural_modulus=2.1e9,
        hot_modulus=1.5e6,
        deflection_temperature=95 + KELVIN,
        lower_forming_temperature=130 + KELVIN,
        normal_forming_temperature=150 + KELVIN,
        upper_forming_temperature=185 + KELVIN,
        tool_temperature=60 + KELVIN,
        demould_temperature=85 + KELVIN,
        shrinkage=0.006,
        needs=(NeedMet("impact"), NeedMet("food_contact", "Letter 7", date(2026, 12, 31))),
    )
    return replace(plain, **changes)


def hdpe(**changes) -> Polymer:
    return abs_polymer(
        **{
            "name": "HDPE",
            "semicrystalline": True,
            "density": 950.0,
            "conductivity": 0.45,
            "specific_heat_solid": 2100.0,
            "specific_heat_hot": 2500.0,
            "step_temperature": 130 + KELVIN,
            "latent_heat": 180e3,
            "melting_temperature": 130 + KELVIN,
            "melting_width": 6.0,
            "hot_modulus": 0.6e6,
            "deflection_temperature": 75 + KELVIN,
            "lower_forming_temperature": 138 + KELVIN,
            "normal_forming_temperature": 150 + KELVIN,
            "upper_forming_temperature": 200 + KELVIN,
            "tool_temperature": 45 + KELVIN,
            "demould_temperature": 80 + KELVIN,
            "needs": (),
            **changes,
        }
    )


def offer(polymer: str = "ABS", **changes) -> SheetOffer:
    plain = SheetOffer(
        name=f"{polymer} stock",
        polymer=polymer,
        colour="stock",
        thinnest_gauge=0.060 * INCH,
        thickest_gauge=0.500 * INCH,
        widest=100 * INCH,
        longest=140 * INCH,
        tiers=(PriceTier(0.0, Decimal("2.05")),),
        minimum_order=225.0,
        colour_charge=Decimal("0"),
        regrind_value_per_pound=Decimal("0.40"),
        gauge_tolerance=0.1,
        lead_time_weeks=2.0,
        valid_from=date(2026, 1, 1),
        valid_to=None,
    )
    return replace(plain, **changes)


def catalog(**changes) -> Catalog:
    plain = Catalog(
        plants=(
            plant(),
            plant(code="B", name="Plant B", trimmers=(bench(), router(code="5XL", table_length=120 * INCH))),
        ),
        machines=(
            machine(),
            twin_machine(),
            machine(
                code="S1",
                plant="B",
                kind="single_station_shuttle",
                pressure_capability=0.0,
                lock_force=0.0,
                index_time=5.0,
            ),
            machine(code="R4", plant="B", kind="four_station_rotary", stations=FOUR),
        ),
        polymers=(abs_polymer(), hdpe()),
        offers=(offer(), offer("HDPE"), offer("HDPE", name="HDPE custom", colour="custom")),
        rates=None,
    )
    return replace(plain, **changes)


def part(**changes) -> Part:
    """P-1 of the trade: a cover of 40 x 28 x 8 in from .187 gauge."""
    plain = Part(
        name="P-1",
        length=40 * INCH,
        width=28 * INCH,
        depth=8 * INCH,
        minimum_wall=None,
        gauge=0.187 * INCH,
        surface_area=2208 * INCH**2,
        trim_length=4.267,
        draft_angle=0.0524,
        smallest_radius=None,
        undercut_depth=0.0,
        texture_depth=0.0,
        tolerance=None,
        show_side="none",
        enclosed=False,
        openings=1,
        holes=12,
        service_temperature=60 + KELVIN,
    )
    return replace(plain, **changes)


def request(wanted: Part | None = None, **changes) -> PartRequest:
    plain = PartRequest(
        reference="",
        customer=Customer("Example", "A Person", "a@example.org"),
        ship_to=Destination("43004", "US", 40.0, -83.0),
        part=wanted or part(),
        polymers=(),
        colour="stock",
        needs=(),
        annual=1200,
        releases=(100, 300, 1200),
        tooling="new",
        secondary=(),
        replaces_metal=None,
        needed_by=None,
        target_price=None,
    )
    return replace(plain, **changes)


def planned_all(asked: PartRequest, house: Catalog | None = None) -> tuple[PlannedGroup, ...]:
    house = house or catalog()
    return planned(asked, candidates(asked, house, TODAY), house, TODAY)


def one_planned(process: str = "vacuum", asked: PartRequest | None = None, house: Catalog | None = None, **where):
    """The single-cavity (or given) plan on machine R3 of plant A in ABS, or as ``where`` says."""
    code, polymer = where.get("machine", "T4" if process == "twin_sheet" else "R3"), where.get("polymer", "ABS")
    for group in planned_all(asked or request(), house):
        found = group[0].candidate
        if (found.process, found.machine.code, found.polymer.name) == (process, code, polymer):
            return group[0]
    raise LookupError(process)


def changed(plan: PlannedCandidate, /, **parts: dict) -> PlannedCandidate:
    """A planned candidate with some of its values replaced, room by room; the plan is not computed again."""
    candidate, asked, forming = plan.candidate, plan.request, plan.plan
    for room in ("layout", "machine", "polymer", "offer", "plant"):
        if room in parts:
            candidate = replace(candidate, **{room: replace(getattr(candidate, room), **parts[room])})
    candidate = replace(candidate, **parts.get("candidate", {}))
    asked = replace(asked, part=replace(asked.part, **parts.get("part", {})))
    asked = replace(asked, **parts.get("request", {}))
    for room in ("thinning", "heating", "cooling", "cycle", "press", "trim"):
        if room in parts:
            forming = replace(forming, **{room: replace(getattr(forming, room), **parts[room])})
    forming = replace(forming, **parts.get("plan", {}))
    return replace(plan, candidate=candidate, request=asked, plan=forming, on=parts.get("on", plan.on))
