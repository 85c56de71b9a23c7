"""What tools a part needs, what they cost at its size, and how long they take."""

from decimal import Decimal

from quoting.catalog import Rates, Sources, ToolingRate
from quoting.costing.lines import ToolingLine, ToolingOption
from quoting.costing.money import INQUIRY, CannotPriceError, Input, exact, given, to_dollar
from quoting.costing.secondary import operation_rate
from quoting.intake.part import Part, PartRequest
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.recalled import Recalled
from quoting.routing.rules.comparing import reaches
from quoting.routing.rules.detail import CAST_TOOL, formed_tolerance

SIZE_EXPONENT = 0.8  # -, price over tool area (common practice, no source)
SQUARE_FOOT = Decimal("0.09290304")  # m2, exact: international foot


def needs_machined_tool(planned: PlannedCandidate) -> bool:
    """Whether the asked tolerance is tighter than a cast tool holds, by the limit of the routing rule on tolerance.

    Parameters
    ----------
    planned : PlannedCandidate
        The candidate with its request [-].

    Returns
    -------
    needed : bool
        [-]
    """
    part, soft = planned.request.part, planned.candidate.polymer.semicrystalline
    if part.tolerance is None:
        return False
    return not reaches(part.tolerance, formed_tolerance(max(part.length, part.width), CAST_TOOL, soft))


def forming_tool(planned: PlannedCandidate) -> str:
    """Kind of forming tool by process and tolerance.

    Parameters
    ----------
    planned : PlannedCandidate
        The candidate with its request [-].

    Returns
    -------
    kind : str
        Name in the tooling rates [-].
    """
    process = planned.candidate.process
    if process == "twin_sheet":
        return "twin_sheet_pair"
    if process == "pressure":
        return "pressure_tool"
    return "machined_aluminium" if needs_machined_tool(planned) else "cast_aluminium"


def kinds_needed(planned: PlannedCandidate, rates: Rates) -> tuple[str, ...]:
    """Names of all tools of the programme; a transferred tool brings its own, only the trim fixture is re-programmed.

    Parameters
    ----------
    planned : PlannedCandidate
        The candidate with its plan [-].
    rates : Rates
        Which operation needs a fixture [-].

    Returns
    -------
    kinds : tuple of str
        Names in the tooling rates [-].
    """
    trimmer, request = planned.plan.trim.trimmer, planned.request
    routed, by_hand = (trimmer is not None and trimmer.kind == kind for kind in ("five_axis", "hand"))
    if request.tooling == "transfer":
        return ("trim_fixture",) if routed else ()
    wanted = (
        (forming_tool(planned), True),
        ("pressure_box", planned.candidate.process == "pressure"),
        ("plug", planned.plan.thinning.plug),
        ("trim_fixture", routed),
        ("hand_trim_jig", by_hand),
        ("drill_fixture", by_hand and request.part.holes > 0),
        ("check_fixture", True),
        ("cooling_fixture", planned.candidate.polymer.semicrystalline),
    )
    fixtures = (operation_rate(each.operation, rates.operations).fixture for each in request.secondary)
    return (*(kind for kind, needed in wanted if needed), *(one for one in dict.fromkeys(fixtures) if one != "none"))


def tooling_rate(kind: str, rates: Rates) -> ToolingRate:
    """The rate of one kind of tool.

    Parameters
    ----------
    kind : str
        Name [-].
    rates : Rates
        Rates in force [-].

    Returns
    -------
    rate : ToolingRate
        [-]

    Raises
    ------
    CannotPriceError
        No rate for it.
    """
    for rate in rates.tooling:
        if rate.name == kind:
            return rate
    raise CannotPriceError(f"no tooling rate for {kind}")


def tool_price(rate: ToolingRate, length: float, width: float, height: float, cavities: int) -> Decimal:
    """Price of a tool: ``price * ((L+H)(W+H)/reference)^0.8 * (1 + share * (cavities - 1))``, whole dollars.

    Parameters
    ----------
    rate : ToolingRate
        Price at the reference size [$, m2].
    length, width, height : float
        Size of the part [m].
    cavities : int
        Parts per shot [count].

    Returns
    -------
    price : Decimal
        [$]
    """
    scale = size_scale(rate, length, width, height)
    return to_dollar(rate.price * exact(scale) * (1 + rate.cavity_share * (cavities - 1)))


def size_scale(rate: ToolingRate, length: float, width: float, height: float) -> float:
    """What a tool takes over one of the reference size: ``((L+H)(W+H)/reference)^0.8``.

    Parameters
    ----------
    rate : ToolingRate
        Its reference size [m2].
    length, width, height : float
        Size of the part [m].

    Returns
    -------
    scale : float
        Above 0 [-].
    """
    return ((length + height) * (width + height) / rate.reference_area) ** SIZE_EXPONENT


def tooling_lines(planned: PlannedCandidate, rates: Rates, recalled: Recalled | None = None) -> tuple[ToolingLine, ...]:
    """Tools and fixtures with price, lead time and how each was reckoned; what shape adds follows the forming tool.

    Parameters
    ----------
    planned : PlannedCandidate
        The candidate with its plan [-].
    rates : Rates
        Rates in force [-].
    recalled : Recalled, optional
        What the answer worked out for other candidates [-].

    Returns
    -------
    lines : tuple of ToolingLine
        [$, weeks]
    """
    recalled, candidate, plan = recalled or Recalled(), planned.candidate, planned.plan
    about = planned.request, candidate.process, candidate.polymer.semicrystalline, candidate.layout.cavities
    return recalled.by((*about, plan.trim.trimmer, plan.thinning.plug, rates), _tooling_lines, planned, rates, recalled)


def _tooling_lines(planned: PlannedCandidate, rates: Rates, recalled: Recalled) -> tuple[ToolingLine, ...]:
    request, cavities, sources = planned.request, planned.candidate.layout.cavities, rates.told
    lines = tuple(
        recalled.of(_tool_line, request, cavities, tooling_rate(kind, rates), sources)
        for kind in kinds_needed(planned, rates)
    )
    if request.tooling == "transfer":
        return lines
    added = recalled.of(shape_lines, request, planned.candidate.process, cavities, lines[0], rates, sources)
    return (lines[0], *added, *lines[1:])


def _tool_line(request: PartRequest, cavities: int, rate: ToolingRate, sources: Sources) -> ToolingLine:
    part = request.part
    price = tool_price(rate, part.length, part.width, part.depth, cavities)
    basis = "price at the reference size x ((length + depth)(width + depth) / reference area)^0.8"
    if cavities > 1:
        basis += f" x (1 + {rate.cavity_share} for each of {cavities - 1} further cavities)"
    if request.tooling == "transfer":
        basis += "; new fixture and program for our router"
    return ToolingLine(
        rate.name, price, rate.lead_time_weeks, f"{basis}, rounded to the whole dollar",
        _inputs_of_tool(request, cavities, rate, sources),
    )  # fmt: skip


def _inputs_of_tool(request: PartRequest, cavities: int, rate: ToolingRate, sources: Sources) -> tuple[Input, ...]:
    key = f"tooling.{rate.name}"
    return (
        given("price at the reference size", rate.price, "$", sources.of(f"{key}.price")),
        *size_inputs(request, cavities, rate, sources),
        given("lead time", rate.lead_time_weeks, "weeks", sources.of(f"{key}.lead_time_weeks")),
    )


def size_inputs(request: PartRequest, cavities: int, rate: ToolingRate, sources: Sources) -> tuple[Input, ...]:
    """What the size of a tool and its further cavities rest on.

    Parameters
    ----------
    request : PartRequest
        Its part [m].
    cavities : int
        Parts per shot [count].
    rate : ToolingRate
        Reference size and share of a further cavity [m2, -].
    sources : Sources
        Of the rates [-].

    Returns
    -------
    inputs : tuple of Input
        [m, m2, -]
    """
    part, key = request.part, f"tooling.{rate.name}"
    return (
        given("reference area", rate.reference_area, "m2", sources.of(f"{key}.reference_area")),
        given("length", part.length, "m", INQUIRY),
        given("width", part.width, "m", INQUIRY),
        given("depth", part.depth, "m", INQUIRY),
        given("cavities", cavities, "-"),
        given("share of a further cavity", rate.cavity_share, "-", sources.of(f"{key}.cavity_share")),
    )


def shape_lines(
    request: PartRequest, process: str, cavities: int, tool: ToolingLine, rates: Rates, sources: Sources
) -> tuple[ToolingLine, ...]:
    """What the shape adds to a new forming tool: texture by its area, and a moving section for each undercut.

    ``texture = cavities x the greater of area x price per area and the least charge``;
    ``moving sections = cavities x undercuts x price of one``.

    Parameters
    ----------
    request : PartRequest
        [-]
    process : str
        vacuum, pressure or twin_sheet; twin-sheet that shows both sides is textured on both tools [-].
    cavities : int
        Parts per shot [count].
    tool : ToolingLine
        The forming tool, into which both are made [weeks].
    rates : Rates
        Rates in force [-].
    sources : Sources
        Where rates came from [-].

    Returns
    -------
    lines : tuple of ToolingLine
        [$, weeks]
    """
    part, work = request.part, rates.tool_work
    lines = []
    if part.texture_depth > 0:
        faces = textured_faces(part, process)
        feet = faces * exact(part.surface_area) / SQUARE_FOOT
        inputs = (
            given("formed surface of one skin", part.surface_area, "m2", INQUIRY),
            given("textured faces", faces, "-"),
            given("price of a square foot", work.texture_per_square_foot, "$",
                  sources.of("tool_work.texture_per_square_foot")),
            given("least charge", work.texture_least, "$", sources.of("tool_work.texture_least")),
            given("cavities", cavities, "-"),
            given("time after the tool", work.texture_weeks, "weeks", sources.of("tool_work.texture_weeks")),
        )  # fmt: skip
        price = cavities * max(work.texture_per_square_foot * feet, work.texture_least)
        basis = (
            "cavities x the greater of textured faces x surface x price of a square foot and the least charge, rounded "
            "to the whole dollar; it is made into the finished tool, so its time follows the tool's"
        )
        weeks = tool.lead_time_weeks + work.texture_weeks
        lines.append(ToolingLine("texture", to_dollar(price), weeks, basis, inputs))
    if part.undercuts:
        inputs = (
            given("undercuts", part.undercuts, "-", INQUIRY),
            given("price of a moving section", work.slide_price, "$", sources.of("tool_work.slide_price")),
            given("cavities", cavities, "-"),
        )
        price = to_dollar(cavities * part.undercuts * work.slide_price)
        basis = "cavities x undercuts x price of a moving section, rounded to the whole dollar; made with the tool"
        lines.append(ToolingLine("moving_sections", price, tool.lead_time_weeks, basis, inputs))
    return tuple(lines)


def textured_faces(part: Part, process: str) -> int:
    """Tool faces that carry the texture.

    Parameters
    ----------
    part : Part
        [-]
    process : str
        vacuum, pressure or twin_sheet; twin-sheet that shows both sides is textured on both tools [-].

    Returns
    -------
    faces : int
        [count]
    """
    return 2 if process == "twin_sheet" and part.show_side == "both" else 1


def prototype_option(planned: PlannedCandidate, rates: Rates, sources: Sources) -> tuple[ToolingOption, ...]:
    """A prototype tool shown beside the quote, where the customer asks for one or the programme is small.

    None for a transferred tool, nor for twin-sheet, whose two skins a tool of board does not weld.

    Parameters
    ----------
    planned : PlannedCandidate
        The candidate with its request [-].
    rates : Rates
        Rates in force [-].
    sources : Sources
        Where rates came from [-].

    Returns
    -------
    options : tuple of ToolingOption
        One or none [$].
    """
    request, work = planned.request, rates.tool_work
    programme = request.annual * rates.price.programme_years
    asked = "prototype" in request.tooling_options
    if request.tooling == "transfer" or planned.candidate.process == "twin_sheet":
        return ()
    if not asked and programme > work.small_programme:
        return ()
    one = _tool_line(request, 1, tooling_rate("prototype", rates), sources)
    why = "asked for" if asked else "shown because the programme is small"
    detail = "; it takes vacuum only and shows no texture" if planned.candidate.process == "pressure" else ""
    life = given("shots it lasts", work.prototype_shots, "-", sources.of("tool_work.prototype_shots"))
    basis = f"{why}; of board, for fit and show, not for the release{detail}. {one.basis}"
    inputs = (*one.inputs, life)
    if not asked:
        small = given("a programme is small up to", work.small_programme, "-", sources.of("tool_work.small_programme"))
        inputs = (*inputs, given("parts of the programme", programme, "-"), small)
    return (ToolingOption("prototype", one.price, one.price, one.lead_time_weeks, basis, inputs),)


def tool_weeks(planned: PlannedCandidate, lines: tuple[ToolingLine, ...], rates: Rates) -> float:
    """Weeks until the tool may run: the longest tool and the first article for a new one, or the transfer.

    Parameters
    ----------
    planned : PlannedCandidate
        The candidate with its request [-].
    lines : tuple of ToolingLine
        Its tools [weeks].
    rates : Rates
        Rates in force [-].

    Returns
    -------
    weeks : float
        [weeks]
    """
    longest = max((each.lead_time_weeks for each in lines), default=0.0)
    return longest if planned.request.tooling == "transfer" else longest + rates.price.first_article_weeks
