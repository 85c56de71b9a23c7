"""How the answer forms the part, as far as a thickness map must know it: the sheet around the part, and the plug."""

from quoting.routing.nesting import clamp_width

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
        ``process``, empty where no route is chosen.
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
    return {
        "along": layout["along"], "across": layout["across"], "web": round(web, 6), "toward": toward,
        "plug": planned["plan"]["thinning"].get("plug") is True, "process": process,
    }  # fmt: skip
