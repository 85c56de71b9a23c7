"""Parts of the command-line JSON: the lead time of each release by steps, and the tools' hours in the tool room."""

from machines.promise import steps_of
from quoting.costing.lines import PriceBreak, ToolRoom


def lead_plain(breaks: tuple[PriceBreak, ...]) -> list[dict]:
    """Steps of each release in days from the order, which is taken for the day of the answer.

    Parameters
    ----------
    breaks : tuple of PriceBreak
        [days]

    Returns
    -------
    releases : list of dict
        Ready for JSON [days].
    """
    return [
        {
            "quantity": one.quantity,
            "leaves_after_days": one.timing.leaves,
            "arrives": one.arrives.isoformat(),
            "steps": [
                {
                    "name": step.name,
                    "start_days": step.start,
                    "finish_days": step.finish,
                    "slack_days": step.slack,
                    "sets_the_date": step.critical,
                }
                for step in steps_of(one.timing)
            ],
        }
        for one in breaks
    ]


def tool_room_plain(room: ToolRoom) -> dict:
    """Hours of the tools in the tool room of the plant that forms, tool by tool.

    Parameters
    ----------
    room : ToolRoom
        [h]

    Returns
    -------
    room : dict
        Ready for JSON [h].
    """
    return {
        "plant": room.plant,
        "places": room.places,
        "hours": room.hours,
        "why_none": room.why_none or None,
        "lines": [{"name": one.name, "hours": one.hours, "basis": one.basis} for one in room.lines],
    }
