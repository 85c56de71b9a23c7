"""The sheet in the oven and on the tool: does it reach its window, does it hang too far, does it set."""

from machines.machine import Machine
from materials.polymer import Polymer
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.rules.comparing import COMMON, at_most, verdict
from quoting.routing.rules.referring import FABRICATED, ROTATIONAL
from quoting.routing.verdict import Verdict

SAG_SHARE = 0.10  # of the shorter span, above it the hang is watched: common practice, no source
HOLLOW_FILM = 10.0  # W/(m2 K), still air inside a twin-sheet hollow: from memory, unverified
WHY = {
    "": "the oven brings it into its window",
    "skin": "the skin scorches before the core is ready",
    "core": "even the gentlest setting scorches the skin, or the core is not ready in time",
    "power": "the hottest setting never reaches the window",
}


def oven_reaches_window(planned: PlannedCandidate) -> Verdict:
    """The core must be warm enough before the skin is burnt."""
    heating, gauge = planned.plan.heating, planned.candidate.gauge
    most = gauge if heating.reaches_window else heating.thickest_gauge or 0.0
    return verdict(
        "oven reach",
        heating.reaches_window,
        gauge,
        most,
        "m",
        reason=f"the sheet is {{measured}} thick and {WHY[heating.limited_by]}; the oven is good for {{limit}} at least"
        if heating.reaches_window
        else f"the sheet is {{measured}} thick and {WHY[heating.limited_by]}; of this polymer the oven heats {{limit}}"
        if most > 0
        else f"the sheet is {{measured}} thick and {WHY[heating.limited_by]}; of this polymer the oven heats "
        "no stocked gauge ({limit})",
        remedy="a gauge of {limit}, or an oven with another range of heater temperatures"
        if most > 0
        else "an oven with another range of heater temperatures",
        basis="one-dimensional heating of the sheet against the polymer's own window",
        referral=ROTATIONAL if planned.request.part.enclosed else FABRICATED,
    )


def sag_clears_heaters(planned: PlannedCandidate) -> Verdict:
    """A sheet that hangs onto the lower heaters scorches or tears; the wide, soft and heavy ones do it first."""
    sag, layout = planned.plan.sag, planned.candidate.layout
    span = min(layout.blank_length, layout.blank_width)
    return at_most(
        "sag in the oven",
        sag,
        planned.candidate.machine.oven.clearance_below,
        "m",
        reason="the hot sheet hangs {measured} below the clamp frame; the oven has {limit} there",
        remedy="a stiffer polymer, a smaller blank, or an oven with {measured} under the frame",
        basis=f"crossed elastic strips; clearance: the machine's own data; share of the span: {COMMON}",
        condition="the hot sheet hangs {measured} over a span of {span}: its heating is proved at first article"
        if sag > SAG_SHARE * span * (1 + 1e-9)
        else None,
        span=(span, "m"),
    )


def hottest_when_settled(machine: Machine, polymer: Polymer, wall: float, free_film: float) -> float:
    """Temperature that the hottest point of a wall settles at on the tool, however long it stays.

    Heat flows from the warmer side to the cooler through both films and the wall, so the profile is straight:
    ``U = 1 / (1/tool_film + wall/conductivity + 1/free_film)``, face = medium -/+ ``U * difference / film``.

    Parameters
    ----------
    machine : Machine
        Its films [W/(m2 K)] and cooling air [K].
    polymer : Polymer
        Its conductivity [W/(m K)] and tool temperature [K].
    wall : float
        [m], above 0.
    free_film : float
        On the face away from the tool [W/(m2 K)], above 0.

    Returns
    -------
    temperature : float
        [K]
    """
    tool, air = polymer.tool_temperature, machine.cooling_air_temperature
    through = 1 / (1 / machine.tool_film_coefficient + wall / polymer.conductivity + 1 / free_film)
    flow = through * (tool - air)
    return max(tool - flow / machine.tool_film_coefficient, air + flow / free_film)


def sets_on_tool(planned: PlannedCandidate) -> Verdict:
    """A part that never cools to its demould temperature never leaves the tool."""
    candidate, cooling = planned.candidate, planned.plan.cooling
    film = HOLLOW_FILM if candidate.process == "twin_sheet" else candidate.machine.cooling_film_coefficient
    settled = hottest_when_settled(candidate.machine, candidate.polymer, cooling.thickest_wall, film)
    return verdict(
        "demould temperature",
        settled < cooling.demould_temperature,
        settled,
        cooling.demould_temperature,
        "K",
        reason="on the tool the part settles at {measured} in its hottest place; it may leave below {limit}",
        remedy="a cooler tool, cooler air, or a polymer that may leave the tool above {measured}",
        basis="steady heat flow through the wall; demould temperature from the polymer's data",
    )
