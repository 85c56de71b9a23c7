"""The sheet in the oven and on the tool: does it reach its window, does it hang too far, does it set."""

from materials.cooling import LONGEST_COOLING, resting_temperature
from materials.sag import WATCHED_RATIO, sag_ratio, span_share_for
from quoting.intake.fields import SHORTEST_SIDE
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.heat_plan import GOOD_TO, cooling_case
from quoting.routing.nesting import clamp_of, free_spans
from quoting.routing.rules.comparing import COMMON, at_least, at_most, either, not_assessed, reaches, verdict
from quoting.routing.rules.depth import TOOL_BASE, drawn_depth
from quoting.routing.rules.other_tool import on_other_tool
from quoting.routing.rules.referring import FABRICATED, ROTATIONAL
from quoting.routing.verdict import Verdict

TOOL_ABOVE = "the tool hangs above the sheet line, so that the sheet sags away from it"
WAY_BASIS = (
    "the sheet marched through open air (film of slow air: from memory, unverified) against its own forming window, "
    "half a kelvin, to which the march is good, forgiven"
)
QUICKER = "a quicker way to the tool, or a polymer with a wider forming window"
QUICKER_OR_THICKER = "a quicker way to the tool, a gauge of {thicker}, or a polymer with a wider forming window"
NO_BLANK = "no blank hangs that little"
MOST_STIFFER = 100.0  # hot sheet has 0.05 to 5 MPa: from memory of thermoforming handbooks, unverified
WHY = {
    "": "the oven brings it into its window",
    "skin": "the skin scorches before the core is ready",
    "core": "even the gentlest setting scorches the skin, or the core is not ready in time",
    "power": "the hottest setting never reaches the window",
}


def oven_reaches_window(planned: PlannedCandidate) -> Verdict:
    """The core must be warm enough before the skin is burnt."""
    heating, gauge = planned.plan.heating, planned.candidate.gauge
    reached = heating.mean_at_contact is not None  # what becomes of it on the way to the tool is another rule's matter
    most = gauge if reached else heating.thickest_gauge or 0.0
    other, figures = on_other_tool(planned, most) if not reached and most > 0 else ("", {})
    return verdict(
        "oven reach",
        reached,
        gauge,
        most,
        "m",
        reason=f"the sheet is {{measured}} thick and {WHY['']}; the oven is good for {{limit}} at least"
        if reached
        else f"the sheet is {{measured}} thick and {WHY[heating.limited_by]}; of this polymer the oven heats {{limit}}"
        if most > 0
        else f"the sheet is {{measured}} thick and {WHY[heating.limited_by]}; of this polymer the oven heats "
        "no stocked gauge ({limit})",
        remedy="a gauge of {limit}, or an oven with another range of heater temperatures" + other
        if most > 0
        else "an oven with another range of heater temperatures",
        basis="one-dimensional heating of the sheet against the polymer's own window",
        referral=ROTATIONAL if planned.request.part.enclosed else FABRICATED,
        **figures,
    )


def heat_left_at_tool(planned: PlannedCandidate) -> Verdict:
    """Between oven and tool the skin cools; it must still be warm enough to form, and may not be scorched for it."""
    heating, polymer = planned.plan.heating, planned.candidate.polymer
    needed, scorch = polymer.lower_forming_temperature - GOOD_TO, polymer.upper_forming_temperature + GOOD_TO
    thicker, remedy, figures = heating.thicker_gauge, QUICKER, {}
    if thicker is not None:
        remedy, figures = QUICKER_OR_THICKER, {"thicker": (thicker, "m")}
    if heating.coldest_at_contact is None:
        return not_assessed(
            "heat at the tool", planned.plan.heating.core_at_exit, needed, "K",
            "the oven does not bring the sheet into its window (its core leaves it at {measured}), so that nothing is "
            "said of it at the tool, where {limit} is needed", "first of all an oven that reaches its window",
        )  # fmt: skip
    if not reaches(scorch, heating.surface_peak):
        return at_most(
            "heat at the tool",
            heating.surface_peak,
            scorch,
            "K",
            reason="to be warm enough at the tool, {transfer} after the oven, the skin would have to go to {measured}; "
            "it scorches at {limit}",
            remedy=remedy,
            basis=WAY_BASIS,
            transfer=(heating.transfer_time, "s"),
            **figures,
        )
    return at_least(
        "heat at the tool",
        heating.coldest_at_contact,
        needed,
        "K",
        reason="{transfer} after the oven the coldest point is {measured}; to be formed it must be {limit}",
        remedy=remedy,
        basis=WAY_BASIS,
        transfer=(heating.transfer_time, "s"),
        **figures,
    )


def sag_clears_heaters(planned: PlannedCandidate) -> Verdict:
    """A sheet that hangs onto the lower heaters scorches or tears; the wide, soft and heavy ones do it first."""
    sag, spans = planned.plan.sag, free_spans(planned.candidate.layout, _clamp(planned))
    clearance = planned.candidate.machine.oven.clearance_below
    remedy, figures = _hang_less(planned, clearance, "an oven with {measured} under the frame")
    return at_most(
        "sag in the oven",
        sag,
        clearance,
        "m",
        reason="the hot sheet hangs {measured} below the clamp frame; the oven has {limit} there",
        remedy=remedy,
        basis=f"crossed elastic strips; clearance: the machine's own data; share of the span: {COMMON}",
        condition="the hot sheet hangs {measured} over a span of {span}: its heating is proved at first article"
        if not reaches(WATCHED_RATIO, sag_ratio(sag, *spans))
        else None,
        span=(min(spans), "m"),
        **figures,
    )


def sag_over_tool(planned: PlannedCandidate) -> Verdict:
    """A hot sheet that comes to the forming station must not drag over a tool that stands below it.

    Under the sheet line the machine takes a tool of ``tool_height_below``; what the tool with its base leaves of that
    is the room for the sag. One tool may hang above instead, and then the whole of it is free; twin-sheet needs a
    tool below.
    """
    sag, machine = planned.plan.sag, planned.candidate.machine
    tool = drawn_depth(planned) + TOOL_BASE
    standing = max(machine.tool_height_below - tool, 0.0)
    may_hang = planned.candidate.process != "twin_sheet" and _takes_tool_above(planned, tool)
    hangs = may_hang and not reaches(standing, sag)
    room = machine.tool_height_below if hangs else standing
    remedy, figures = _hang_less(planned, room, "a machine with {needed} under the sheet line")
    return at_most(
        "sag over the tool",
        sag,
        room,
        "m",
        reason="the hot sheet hangs {measured} under a tool that hangs above it; below the sheet line {limit} is free"
        if hangs
        else "the hot sheet hangs {measured} as it comes to the tool; of {height} under the sheet line a tool and base "
        "of {tool} leave {limit}",
        remedy=remedy,
        basis=f"crossed elastic strips; tool height: the machine's own data; base of the tool: {COMMON}",
        condition=TOOL_ABOVE if hangs else None,
        tool=(tool, "m"),
        height=(machine.tool_height_below, "m"),
        needed=(sag if hangs else tool + sag, "m"),
        **figures,
    )


def _takes_tool_above(planned: PlannedCandidate, tool: float) -> bool:
    machine = planned.candidate.machine
    return reaches(machine.tool_height_above, tool) and reaches(machine.draw_depth_above, drawn_depth(planned))


def _hang_less(planned: PlannedCandidate, room: float, other: str) -> tuple[str, dict[str, tuple[float, str]]]:
    """What lets a sheet hang no further than ``room`` [m]: the blank that would, how much stiffer a polymer, or other.

    The blank is this one scaled inside its clamps in both directions, by the growth of elastic sag with size.
    """
    sag, clamp = planned.plan.sag, _clamp(planned)
    if reaches(room, sag):
        return "none is needed", {}
    if room <= 0:
        return f"{other}; {NO_BLANK}", {}
    layout, share, stiffer = planned.candidate.layout, span_share_for(sag, room), (sag / room) ** 3
    length, width = (share * span + 2 * clamp for span in free_spans(layout, clamp))
    least = SHORTEST_SIDE + 2 * layout.margin
    blank = "a blank of at most {length} x {width}" if min(length, width) >= least else ""
    polymer = "a polymer {stiffer} times as stiff when hot" if stiffer <= MOST_STIFFER else ""
    if not blank and not polymer:
        return f"{other}; {NO_BLANK}", {}
    return (
        either(blank, polymer, other),
        {"length": (length, "m"), "width": (width, "m"), "stiffer": (stiffer, "-")},
    )


def _clamp(planned: PlannedCandidate) -> float:
    return clamp_of(planned.request.part, planned.candidate.process, planned.candidate.gauge)


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
