"""Whether a customer's tool goes into the machine, by its size as typed; a new tool is built to the machine."""

from machines.press import force_on_lock
from quoting.intake.part import CustomerTool
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.rules.comparing import at_most
from quoting.routing.verdict import Verdict

MACHINE = "the machine's own data; the tool's size as the inquiry gives it"
NOT_KNOWN = (
    "whether the customer's tool fits {} is not assessed, as the size of its base is not given: it is measured before "
    "the move"
)


def tool_on_platen(planned: PlannedCandidate) -> Verdict:
    """The base is bolted to the platen, its longer side along the longer side of the part."""
    machine, tool = planned.candidate.machine, planned.request.tool
    known = base_known(tool)
    along, across = _as_laid(planned) if known else (0.0, 0.0)
    layout = planned.candidate.layout
    needed, given, side = min(
        (along, machine.platen_length, layout.part_along),
        (across, machine.platen_width, layout.part_across),
        key=lambda way: way[1] - way[0],
    )
    return at_most(
        "tool on platen",
        needed,
        given,
        "m",
        reason="in its tighter direction the base of the customer's tool is {measured} and the platen {limit}"
        if known
        else f"{_unsized(planned)}: {{measured}} of the platen's {{limit}} is counted",
        remedy="a machine with a platen of {measured}" + (", or the base cut back to {limit}" if given >= side else "")
        if known
        else "nothing",
        basis=MACHINE,
        condition=NOT_KNOWN.format("the platen") if _transferred(planned) and not known else None,
    )


def lock_holds_tool(planned: PlannedCandidate) -> Verdict:
    """Air seals on the tool's base, which may be larger than the blank would make it."""
    press, process, tool = planned.plan.press, planned.candidate.process, planned.request.tool
    known = base_known(tool)
    area = tool.length * tool.width if known else 0.0
    opening = force_on_lock(process, press.pressure, area)
    if not known:
        reason = f"{_unsized(planned)}: {{measured}} is counted and the lock holds {{limit}}"
    elif process == "vacuum":
        reason = "a vacuum does not open the platens: the lock must hold {measured} and holds {limit}"
    else:
        reason = (
            "{pressure} on the {area} of the customer's tool opens the platens with {measured}; the lock holds {limit}"
        )
    return at_most(
        "lock over customer's tool",
        opening,
        press.lock_force,
        "N",
        reason=reason,
        remedy="a machine whose lock holds {measured}, or a box that seals on less of the tool"
        if opening
        else "nothing",
        basis=MACHINE,
        pressure=(press.pressure, "Pa"),
        area=(area, "m2"),
    )


def _transferred(planned: PlannedCandidate) -> bool:
    return planned.request.tooling == "transfer"


def base_known(tool: CustomerTool) -> bool:
    """Whether the size of a tool's base is given, without which nothing of it is judged."""
    return tool.length is not None and tool.width is not None


def _unsized(planned: PlannedCandidate) -> str:
    if _transferred(planned):
        return "the base of the customer's tool is not given"
    return "a new tool is built to the machine"


def _as_laid(planned: PlannedCandidate) -> tuple[float, float]:
    """Base along and across the platen: it turns with the part."""
    tool = planned.request.tool
    sides = (tool.length, tool.width)
    return sides[::-1] if planned.candidate.layout.turned else sides
