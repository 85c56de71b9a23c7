"""A forming study with plausible invented numbers: ABS, 0.187 in, heated on both sides, formed into a female tool."""

from dataclasses import replace
from math import exp

from quoting.routing.study import (
    Depth,
    Explained,
    FormingStudy,
    Given,
    HeatingStudy,
    Moment,
    Phase,
    SagEffect,
    ToolEffect,
    WallPlace,
    WallsByMethod,
)
from quoting.words import words

KELVIN = 273.15
GAUGE = 0.00475  # m
PREHEAT, INDEX, OVEN, TRANSFER = 80.0, 89.0, 165.0, 180.0  # s, ends of the phases


def skin(time: float) -> float:
    """Temperature of the upper skin [degC]: it rises in the heat and eases off where the heaters are away."""
    if time <= PREHEAT:
        return 22 + 108 * (1 - exp(-time / 45)) / (1 - exp(-PREHEAT / 45))
    if time <= INDEX:
        return 130 - 9 * (time - PREHEAT) / (INDEX - PREHEAT)
    if time <= OVEN:
        return 121 + 49 * (1 - exp(-(time - INDEX) / 45)) / (1 - exp(-(OVEN - INDEX) / 45))
    return 170 - 17 * (1 - exp(-(time - OVEN) / 6))


def middle(time: float) -> float:
    """Temperature of the mid-plane [degC], which lags behind the skin."""
    return min(22 + 122 * (time / TRANSFER) ** 1.05, 144)


def moment(time: float, lag: float = 0.0) -> Moment:
    upper, core = skin(time) + KELVIN, middle(time) + KELVIN
    lower = upper - lag * time / TRANSFER
    return Moment(time, upper, core, lower, (upper + 4 * core + lower) / 6, min(core, lower, upper), max(upper, lower))


def profile(face: float, core: float) -> tuple[Depth, ...]:
    """A parabola through the thickness, the same on both faces."""
    return tuple(
        Depth(GAUGE * step / 20, core + KELVIN + (face - core) * ((step - 10) / 10) ** 2) for step in range(21)
    )


def heating(lag: float = 0.0) -> HeatingStudy:
    return HeatingStudy(
        phases=(
            Phase("preheat", 0.0, PREHEAT), Phase("index", PREHEAT, INDEX), Phase("oven", INDEX, OVEN),
            Phase("transfer", OVEN, TRANSFER),
        ),
        curve=tuple(moment(float(time), lag) for time in range(0, 181, 3)),
        exit_profile=profile(170.0, 140.0),
        contact_profile=profile(154.0, 144.0),
        lower_forming_temperature=127.0 + KELVIN,
        normal_forming_temperature=150.0 + KELVIN,
        upper_forming_temperature=182.0 + KELVIN,
    )  # fmt: skip


def on_the_tool(time: float) -> Moment:
    """Cooling of the wall that governs: quick on the tool side, slow on the free side."""
    free, core, tool = 62 + 88 * exp(-time / 42), 60 + 86 * exp(-time / 34), 58 + 80 * exp(-time / 22)
    return Moment(
        time, free + KELVIN, core + KELVIN, tool + KELVIN, (free + core + tool) / 3 + KELVIN, tool + KELVIN,
        free + KELVIN,
    )  # fmt: skip


def places(web: float, rim: float, side: float, base: float, edge: float, corner: float) -> tuple[WallPlace, ...]:
    names = ("web", "rim", "side", "base", "edge", "corner")
    return tuple(
        WallPlace(name, wall / 1000) for name, wall in zip(names, (web, rim, side, base, edge, corner), strict=True)
    )


FEMALE = places(4.7, 3.9, 3.0, 2.4, 1.95, 1.5)
METHODS = (
    WallsByMethod("female", FEMALE, 0.0015, True),
    WallsByMethod("female with plug", places(4.7, 3.6, 2.8, 2.7, 2.3, 1.9), 0.0019, False,
                  "no plug is in the tooling price; it would add about 1,200 dollars"),
    WallsByMethod("pre-stretch", places(4.6, 3.2, 2.7, 2.6, 2.2, 1.85), 0.00185, False,
                  "the machine has no air cushion under the sheet"),
    WallsByMethod("male", places(4.4, 1.7, 2.2, 4.4, 3.4, 2.9), 0.0017, False,
                  "the side that shows would not touch the tool"),
)  # fmt: skip
TOOLS = (
    ToolEffect("cast aluminium, cooled", 338.15, 480.0, 71.0, True),
    ToolEffect("machined aluminium, cooled", 333.15, 620.0, 63.0, False),
    ToolEffect("cast aluminium, warm", 348.15, 480.0, 92.0, False),
    ToolEffect("epoxy", 343.15, 110.0, 168.0, False),
    ToolEffect("wood pattern", 363.15, 45.0, None, False),
)
SAGS = (
    SagEffect(words("as planned"), 0.11, 165.0, True),
    SagEffect(words("both heaters {change} cooler", change=(40.0, "delta_K")), 0.098, 214.0, True),
    SagEffect(words("both heaters {change} hotter", change=(40.0, "delta_K")), 0.124, 139.0, False),
)


def number(name: str, value: float, unit: str, formula: str, *inputs: Given, source: str = "") -> Explained:
    return Explained(name, value, unit, formula, inputs, source or "one-dimensional conduction through the sheet")


GAUGE_GIVEN = Given("starting gauge", GAUGE, "m", "sheet offer")
DIFFUSIVITY = Given("diffusivity", 1.2e-7, "m2/s", "polymer file: from memory, unverified")
NUMBERS = (
    number("Biot number at the upper skin", 0.74, "-", "Bi = h (gauge / 2) / k", GAUGE_GIVEN,
           Given("film, radiation and air", 56.0, "W/m2/K", "oven of the machine"),
           Given("conductivity", 0.18, "W/m/K", "polymer file: from memory, unverified")),
    number("Fourier number at exit", 3.5, "-", "Fo = a t / (gauge / 2)^2", DIFFUSIVITY, GAUGE_GIVEN),
    number("heating time", 156.0, "s", "time in preheat + time in oven", Given("preheat", 80.0, "s", "recipe"),
           Given("oven", 76.0, "s", "recipe")),
    number("rule of thumb for heating", 160.0, "s", "t = c gauge^1.3", GAUGE_GIVEN,
           source="common practice, no source"),
    number("hottest point", 443.15, "K", "highest temperature of any depth and time"),
    number("mean at tool contact", 420.6, "K", "mean over the depth"),
    number("difference skin to core at contact", 10.0, "delta_K", "T skin - T core"),
    number("sag", 0.11, "m", "membrane under its own weight", GAUGE_GIVEN,
           Given("hot modulus", 2.0e6, "Pa", "polymer file: from memory, unverified")),
    number("areal draw ratio", 1.94, "-", "formed surface / footprint", Given("formed surface", 1.40, "m2", "inquiry"),
           Given("footprint", 0.7226, "m2", "inquiry")),
    number("mean wall", 0.00245, "m", "gauge / areal draw ratio", GAUGE_GIVEN, source="mass balance"),
    number("cooling time", 71.0, "s", "until the hottest point may leave the tool",
           Given("film to the tool", 480.0, "W/m2/K", "machine file")),
    number("forming force", 63600.0, "N", "pressure x projected area", Given("pressure", 88000.0, "Pa", "machine"),
           Given("projected area", 0.7226, "m2", "inquiry")),
    number("energy stored in the box", 18500.0, "J", "p V ln(p / p0)", Given("pressure", 517000.0, "Pa", "machine")),
    number("energy into the blank", 1.29e6, "J", "mass x enthalpy difference", Given("blank", 4.78, "kg", "nesting")),
    number("shrinkage of the longest side", 0.0061, "m", "length x shrinkage", Given("length", 1.016, "m", "inquiry")),
)  # fmt: skip


def study(lag: float = 0.0, **changed: object) -> FormingStudy:
    """The sample; ``lag`` leaves the lower skin that much cooler at the end [K]."""
    whole = FormingStudy(
        heating(lag), tuple(on_the_tool(float(t)) for t in range(0, 73)), FEMALE, METHODS, TOOLS, SAGS, NUMBERS
    )
    return replace(whole, **changed)
