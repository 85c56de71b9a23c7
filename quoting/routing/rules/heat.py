"""The sheet in the oven and on the tool: does it reach its window, does it hang too far, does it set."""

from materials.cooling import LONGEST_COOLING, resting_temperature
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.heat_plan import cooling_case
from quoting.routing.rules.comparing import COMMON, at_most, verdict
from quoting.routing.rules.referring import FABRICATED, ROTATIONAL
from quoting.routing.verdict import Verdict

SAG_SHARE = 0.10  # of the shorter span, above it the hang is watched: common practice, no source
WHY = {
    "": "the oven brings it into its window",
    "skin": "the skin scorches before the core is ready",
    "core": "even the gentlest setting scorches the skin, or the core is not ready in time",
    "power": "the hottest setting never reaches the window",
    "transfer": "it cools too far on its way to the tool, unless its skin is scorched in the oven",
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


def sets_on_tool(planned: PlannedCandidate) -> Verdict:
    """A part that never cools to its demould temperature never leaves the tool."""
    cooling = planned.plan.cooling
    settled = resting_temperature(cooling_case(planned.candidate, cooling.thickest_wall, cooling.demould_temperature))
    cools = settled < cooling.demould_temperature
    return verdict(
        "demould temperature",
        cools and cooling.time < LONGEST_COOLING,
        settled,
        cooling.demould_temperature,
        "K",
        reason="on the tool the part settles at {measured} in its hottest place; it may leave at {limit}"
        if not cools or cooling.time < LONGEST_COOLING
        else "the part settles at {measured} and may leave the tool at {limit}, which takes longer than {time}",
        remedy="a cooler tool, cooler air, a thinner wall, or a polymer that may leave the tool above {measured}",
        basis="steady heat flow through the wall; demould temperature from the polymer's data",
        time=(LONGEST_COOLING, "s"),
    )
