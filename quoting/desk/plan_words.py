"""Questions, moves and blame of plans in plain words, with dates in place of week numbers."""

from datetime import date
from itertools import groupby

from quoting.desk import labels
from quoting.desk.templatetags.desk import day, day_short
from quoting.planning.beside_moves import Overload
from quoting.planning.plan_models import AS_IT_IS, MACHINE_DOWN, QUOTE_WON, WEEKS_ALONE, PlanMove, PlanRun

STATES = {
    "waiting": "waiting for a worker", "running": "under way", "done": "done", "impossible": "no plan exists",
    "cancelled": "cancelled", "failed": "failed",
}  # fmt: skip
STAGES = {"lateness": "weeks late", "cost": "cost of moving", "overtime": "overtime"}
MOST_NAMED = 6
UNITS = {"lateness": "weeks", "cost": "$", "overtime": "h"}


def question(run: PlanRun) -> str:
    if run.kind == AS_IT_IS:
        return "Work balanced as it stands"
    if run.kind == MACHINE_DOWN:
        weeks = f"{run.down_weeks} week{'s' if run.down_weeks > 1 else ''}"
        return f"{run.machine.code} is down for {weeks} from {day(run.down_from)}"
    if run.kind == QUOTE_WON:
        return f"{run.quote} is won"
    return f"{run.tool} moves to {run.plant.name} ({run.plant.code})"


def weeks(ends: list[str]) -> str:
    """The Mondays between which work runs."""
    if not ends:
        return "not booked"
    first, last = (day_short(date.fromisoformat(one)) for one in ends)
    return f"week of {first}" if first == last else f"weeks of {first} to {last}"


def reason(move: PlanMove) -> str:
    """Why a move is proposed, and what it saves."""
    told = _reason(move)
    return f"{told} Judged at once, since the time of the plan was up: it may save less." if move.is_estimate else told


def _reason(move: PlanMove) -> str:
    late, hours = move.weeks_late_saved, move.overtime_saved
    if move.reason == WEEKS_ALONE:
        return _weeks_alone(move)
    if move.reason == "no_way_back":
        return "It can't stay: with this question its present machine is none that can run it."
    if move.reason == "no_room":
        return "It can't stay: its present machine has no room for it in the weeks of this plan, even late."
    if move.reason == "not_assessed":
        return "What it saves was not worked out: the time of the plan was up."
    if move.reason == "late":
        return f"Without it, work would be {late} week{'s' if late > 1 else ''} later in all."
    if move.reason == "overtime":
        premium = f", at ${move.premium_saved:,.2f} more than in a shift" if move.premium_saved > 0 else ""
        return f"Without it, {hours:,.1f} more hours of overtime would be worked{premium}."
    return "By itself it saves nothing that counts here; it makes room for other moves."


def _weeks_alone(move: PlanMove) -> str:
    machine, lacks, late = move.shifts[0]["to"], move.detail, move.weeks_late_saved
    told = []
    if lacks:
        told.append(
            f"In the weeks booked now, {machine} would have {lacks['hours']:,.1f} h of {lacks['limit']:,.1f} h in the "
            f"week of {day_short(date.fromisoformat(lacks['week']))}, overtime allowed included, once the rest follows "
            "the plan."
        )
    if late > 0:
        told.append(f"In the weeks booked now, work would be {late} week{'s' if late > 1 else ''} later in all.")
    return " ".join(told)


def overloads(found: tuple[Overload, ...]) -> list[str]:
    """Trimmers and benches beyond their hours, a sentence each, with what would change it."""
    return [_overload(place, tuple(weeks)) for place, weeks in groupby(found, key=lambda one: one.place)]


def _overload(place: str, weeks: tuple[Overload, ...]) -> str:
    told = ", ".join(
        f"{one.hours:,.1f} h of {one.limit:,.1f} h in the week of {day_short(one.week)} ({one.before:,.1f} h now)"
        for one in weeks[:MOST_NAMED]
    ) + _more(len(weeks), "weeks")
    jobs = sorted({job for one in weeks for job in one.jobs})
    named = ", ".join(jobs[:MOST_NAMED]) + _more(len(jobs), "jobs")
    change = f"Overtime there, or other weeks for one of these, would change it: {named}."
    return f"{labels.beside(place)} would have {told}. {change}"


def _more(number: int, what: str) -> str:
    return f" and {number - MOST_NAMED} more {what}" if number > MOST_NAMED else ""


def stuck(one: dict) -> str:
    if one["reason"] == "no_machine":
        return f"{one['job']}: no machine that could run it is left. Ask for an answer on other machines, or unlock it."
    if one["reason"] == "no_week":
        return f"{one['job']}: it can't begin before it would have to be through. Give it a later last week."
    plants = ", ".join(one["detail"])
    return f"{one['job']}: its tool can only be at {plants}, and no machine there can run all work of that tool."


def shortage(one: dict) -> str:
    jobs, first = one["jobs"], date.fromisoformat(one["from"])
    named = ", ".join(jobs[:MOST_NAMED]) + _more(len(jobs), "jobs")
    last = date.fromisoformat(one["to"])
    span = f"the week of {day_short(first)}"
    if first != last:
        span = f"the weeks from {day_short(first)} to {day_short(last)}"
    if one.get("available") == 0:  # plans of before do not tell
        return (
            f"{one['machine']} has no hours in {span}: retired, down or closed. It would have to run "
            f"{one['hours']:,.1f} h: {named}. Hours there, or another machine for one of them, would make a plan."
        )
    lacks = f"{one['machine']} lacks {one['hours']:,.1f} h in {span}, overtime counted already"
    return (
        f"{lacks}; what asks for them: {named}. "
        "More overtime, a later date, or another machine that can run one of these would make a plan."
    )
