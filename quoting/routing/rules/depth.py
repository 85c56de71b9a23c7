"""How deep the part is drawn, and what the sheet is left with."""

from machines.envelope import draw_depth, tool_height
from materials.sheet import INCH
from quoting.intake.fields import SHORTEST_SIDE
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.nesting import formed_depth
from quoting.routing.rules.comparing import COMMON, LEAST_CHANGE, at_least, at_most, reaches
from quoting.routing.rules.detail import is_draped
from quoting.routing.rules.gauge import THICKEST
from quoting.routing.rules.other_tool import male_possible, on_other_tool
from quoting.routing.rules.referring import LAY_UP, moulding_for
from quoting.routing.verdict import Verdict
from quoting.routing.wall_plan import AREAL_PLUG, DEPTH_PLUG, MALE_DEPTH_MOST, bubble_helps, depth_ratio

TOOL_BASE = 4 * INCH  # plate and box under the tool: common practice, no source
AREAL_LIMIT = {"vacuum": 4.0, "pressure": 4.0, "twin_sheet": 3.0}  # common practice, no source
DEPTH_LIMIT = {"vacuum": 1.0, "pressure": 1.0, "twin_sheet": 0.5}
DEPTH_BASIS = (
    '"Limitations of vacuum forming", a fabricator (75 % without a plug); "Design Guidelines", a thermoformer '
    "(under 1 to 1); twin-sheet half: common practice, no source"
)
TOOL_NOT_MEASURED = (
    "whether the customer's tool passes the machine is not assessed, as its height is not given; {measured} is taken "
    "from the part: it is measured before the move"
)
MALE_DEPTH_BASIS = (
    f"a male tool draws 1 to 1, and {MALE_DEPTH_MOST:g} to 1 with the sheet blown up first: {COMMON}; pockets as in a "
    "female tool"
)
BUBBLE = "the sheet is blown up before it is laid over the male tool: it is proved at first article"
PLUG = "the part is formed with plug assist; the plug is in the tooling"


def drawn_depth(planned: PlannedCandidate) -> float:
    """Depth that one sheet of this candidate is drawn [m]."""
    return formed_depth(planned.request.part.depth, planned.candidate.process == "twin_sheet")


def draw_depth_of_machine(planned: PlannedCandidate) -> Verdict:
    """The platens move only so far."""
    twin = planned.candidate.process == "twin_sheet"
    most = draw_depth(planned.candidate.machine, both_sides=twin)
    return at_most(
        "draw depth",
        drawn_depth(planned),
        most,
        "m",
        reason="the sheet is drawn {measured} deep and the machine draws {limit}",
        remedy="a machine that draws {measured}" + _or_shallower("{limit}", most, twin),
        basis="the machine's own data",
        referral=_deep(planned),
    )


def tool_in_daylight(planned: PlannedCandidate) -> Verdict:
    """The tool stands on its base; both must pass between platen and sheet line."""
    twin = planned.candidate.process == "twin_sheet"
    room = tool_height(planned.candidate.machine, both_sides=twin)
    if planned.request.tool.height is not None:
        return _customers_tool(planned.request.tool.height, room, drawn_depth(planned))
    return at_most(
        "tool height",
        drawn_depth(planned) + TOOL_BASE,
        room,
        "m",
        reason="the tool with its base of {base} stands {measured} tall and the machine takes {limit}",
        remedy="a machine that takes a tool of {measured}" + _or_shallower("{depth}", room - TOOL_BASE, twin),
        basis="the machine's own data; base of the tool: common practice, no source",
        referral=_deep(planned),
        condition=TOOL_NOT_MEASURED if planned.request.tooling == "transfer" else None,
        base=(TOOL_BASE, "m"),
        depth=(max(room - TOOL_BASE, 0.0), "m"),
    )


def _or_shallower(depth: str, offered: float, twin: bool) -> str:
    """A shallower part as a further remedy, by the name of its figure; nothing where no part would be so shallow."""
    return f", or a part of {depth} depth" + (" for each sheet" if twin else "") if offered >= SHORTEST_SIDE else ""


def _customers_tool(height: float, room: float, drawn: float) -> Verdict:
    """The tool that there is, as tall as it is; its base can be lowered by no more than stands under the part."""
    return at_most(
        "tool height",
        height,
        room,
        "m",
        reason="the customer's tool with its base stands {measured} tall and the machine takes {limit}",
        remedy="a machine that takes a tool of {measured}"
        + (", or a base that is {over} lower" if room > drawn else ""),
        basis="the machine's own data; the tool's height as the inquiry gives it",
        over=(max(height - room, LEAST_CHANGE), "m"),
    )


def areal_draw(planned: PlannedCandidate) -> Verdict:
    """The sheet is stretched to the formed surface; beyond the limit walls get too thin to foresee."""
    process = planned.candidate.process
    part, ratio, limit = planned.request.part, planned.plan.thinning.areal_draw_ratio, AREAL_LIMIT[process]
    return at_most(
        "areal draw ratio",
        ratio,
        limit,
        "-",
        reason="the formed surface is {measured} times the sheet that feeds it; {limit} is the most for this process",
        remedy="a shallower or wider part: at this plan size the formed surface may be {surface}",
        basis=COMMON,
        condition=_helped(planned, ratio > AREAL_PLUG * (1 + 1e-9)),
        referral=moulding_for(planned.request),
        surface=(limit * part.length * part.width, "m2"),
    )


def depth_over_width(planned: PlannedCandidate) -> Verdict:
    """Depth over the smallest opening, of the part or of a pocket in it: deeper ones thin at the bottom corners."""
    process, part, drawn = planned.candidate.process, planned.request.part, drawn_depth(planned)
    if is_draped(planned):
        return _over_male_tool(planned)
    ratio, limit = depth_ratio(part, drawn), DEPTH_LIMIT[process]
    whole = drawn / min(part.length, part.width)
    deep, wide = (drawn, min(part.length, part.width)) if ratio == whole else (part.pocket.depth, part.pocket.width)
    male = ratio == whole and process != "twin_sheet" and not reaches(limit, ratio) and male_possible(part)
    return at_most(
        "depth over width",
        ratio,
        limit,
        "-",
        reason="the drawn depth is {measured} times the smaller side; {limit} is the most for this process"
        if ratio == whole
        else "a pocket of the model is {deep} deep in an opening of {wide}, {measured} times; {limit} is the most for "
        "this process",
        remedy=_wider_or_shallower(ratio == whole, process == "twin_sheet")
        + ("; on a male tool, the sheet blown up first: {male} times" if male else ""),
        basis=DEPTH_BASIS
        if ratio == whole
        else f"{DEPTH_BASIS}; the pocket is measured on a grid of 1/200 of the part's length",
        condition=_helped(planned, ratio > DEPTH_PLUG * (1 + 1e-9)),
        referral=moulding_for(planned.request),
        width=(deep / limit, "m"),
        depth=(limit * wide, "m"),
        **({} if ratio == whole else {"deep": (deep, "m"), "wide": (wide, "m")}),
        **({"male": (MALE_DEPTH_MOST, "-")} if male else {}),
    )


def _over_male_tool(planned: PlannedCandidate) -> Verdict:
    """The sheet stretches down its outside, which stands more depth; between its ribs it is drawn as into a pocket."""
    part, process = planned.request.part, planned.candidate.process
    cases = [(part.depth, min(part.length, part.width), MALE_DEPTH_MOST)]
    if part.pocket is not None:
        cases.append((part.pocket.depth, part.pocket.width, DEPTH_LIMIT[process]))
    deep, wide, limit = max(cases, key=lambda one: one[0] / one[1] / one[2])
    whole = (deep, wide, limit) == cases[0]
    return at_most(
        "depth over width",
        deep / wide,
        limit,
        "-",
        reason="the drawn depth is {measured} times the smaller side; {limit} is the most over a male tool"
        if whole
        else "a pocket of the model is {deep} deep in an opening of {wide}, {measured} times; {limit} is the most for "
        "this process",
        remedy=_wider_or_shallower(whole, False),
        basis=MALE_DEPTH_BASIS,
        condition=_helped(planned, False),
        referral=moulding_for(planned.request),
        width=(deep / limit, "m"),
        depth=(limit * wide, "m"),
        **({} if whole else {"deep": (deep, "m"), "wide": (wide, "m")}),
    )


def _helped(planned: PlannedCandidate, by_plug: bool) -> str | None:
    """What the quote says of a draw that takes a plug, or over a male tool a sheet that is blown up first."""
    if is_draped(planned):
        return BUBBLE if bubble_helps(planned.request.part) else None
    return PLUG if by_plug and planned.candidate.process != "twin_sheet" else None


def _wider_or_shallower(whole: bool, twin: bool) -> str:
    """What would help, said of the part or of its pocket, and of each sheet where there are two."""
    of = "the part" if whole else "the pocket"
    return f"widen {of} to {{width}}, or make it {{depth}} deep" + (" for each sheet" if twin else "")


def wall_after_forming(planned: PlannedCandidate) -> Verdict:
    """The corner is the thinnest place, and it must keep the wall asked for on sheet at the low end of its gauge."""
    thinning, asked = planned.plan.thinning, planned.request.part.minimum_wall
    tolerance = planned.candidate.gauge_tolerance
    thinnest = thinning.thinnest_wall * (1 - tolerance)
    needed = (asked or 0.0) / thinnest * planned.candidate.gauge
    where = " on sheet that runs {tolerance} thin" if tolerance else ""
    fails = not reaches(thinnest, asked or 0.0)
    other, figures = on_other_tool(planned, planned.candidate.gauge) if fails else ("", {})
    return at_least(
        "wall after forming",
        thinnest,
        asked or 0.0,
        "m",
        reason=f"the thinnest wall is predicted at {{measured}}{where}; {{limit}} is asked"
        if asked
        else f"the thinnest wall is predicted at {{measured}}{where}; no least wall is asked ({{limit}})",
        remedy=("a starting gauge of {gauge}" if reaches(THICKEST, needed) else "a thinner wall, or a shallower draw")
        + other,
        basis=f"{thinning.method}; the sheet offer's gauge tolerance" if tolerance else thinning.method,
        gauge=(needed, "m"),
        **figures,
        **({"tolerance": (tolerance, "share")} if tolerance else {}),
    )


def _deep(planned: PlannedCandidate) -> str:
    """A part deeper than any machine is a large one: no moulding press will be larger, a lay-up will."""
    process = moulding_for(planned.request)
    return process if planned.request.part.enclosed else LAY_UP
