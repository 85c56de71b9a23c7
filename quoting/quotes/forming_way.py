"""How the answer forms the part, as far as a thickness map must know it: the sheet around the part, and the plug."""

from quoting.routing.nesting import clamp_width
from quoting.routing.wall_plan import BUBBLE

PLAIN = {"along": 1, "across": 1, "web": 0.0, "toward": "", "plug": False, "process": ""}  # where no route is chosen


def forming_way(snapshot: dict | None) -> dict:
    """The way of forming of the route that an answer chose.

    Parameters
    ----------
    snapshot : dict or None
        Stored answer [SI].

    Returns
    -------
    way : dict
        ``along`` and ``across``, cavities on the blank [count]; ``web``, the narrowest strip of sheet that belongs to
        one of them [m]: half the gap to the next, or the way to the clamp, as ``toward`` says; whether with ``plug``;
        ``process``, empty where no route is chosen; ``pre_stretch``, where the sheet is blown up before it is laid over
        a male tool [-].
    """
    chosen = (snapshot or {}).get("chosen")
    if not chosen:
        return dict(PLAIN)
    planned = chosen["judged"]["planned"]
    candidate, part = planned["candidate"], planned["request"]["part"]
    layout, process = candidate["layout"], candidate["process"]
    clamp = clamp_width(candidate["gauge"], process == "twin_sheet", max(part["length"], part["width"]))
    strips = [(layout["margin"] - clamp, "clamp")]
    if layout["along"] * layout["across"] > 1:
        strips.append((layout["gap"] / 2, "next"))
    web, toward = min(strips)
    thinning = planned["plan"]["thinning"]
    blown = thinning.get("pre_stretch", 1.0)
    return {
        "along": layout["along"], "across": layout["across"], "web": round(web, 6), "toward": toward,
        "plug": thinning.get("plug") is True, "process": process,
        **({"pre_stretch": blown} if blown > 1 else {}),
    }  # fmt: skip


def wished_way(tool: str, plug: bool, bubble: bool) -> dict:
    """Another way of forming, to see what it would do to the walls; the answer is not changed by it.

    Parameters
    ----------
    tool : str
        ``female`` or ``male``.
    plug : bool
        The sheet is pushed by a plug first; there is none over a male tool.
    bubble : bool
        The sheet is blown up first.

    Returns
    -------
    wished : dict
        tool, plug, pre_stretch [-]

    Raises
    ------
    ValueError
        Neither tool, or a plug over a male one.
    """
    if tool not in ("female", "male"):
        raise ValueError("A tool is female or male.")
    if plug and tool == "male":
        raise ValueError("A plug pushes the sheet into a female tool; over a male one there is none.")
    return {"tool": tool, "plug": plug, "pre_stretch": BUBBLE if bubble else 1.0}
