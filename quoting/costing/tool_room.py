"""What hours the tools of a programme take in our own tool room, where the plant that forms has one."""

from quoting.catalog import Rates, Sources, ToolRoomRate
from quoting.costing.lines import ToolRoom, ToolRoomLine
from quoting.costing.money import INQUIRY, CannotPriceError, given, loose
from quoting.costing.tooling import SQUARE_FOOT, kinds_needed, size_inputs, size_scale, textured_faces, tooling_rate
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.recalled import Recalled

FITTED = "fitting at the reference size x ((length + depth)(width + depth) / reference area)^0.8"
NO_RATES = "no rates say how many hours tools take in a tool room (tool_room.*)"
NO_ROOM = "the plant has no tool room: its tools are bought outside, and the load is on none of ours"


def tool_room_of(planned: PlannedCandidate, rates: Rates, recalled: Recalled) -> ToolRoom:
    """Hours in the tool room of the plant that forms, tool by tool; none where it has no tool room.

    Their cost is in the price of the tools.

    Parameters
    ----------
    planned : PlannedCandidate
        The candidate with its plan [-].
    rates : Rates
        Rates in force [-].
    recalled : Recalled
        What the answer worked out for other candidates [-].

    Returns
    -------
    room : ToolRoom
        [h]
    """
    plant = planned.candidate.plant
    if not plant.tool_room_places or rates.tool_room is None:
        return ToolRoom(plant.code, plant.tool_room_places, 0.0, (), NO_ROOM if rates.tool_room else NO_RATES)
    lines = tool_room_lines(planned, rates, recalled)
    return ToolRoom(plant.code, plant.tool_room_places, sum(one.hours for one in lines), lines)


def tool_room_lines(planned: PlannedCandidate, rates: Rates, recalled: Recalled) -> tuple[ToolRoomLine, ...]:
    """Hours that each tool takes in a tool room: ``fitting x ((L+H)(W+H)/reference)^0.8 x (1 + share x (cavities - 1))
    + try-out``; texture by its area and moving sections by their number; a customer's tool is inspected and fitted.

    Parameters
    ----------
    planned : PlannedCandidate
        The candidate with its plan [-].
    rates : Rates
        Rates in force, those of the tool room among them [-].
    recalled : Recalled
        What the answer worked out for other candidates [-].

    Returns
    -------
    lines : tuple of ToolRoomLine
        [h]

    Raises
    ------
    CannotPriceError
        A tool has no rate.
    """
    candidate, plan = planned.candidate, planned.plan
    about = planned.request, candidate.process, candidate.polymer.semicrystalline, candidate.layout.cavities
    parts = (*about, plan.trim.trimmer, plan.thinning.plug, rates)
    return recalled.by(parts, _tool_room_lines, planned, rates, rates.told)


def _tool_room_lines(planned: PlannedCandidate, rates: Rates, sources: Sources) -> tuple[ToolRoomLine, ...]:
    tools = tuple(_tool(planned, kind, rates, sources) for kind in kinds_needed(planned, rates))
    if planned.request.tooling == "transfer":
        hours = rates.tool_room.transferred_tool
        basis = "inspection and fitting of the customer's tool, which is not made here"
        rate = given("customer's tool", hours, "h", sources.of("tool_room.transferred_tool"))
        return (ToolRoomLine("transferred_tool", hours, basis, (rate,)), *tools)
    return (tools[0], *_shape(planned, rates, sources), *tools[1:])


def _tool(planned: PlannedCandidate, kind: str, rates: Rates, sources: Sources) -> ToolRoomLine:
    part, cavities, price = planned.request.part, planned.candidate.layout.cavities, tooling_rate(kind, rates)
    rate = _rate(kind, rates)
    scale = size_scale(price, part.length, part.width, part.depth)
    more = 1 + loose(price.cavity_share) * (cavities - 1)
    basis, key = FITTED, f"tool_room.{kind}"
    if cavities > 1:
        basis += f" x (1 + {price.cavity_share} for each of {cavities - 1} further cavities)"
    inputs = (
        given("fitting at the reference size", rate.fitting, "h", sources.of(f"{key}.fitting")),
        *size_inputs(planned.request, cavities, price, sources),
        given("try-out and corrections", rate.try_out, "h", sources.of(f"{key}.try_out")),
    )
    return ToolRoomLine(kind, rate.fitting * scale * more + rate.try_out, f"{basis} + try-out", inputs)


def _rate(kind: str, rates: Rates) -> ToolRoomRate:
    for rate in rates.tool_room.tools:
        if rate.name == kind:
            return rate
    raise CannotPriceError(f"no hours in the tool room for {kind}")


def _shape(planned: PlannedCandidate, rates: Rates, sources: Sources) -> tuple[ToolRoomLine, ...]:
    """What the shape adds to a new forming tool, as ``tooling.shape_lines`` prices it."""
    part, cavities, work, lines = planned.request.part, planned.candidate.layout.cavities, rates.tool_room, []
    if part.texture_depth > 0:
        faces = textured_faces(part, planned.candidate.process)
        hours = cavities * faces * part.surface_area / loose(SQUARE_FOOT) * work.texture_per_square_foot
        inputs = (
            given("formed surface of one skin", part.surface_area, "m2", INQUIRY),
            given("textured faces", faces, "-"),
            given("hours of a square foot", work.texture_per_square_foot, "h",
                  sources.of("tool_room.texture_per_square_foot")),
            given("cavities", cavities, "-"),
        )  # fmt: skip
        lines.append(
            ToolRoomLine("texture", hours, "cavities x textured faces x surface x hours of a square foot", inputs)
        )
    if part.undercuts:
        inputs = (
            given("undercuts", part.undercuts, "-", INQUIRY),
            given("fitting of a moving section", work.moving_section, "h", sources.of("tool_room.moving_section")),
            given("cavities", cavities, "-"),
        )
        hours = cavities * part.undercuts * work.moving_section
        lines.append(ToolRoomLine("moving_sections", hours, "cavities x undercuts x hours of a moving section", inputs))
    return tuple(lines)
