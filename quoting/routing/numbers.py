"""Every number of the forming plan opened: its formula as it is computed, its inputs, and on what it rests."""

from machines.press import box_volume
from materials.compressed_air import stored_air_energy
from materials.web import web_cut
from quoting.routing.candidate import Heating, PlannedCandidate
from quoting.routing.heat_plan import cooling_case
from quoting.routing.nesting import cavity_gap, clamp_of, free_spans, trim_width
from quoting.routing.rules.depth import drawn_depth
from quoting.routing.study import Explained, Given
from quoting.routing.wall_plan import tool_side_of, walls_of

MACHINE = "the machine's own data"
PLAN = "this plan"
INQUIRY = "the inquiry, or its assumptions"
MALE_COOLING = (
    "the top of a male tool keeps the sheet nearly at its gauge and governs, which is why a rule of thumb by gauge "
    "allows 1.1 times the time of a female one (common practice, no source): it is not added once more"
)
MARCH = "one-dimensional conduction, checked against series, an inverse transform and two general solvers"


def explained(planned: PlannedCandidate) -> tuple[Explained, ...]:
    """The numbers of a plan that reaches its window, in the order of the work.

    Parameters
    ----------
    planned : PlannedCandidate
        [-]

    Returns
    -------
    numbers : tuple of Explained
        [SI]
    """
    return (
        *_heating(planned),
        *_cooling(planned),
        *_walls(planned),
        *_sag_and_force(planned),
        *_pace(planned),
        *_web(planned),
    )


def _property(planned: PlannedCandidate, name: str, unit: str) -> Given:
    polymer = planned.candidate.polymer
    source = dict(polymer.sources).get(name, "polymer data without a source")
    return Given(name.replace("_", " "), getattr(polymer, name), unit, source)


def _properties(planned: PlannedCandidate, **units: str) -> tuple[Given, ...]:
    return tuple(_property(planned, name, unit) for name, unit in units.items())


def _heating(planned: PlannedCandidate) -> tuple[Explained, ...]:
    heating, oven = planned.plan.heating, planned.candidate.machine.oven
    gauge = Given("gauge", planned.candidate.gauge, "m", PLAN)
    shop = Given("sheet as it comes", planned.candidate.plant.shop_temperature, "K", "the plant's own data")
    heat = _properties(
        planned, density="kg/m3", conductivity="W/m/K", specific_heat_solid="J/kg/K", specific_heat_hot="J/kg/K",
        step_temperature="K", latent_heat="J/kg", emissivity="-",
    )  # fmt: skip
    banks = (
        Given("upper heaters", heating.upper_heater, "K", PLAN),
        Given("lower heaters", heating.lower_heater, "K", PLAN),
        *_preheat(heating),
        Given("view factor above", oven.upper.view_factor, "-", "the machine's own data: calibrated, not measured"),
        Given("view factor below", oven.lower.view_factor, "-", "the machine's own data: calibrated, not measured"),
        Given("oven air", oven.air_temperature, "K", MACHINE),
        Given("film of the oven air", oven.air_film_coefficient, "W/m^2/K", MACHINE),
    )
    window = _properties(planned, lower_forming_temperature="K", normal_forming_temperature="K")
    scorch = _properties(planned, upper_forming_temperature="K")
    slab = "rho dH/dt = d/dx (k dT/dx) in the sheet; q = F Fv sigma (Th^4 - Ts^4) + h (Tair - Ts) on each face"
    transfer = Given("time in open air", heating.transfer_time, "s", MACHINE)
    return (
        Explained(
            "Time in the heat", heating.time, "s",
            f"{slab}; until the coldest point and the mean are in the window and stay there to the tool",
            (gauge, shop, *heat, *banks, *window), MARCH,
        ),
        Explained(
            "Rule of thumb for it", heating.rule_of_thumb_time, "s", "t = kh (gauge/0.125 in)^1.4, both sides",
            (gauge,), "common practice, no source",
        ),
        Explained("Skin at its hottest", heating.surface_peak, "K", f"{slab}; the greater of both faces, ever",
                  (*banks, *scorch), MARCH),
        Explained("Core at oven exit", heating.core_at_exit, "K", f"{slab}; the coldest point",
                  (gauge, *window), MARCH),
        Explained(
            "Coldest point at the tool", heating.coldest_at_contact, "K",
            "the same march in open air, h 10 W/m2K and radiation to the walls of the shop", (transfer, shop, *window),
            f"{MARCH}; film of slow air: from memory, unverified",
        ),
        Explained("Mean at the tool", heating.mean_at_contact, "K", "trapezoidal mean through the thickness",
                  (transfer,), MARCH),
        Explained(
            "Heat into one blank", planned.plan.blank_energy, "J", "rho gauge area (H at the exit - H at the start)",
            (gauge, Given("blank", _blank_area(planned), "m2", PLAN), *heat), "enthalpy of the polymer's own data",
        ),
        Explained(
            "Heat for each kilogram", planned.plan.blank_energy / planned.plan.blank_mass, "J/kg",
            "heat into one blank / its mass",
            (Given("heat into it", planned.plan.blank_energy, "J", PLAN),
             Given("blank", planned.plan.blank_mass, "kg", PLAN)),
            "without the losses of the oven",
        ),
    )  # fmt: skip


def _preheat(heating: Heating) -> tuple[Given, ...]:
    if heating.preheat_upper is None:
        return ()
    return (
        Given("upper heaters of the preheat", heating.preheat_upper, "K", PLAN),
        Given("lower heaters of the preheat", heating.preheat_lower, "K", PLAN),
    )


def _blank_area(planned: PlannedCandidate) -> float:
    return planned.candidate.layout.blank_length * planned.candidate.layout.blank_width


def _cooling(planned: PlannedCandidate) -> tuple[Explained, ...]:
    cooling, case = planned.plan.cooling, cooling_case(planned.candidate, planned.plan.cooling.thickest_wall, 0.0)
    inputs = (
        Given("wall that governs, the thickest formed", cooling.thickest_wall, "m", PLAN),
        Given("mean when it meets the tool", planned.plan.heating.mean_at_contact, "K", PLAN),
        Given("film to the tool", case.tool_film, "W/m^2/K", MACHINE),
        Given("film of the air on the free side", case.free_film, "W/m^2/K", MACHINE),
        Given("air", case.air_temperature, "K", MACHINE),
        *_properties(planned, tool_temperature="K", demould_temperature="K"),
    )
    formula = "rho dH/dt = d/dx (k dT/dx) in the wall; films on both faces; until the hottest point may leave the tool"
    source = f"{MARCH}; {MALE_COOLING}" if _is_draped(planned) else MARCH
    return (Explained("Cooling on the tool", cooling.time, "s", formula, inputs, source),)


def _walls(planned: PlannedCandidate) -> tuple[Explained, ...]:
    part, thinning, candidate = planned.request.part, planned.plan.thinning, planned.candidate
    surface = Given("formed surface of one skin", part.surface_area, "m2", INQUIRY)
    gauge = Given("gauge", candidate.gauge, "m", PLAN)
    ratio = Given("areal draw ratio", thinning.areal_draw_ratio, "-", PLAN)
    plan = (Given("length", part.length, "m", INQUIRY), Given("width", part.width, "m", INQUIRY))
    share = Given("thinnest wall over gauge", thinning.thinnest_wall / candidate.gauge, "-", thinning.method)
    return (
        Explained("Areal draw ratio", thinning.areal_draw_ratio, "-", "A = surface/(length width), 1 at least",
                  (surface, *plan), "mass balance"),
        _mean_wall(planned, gauge, ratio),
        Explained("Thinnest wall", thinning.thinnest_wall, "m", "t = gauge x share", (gauge, share), thinning.method),
        *_low_end(planned),
        *_required_gauge(planned),
        *_beside_male(planned),
    )  # fmt: skip


def _is_draped(planned: PlannedCandidate) -> bool:
    return tool_side_of(planned.request.part, planned.candidate.process) == "male"


def _mean_wall(planned: PlannedCandidate, gauge: Given, ratio: Given) -> Explained:
    """Over a male tool sheet from beside the part comes to lie on it, so that it is thicker than gauge over ratio."""
    thinning = planned.plan.thinning
    if not _is_draped(planned):
        return Explained("Mean wall", thinning.mean_wall, "m", "t = gauge/A", (gauge, ratio), "mass balance")
    share = Given("mean wall over gauge", thinning.mean_wall / gauge.value, "-", thinning.method)
    formula = "t = gauge x share, the sheet that lies on the part over its surface"
    return Explained("Mean wall", thinning.mean_wall, "m", formula, (gauge, share), thinning.method)


def _beside_male(planned: PlannedCandidate) -> tuple[Explained, ...]:
    """What a male tool asks of the blank, and the part that takes sheet from beside it."""
    if not _is_draped(planned):
        return ()
    part, plan = planned.request.part, planned.plan
    depth, source = Given("depth", part.depth, "m", INQUIRY), "room for the sheet to web: common practice, no source"
    mass = (
        Given("formed surface of one skin", part.surface_area, "m2", INQUIRY),
        Given("mean wall", plan.thinning.mean_wall, "m", PLAN),
        _property(planned, "density", "kg/m3"),
    )
    return (
        Explained("Sheet between part and clamp", trim_width(part.depth, "male"), "m", "max(2 in, depth/4)", (depth,),
                  source),
        Explained("Sheet between two parts", cavity_gap(part.depth, "male"), "m", "max(1.5 in, depth)", (depth,),
                  source),
        Explained("Mass of one part, trimmed", plan.part_mass, "kg", "surface x mean wall x density", mass,
                  "mass balance"),
    )  # fmt: skip


def _low_end(planned: PlannedCandidate) -> tuple[Explained, ...]:
    """The wall that a rule holds against what is asked: on the thinnest sheet that the mill may send."""
    thinning, tolerance = planned.plan.thinning, planned.candidate.gauge_tolerance
    if not tolerance:
        return ()
    inputs = (
        Given("thinnest wall", thinning.thinnest_wall, "m", PLAN),
        Given("share by which sheet runs thin", tolerance, "share", "the sheet offer"),
    )
    name = "Thinnest wall at the low end of the gauge"
    return (
        Explained(name, thinning.thinnest_wall * (1 - tolerance), "m", "t (1 - tolerance)", inputs, thinning.method),
    )


def _web(planned: PlannedCandidate) -> tuple[Explained, ...]:
    """How the blank comes off the mill's web; the sheet is billed by its own mass, whatever is idle beside it."""
    layout, offer = planned.candidate.layout, planned.candidate.offer
    if offer is None:
        return ()
    cut = web_cut(layout.blank_length, layout.blank_width, offer.widest, offer.longest)
    inputs = (
        Given("blank across the web", cut.across, "m", PLAN),
        Given("blank along the web, the way it is extruded", cut.along, "m", PLAN),
        Given("widest web of the mill", offer.widest, "m", "the sheet offer"),
        Given("longest cut of the mill", offer.longest, "m", "the sheet offer"),
    )
    source = "the mill sets its die to the width ordered and bills the blanks alone: common practice, no source"
    lanes = Given("blanks side by side", cut.lanes, "count", PLAN)
    return (
        Explained("Blanks side by side on the web", cut.lanes, "count", "web / blank across, rounded down", inputs,
                  source),
        Explained("Width of the web in use", cut.width_used, "share", "side by side x blank across / web",
                  (lanes, *inputs), source),
    )  # fmt: skip


def _required_gauge(planned: PlannedCandidate) -> tuple[Explained, ...]:
    part, candidate = planned.request.part, planned.candidate
    if part.minimum_wall is None:
        return ()
    tolerance = candidate.gauge_tolerance
    own = walls_of(part, candidate.process, candidate.required_gauge * (1 - tolerance)).shares.thinnest
    inputs = (
        Given("least wall asked", part.minimum_wall, "m", INQUIRY),
        Given("thinnest wall over gauge", own, "-", planned.plan.thinning.method),
        Given("share by which sheet runs thin", tolerance, "-", "the sheet offer"),
    )
    formula = "gauge = wall/share / (1 - tolerance), then up to a stocked gauge"
    return (Explained("Gauge required", candidate.required_gauge, "m", formula, inputs, "mass balance"),)


def _sag_and_force(planned: PlannedCandidate) -> tuple[Explained, ...]:
    plan, candidate, part = planned.plan, planned.candidate, planned.request.part
    press = plan.press
    clamp = clamp_of(part, candidate.process, candidate.gauge)
    inside = "the blank less what the frame grips on both sides"
    spans = tuple(
        Given(f"free span {way} the platen", span, "m", inside)
        for way, span in zip(("along", "across"), free_spans(candidate.layout, clamp), strict=True)
    )
    sag_inputs = (*spans, *_properties(planned, density="kg/m3", hot_modulus="Pa"))
    pressure = Given("forming pressure", press.pressure, "Pa", "vacuum: machine data; box: common practice")
    area = Given("parts of one blank, seen along the draw", press.projected_area, "m2", PLAN)
    return (
        Explained("Sag", plan.sag, "m", "s^3 = 3 rho g/(64 E (1/La^4 + 1/Lb^4)): grows with span^(4/3); gauge cancels",
                  sag_inputs, "two crossed elastic strips that hang as parabolas, derived here"),
        Explained("Forming force", press.force, "N", "F = p A", (pressure, area), "projected area, not surface"),
        *_stored_energy(planned, pressure),
    )  # fmt: skip


def _stored_energy(planned: PlannedCandidate, pressure: Given) -> tuple[Explained, ...]:
    if planned.candidate.process != "pressure":
        return ()
    press = planned.plan.press
    volume = box_volume(press.box_area, drawn_depth(planned))
    inputs = (
        pressure,
        Given("area inside the seal", press.box_area, "m2", PLAN),
        Given("volume of the box", volume, "m3", "area x (drawn depth + head space): common practice, no source"),
    )
    source = "rise in internal energy, the larger of two estimates; a caution, not a rating of the box"
    energy = stored_air_energy(press.pressure, volume).most
    formula = "E = the larger of p V/(1.4 - 1) and (p + 1 atm) V ln(1 + p/1 atm)"
    return (Explained("Stored energy of the compressed air", energy, "J", formula, inputs, source),)


def _pace(planned: PlannedCandidate) -> tuple[Explained, ...]:
    plan, machine, layout = planned.plan, planned.candidate.machine, planned.candidate.layout
    cycle = plan.cycle
    stations = tuple(Given(station.name, station.time, "s", PLAN) for station in cycle.stations)
    index = Given("index time of the machine", machine.index_time, "s", MACHINE)
    formula = (
        "sum of the stations + 2 x index time"
        if machine.kind == "single_station_shuttle"
        else "half of what a pair of sheets takes"
        if cycle.blanks_per_part > 1
        else "longest station + index time"
    )
    return (
        Explained("Time between two blanks", cycle.index, "s", formula, (*stations, index), "how the machine turns"),
        Explained(
            "Parts an hour", cycle.parts_per_hour, "parts/h",
            "3600/(blanks a part x time between blanks) x cavities x efficiency",
            (Given("blanks a part", cycle.blanks_per_part, "count", PLAN),
             Given("time between two blanks", cycle.index, "s", PLAN),
             Given("cavities", layout.cavities, "count", PLAN),
             Given("efficiency", machine.efficiency, "share", MACHINE)),
            "how the machine turns",
        ),
        Explained(
            "Mass of one blank", plan.blank_mass, "kg", "length x width x gauge x density",
            (Given("blank", _blank_area(planned), "m2", PLAN), Given("gauge", planned.candidate.gauge, "m", PLAN),
             _property(planned, "density", "kg/m3")),
            "geometry",
        ),
    )  # fmt: skip
