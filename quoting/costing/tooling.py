"""What tools a part needs, what they cost at its size, and how long they take."""

from decimal import Decimal

from quoting.catalog import Rates, ToolingRate
from quoting.costing.lines import ToolingLine
from quoting.costing.money import CannotPriceError, exact, to_dollar
from quoting.intake.part import PartRequest
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.recalled import Recalled
from quoting.routing.rules.comparing import reaches
from quoting.routing.rules.detail import CAST_TOOL, formed_tolerance

SIZE_EXPONENT = 0.8  # -, price over tool area (common practice, no source)


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


def kinds_needed(planned: PlannedCandidate) -> tuple[str, ...]:
    """Names of all tools of the programme; a transferred tool brings its own, only the trim fixture is re-programmed.

    Parameters
    ----------
    planned : PlannedCandidate
        The candidate with its plan [-].

    Returns
    -------
    kinds : tuple of str
        Names in the tooling rates [-].
    """
    trimmer = planned.plan.trim.trimmer
    routed = trimmer is not None and trimmer.kind == "five_axis"
    if planned.request.tooling == "transfer":
        return ("trim_fixture",) if routed else ()
    wanted = (
        (forming_tool(planned), True),
        ("plug", planned.plan.thinning.plug),
        ("trim_fixture", routed),
        ("check_fixture", True),
        ("cooling_fixture", planned.candidate.polymer.semicrystalline),
    )
    return tuple(kind for kind, needed in wanted if needed)


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
    scale = ((length + height) * (width + height) / rate.reference_area) ** SIZE_EXPONENT
    return to_dollar(rate.price * exact(scale) * (1 + rate.cavity_share * (cavities - 1)))


def tooling_lines(planned: PlannedCandidate, rates: Rates, recalled: Recalled | None = None) -> tuple[ToolingLine, ...]:
    """Tools and fixtures with price, lead time and how each was reckoned; for a transfer its arrival inspection first.

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
    recalled, request, cavities = recalled or Recalled(), planned.request, planned.candidate.layout.cavities
    lines = tuple(
        recalled.of(_tool_line, request, cavities, tooling_rate(kind, rates)) for kind in kinds_needed(planned)
    )
    return _arrival(planned, rates) + lines


def _arrival(planned: PlannedCandidate, rates: Rates) -> tuple[ToolingLine, ...]:
    if planned.request.tooling != "transfer":
        return ()
    basis = "inspection on arrival of the customer's tool; repairs are quoted after it"
    return (ToolingLine("transfer_inspection", rates.price.transfer_inspection, rates.price.transfer_weeks, basis),)


def _tool_line(request: PartRequest, cavities: int, rate: ToolingRate) -> ToolingLine:
    part = request.part
    price = tool_price(rate, part.length, part.width, part.depth, cavities)
    basis = "price at the reference size x ((length + depth)(width + depth) / reference area)^0.8"
    if cavities > 1:
        basis += f" x (1 + {rate.cavity_share} for each of {cavities - 1} further cavities)"
    if request.tooling == "transfer":
        basis += "; new fixture and program for our router"
    return ToolingLine(rate.name, price, rate.lead_time_weeks, f"{basis}, rounded to the whole dollar")


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
