"""What one release of a stored quote would occupy, and where else it could run: read from the snapshot, not computed
anew, since an issued quote stands as it was answered."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from machines.weeks import DAYS_IN_WEEK
from quoting.repricing.repriced import BEYOND_COST

SECONDS_PER_HOUR = 3600.0
TRANSFER = "transfer"


@dataclass(frozen=True)
class Option:
    """A machine that can run the release with the tool it gets. ``cost`` [$] is what going there costs more."""

    machine: str
    hours: float  # set-up and run there
    cost: Decimal

    def plain(self) -> dict[str, Any]:
        return {"machine": self.machine, "hours": self.hours, "cost": str(self.cost)}


@dataclass(frozen=True)
class Occupied:
    """One release as work. Hours are clock hours, efficiency counted."""

    machine: str
    plant: str
    process: str
    polymer: str
    quantity: int
    hours: float
    trimmer: str
    trim_plant: str
    trim_hours: float
    assembly_hours: float
    ready_weeks: float  # until tool and sheet are there
    lead_weeks: float
    needed_by: date | None
    value: Decimal
    margin: float
    options: tuple[Option, ...]
    tool_room_hours: float = 0.0  # in that of the plant that forms
    tool_weeks: float = 0.0  # until the tool is there, its first article not yet made

    def tool_there(self, since: date) -> date:
        """The day on which the tool is there."""
        return since + timedelta(days=round(DAYS_IN_WEEK * self.tool_weeks))

    def ready(self, since: date) -> date:
        """The first day on which it can run."""
        return since + timedelta(days=round(DAYS_IN_WEEK * self.ready_weeks))

    def due(self, since: date) -> date:
        """The day promised, or the one asked for where that is earlier; never before the order itself."""
        promised = since + timedelta(days=round(DAYS_IN_WEEK * self.lead_weeks))
        return max(since, min(promised, self.needed_by or promised))


def occupied(snapshot: dict[str, Any], price_break: dict[str, Any], first_article_weeks: float) -> Occupied:
    """One release of a stored quote as work.

    Parameters
    ----------
    snapshot : dict
        The answer as stored, a quote [SI].
    price_break : dict
        The release: one of the breaks of the chosen candidate [$].
    first_article_weeks : float
        What a new tool takes until its first article is released, as in the lead time [weeks].

    Returns
    -------
    occupied : Occupied
        [h, $]
    """
    chosen, request, quantity = snapshot["chosen"], snapshot["request"], price_break["quantity"]
    planned, cost = chosen["judged"]["planned"], chosen["cost"]
    candidate, trim = planned["candidate"], planned["plan"]["trim"]
    value = quantity * Decimal(price_break["landed_unit_price"])
    paid = quantity * Decimal(cost["amortised"]["per_part"] if cost["amortised"] else 0)
    tool = tool_weeks(cost, price_break)
    article = 0.0 if request["tooling"] == TRANSFER else first_article_weeks
    return Occupied(
        machine=candidate["machine"]["code"],
        plant=candidate["plant"]["code"],
        process=candidate["process"],
        polymer=candidate["polymer"]["name"],
        quantity=quantity,
        hours=price_break["press_hours"],
        trimmer=trim["trimmer"]["code"],
        trim_plant=trim["plant"],
        trim_hours=price_break["trim_hours"],
        assembly_hours=assembly_hours(cost["lines"], quantity),
        ready_weeks=max(candidate["offer"]["lead_time_weeks"], tool + article),
        lead_weeks=price_break["lead_time_weeks"],
        needed_by=date.fromisoformat(request["needed_by"]) if request["needed_by"] else None,
        value=value,
        margin=float((value - paid - _release_cost(cost, quantity)) / value),
        options=options_of(snapshot, quantity),
        tool_room_hours=(cost.get("tool_room") or {}).get("hours", 0.0),
        tool_weeks=tool,
    )


def tool_weeks(cost: dict[str, Any], price_break: dict[str, Any]) -> float:
    """Weeks until the tool is there, its first article not yet made: what it waits for in our tool room included.

    Parameters
    ----------
    cost : dict
        Of the chosen candidate as stored [weeks].
    price_break : dict
        The release; of an answer from before there were steps without its timing [days].

    Returns
    -------
    weeks : float
        [weeks]
    """
    longest = max((line["lead_time_weeks"] for line in cost["tooling"]), default=0.0)
    timing = price_break.get("timing") or {}
    room = timing.get("tool_room")
    return (timing["waits"]["tool"] + room["queue"] + room["run"]) / DAYS_IN_WEEK if room else longest


def options_of(snapshot: dict[str, Any], quantity: int) -> tuple[Option, ...]:
    """The machines that routing found able to run a release with the tool that the quote builds or takes over.

    Another process, polymer or number of cavities would be another tool or another part, so such candidates are left
    out. ``cost = cost with freight there - cost with freight on the chosen machine``, but never below what setting up
    there costs, since work that moves is set up by people who do not know it; 0 on the chosen machine.

    Parameters
    ----------
    snapshot : dict
        The answer as stored, a quote [$].
    quantity : int
        Good parts of the release [count].

    Returns
    -------
    options : tuple of Option
        The cheapest of each machine, the chosen one first, then by cost and code [h, $].
    """
    chosen = snapshot["chosen"]
    here, tool, stays = _release_cost(chosen["cost"], quantity), _tool_of(chosen), _machine_of(chosen)
    own = _break_of(chosen["cost"], quantity)
    found = {stays: Option(stays, own["press_hours"], Decimal(0))}
    for one in snapshot["candidates"]:
        machine, its = _machine_of(one), _break_of(one["cost"], quantity) if one["cost"] else None
        if machine == stays or its is None or _tool_of(one) != tool:
            continue
        setup = quantity * Decimal(its["setup_per_part"])
        cost = round(max(_release_cost(one["cost"], quantity) - here, setup), 2)
        if machine not in found or cost < found[machine].cost:
            found[machine] = Option(machine, its["press_hours"], cost)
    return tuple(sorted(found.values(), key=lambda one: (one.machine != stays, one.cost, one.machine)))


def assembly_hours(lines: list[dict[str, Any]], quantity: int) -> float:
    """Clock hours at the bench: secondary operations of a release by the inputs of their cost line.

    ``sum of pieces x (count x standard time + masking and spraying) x learning / efficiency``; drying takes no hands.

    Parameters
    ----------
    lines : list of dict
        Cost lines of the chosen candidate as stored [s].
    quantity : int
        Good parts of the release [count].

    Returns
    -------
    hours : float
        [h]; 0 where the release has no such line.
    """
    of_release = (one for one in lines if one["quantity"] == quantity and one["name"] == "secondary operations")
    line = next(of_release, None)
    if line is None:
        return 0.0
    efficiency, operations = 1.0, []
    for given in line["inputs"]:
        operation, _, what = given["name"].partition(", ")
        if what == "count":
            operations.append({})
        if what:
            operations[-1][what] = float(given["value"])
        elif operation == "efficiency":
            efficiency = float(given["value"])
    seconds = sum(
        one.get("pieces, before trim", quantity)
        * (one["count"] * one["standard time"] + one.get("masking and spraying of a part", 0.0))
        * one.get("learning at this release", 1.0)
        for one in operations
    )
    return seconds / efficiency / SECONDS_PER_HOUR


def _machine_of(priced: dict[str, Any]) -> str:
    return priced["judged"]["planned"]["candidate"]["machine"]["code"]


def _tool_of(priced: dict[str, Any]) -> tuple:
    """What the tool and the part are made for."""
    candidate = priced["judged"]["planned"]["candidate"]
    layout = candidate["layout"]
    return candidate["process"], candidate["polymer"]["name"], layout["along"] * layout["across"]


def _break_of(cost: dict[str, Any], quantity: int) -> dict[str, Any] | None:
    return next((one for one in cost["breaks"] if one["quantity"] == quantity), None)


def _release_cost(cost: dict[str, Any], quantity: int) -> Decimal:
    """Cost with overhead and freight to the dock, without tooling and margin [$]."""
    made = (
        Decimal(one["total"]) for one in cost["lines"] if one["quantity"] == quantity and one["name"] not in BEYOND_COST
    )
    return sum(made, Decimal(0)) + quantity * Decimal(_break_of(cost, quantity)["freight_per_part"])
