"""Questions, moves and blame of plans in plain words, with dates in place of week numbers."""

from datetime import date

from quoting.planning.plan_models import AS_IT_IS, MACHINE_DOWN, QUOTE_WON, PlanMove, PlanRun

STATES = {
    "waiting": "waiting for a worker", "running": "under way", "done": "done", "impossible": "no plan exists",
    "cancelled": "cancelled", "failed": "failed",
}  # fmt: skip
STAGES = {"lateness": "weeks late", "cost": "cost of moving", "overtime": "overtime"}
UNITS = {"lateness": "weeks", "cost": "$", "overtime": "h"}


def question(run: PlanRun) -> str:
    if run.kind == AS_IT_IS:
        return "Work balanced as it stands"
    if run.kind == MACHINE_DOWN:
        weeks = f"{run.down_weeks} week{'s' if run.down_weeks > 1 else ''}"
        return f"{run.machine.code} is down for {weeks} from {run.down_from:%b %d, %Y}"
    if run.kind == QUOTE_WON:
        return f"{run.quote} is won"
    return f"{run.tool} moves to {run.plant.name} ({run.plant.code})"


def weeks(ends: list[str]) -> str:
    """The Mondays between which work runs."""
    if not ends:
        return "not booked"
    first, last = (f"{date.fromisoformat(one):%b %d}" for one in ends)
    return f"week of {first}" if first == last else f"weeks of {first} to {last}"


def reason(move: PlanMove) -> str:
    """Why a move is proposed, and what it saves."""
    told = _reason(move)
    return f"{told} Judged at once, since the time of the plan was up: it may save less." if move.is_estimate else told


def _reason(move: PlanMove) -> str:
    late, hours = move.weeks_late_saved, move.overtime_saved
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


def stuck(one: dict) -> str:
    if one["reason"] == "no_machine":
        return f"{one['job']}: no machine that could run it is left. Ask for an answer on other machines, or unlock it."
    if one["reason"] == "no_week":
        return f"{one['job']}: it can't begin before it would have to be through. Give it a later last week."
    plants = ", ".join(one["detail"])
    return f"{one['job']}: its tool can only be at {plants}, and no machine there can run all work of that tool."


def shortage(one: dict) -> str:
    jobs, first = one["jobs"], date.fromisoformat(one["from"])
    named = ", ".join(jobs[:6]) + (f" and {len(jobs) - 6} more" if len(jobs) > 6 else "")
    last = date.fromisoformat(one["to"])
    span = f"the week of {first:%b %d}" if first == last else f"the weeks from {first:%b %d} to {last:%b %d}"
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
