"""A stored forming study as charts and rows of text, the same for the estimator's page and for the worksheet."""

from quoting.documents import labels
from quoting.documents.figures import figure, phrase
from quoting.documents.forming_charts import cooling_chart, profile_chart, temperature_chart
from quoting.documents.wall_sketch import wall_sketch

NEVER = "never cool enough"
HELD = "\u00a0"  # a space at which no line breaks


def study_shown(study: dict | None, planned: dict) -> dict | None:
    """Charts and tables of a study; None where an answer has none, such as one that was stored before there were any.

    Parameters
    ----------
    study : dict or None
        Plain ``FormingStudy`` [SI].
    planned : dict
        Plain ``PlannedCandidate`` that it belongs to [SI].

    Returns
    -------
    shown : dict or None
        Charts for ``chart_svg.html``, and rows of text [-].
    """
    if not study:
        return None
    heating = study["heating"]
    used = next((one["method"] for one in study["methods"] if one["used"]), "")
    return {
        "temperature": temperature_chart(heating) if heating["curve"] else None,
        "profile": profile_chart(heating) if heating["exit_profile"] and heating["contact_profile"] else None,
        "phases": phase_rows(heating),
        "sags": sag_rows(study["sags"]),
        "gauges": gauge_rows(study.get("gauges") or []),
        "walls": _walls(study, planned, used),
        "methods": method_rows(study["methods"]),
        "method": labels.said(used, {}),
        "saving": _saving(study["methods"]),
        "cooling": _cooling(study["cooling_curve"], planned["plan"]["cooling"]),
        "tools": tool_rows(study["tools"]),
        "numbers": number_rows(study["numbers"]),
    }


def _walls(study: dict, planned: dict, method: str) -> dict | None:
    if not study["walls"]:
        return None
    gauge = planned["candidate"]["gauge"]
    return wall_sketch(study["walls"], planned["request"]["part"], gauge, male=method.startswith("male"))


def _cooling(curve: list[dict], cooling: dict) -> dict | None:
    return cooling_chart(curve, cooling["demould_temperature"], cooling["time"]) if curve else None


def phase_rows(heating: dict) -> list[dict]:
    """When each phase ends, how long it is, and the sheet at its end."""
    rows = []
    for one in heating["phases"]:
        at_end = min(heating["curve"], key=lambda moment: abs(moment["time"] - one["end"]), default=None)
        rows.append(
            {
                "name": labels.said(one["name"], {}),
                "time": f"{one['end'] - one['start']:.0f}{HELD}s",
                "end": f"{one['end']:.0f}{HELD}s",
                **{
                    key: held(at_end[key], "K") if at_end else ""
                    for key in ("upper_skin", "middle", "lower_skin", "mean")
                },
            }
        )
    return rows


def method_rows(methods: list[dict]) -> list[dict]:
    """Each way of forming: what it leaves at its thinnest, and whether it is used or why not."""
    return [
        {
            "name": labels.said(one["method"], {}),
            "thinnest": held(one["thinnest_wall"], "m"),
            "thinnest_at": _thinnest_place(one),
            "gauge": held(one["gauge"], "m") if one.get("gauge") else "",
            "used": one["used"],
            "word": "used" if one["used"] else phrase(one["why_not"]) or "could be used",
        }
        for one in methods
    ]


def _saving(methods: list[dict]) -> str:
    """Where another way leaves the wall asked for from a thinner stocked gauge: that with the thinnest one."""
    used = next((one for one in methods if one["used"] and one.get("gauge")), None)
    able = [one for one in methods if one.get("gauge") and not one["why_not"]]
    if used is None or not able:
        return ""
    best = min(able, key=lambda one: one["gauge"])
    if best["gauge"] > used["gauge"] * (1 - 1e-9):
        return ""
    way = labels.said(best["method"], {})
    return f"On a {way}: a gauge of {held(best['gauge'], 'm')} would leave the wall asked for, in place of " + (
        f"{held(used['gauge'], 'm')}."
    )


def _thinnest_place(method: dict) -> str:
    if not method["walls"]:
        return ""
    return min(method["walls"], key=lambda one: one["wall"])["place"]


def tool_rows(tools: list[dict]) -> list[dict]:
    """Cooling on each tool, or that it never gets cool enough."""
    return [
        {
            "name": labels.said(one["tool"], {}),
            "temperature": held(one["tool_temperature"], "K"),
            "film": f"{one['film']:,.0f} W/(m²{HELD}K)",
            "time": NEVER if one["time"] is None else held(one["time"], "s"),
            "never": one["time"] is None,
            "used": one["used"],
        }
        for one in tools
    ]


def sag_rows(sags: list[dict]) -> list[dict]:
    """How the sheet would hang with other heat."""
    return [
        {
            "what": phrase(one["what"]),
            "sag": held(one["sag"], "m"),
            "time": held(one["heating_time"], "s"),
            "feasible": one["feasible"],
            "word": "possible" if one["feasible"] else "not possible",
        }
        for one in sags
    ]


def gauge_rows(gauges: list[dict]) -> list[dict]:
    """The sheet at both ends of its gauge tolerance, and as ordered."""
    return [
        {
            "sheet": one["sheet"],
            "feasible": one["feasible"],
            "word": "possible" if one["feasible"] else "not possible",
            **{key: held(one[key], unit) for key, unit in _GAUGE_UNITS},
        }
        for one in gauges
    ]


_GAUGE_UNITS = (
    ("gauge", "m"), ("thinnest_wall", "m"), ("blank_mass", "kg"), ("heating_time", "s"), ("cooling_time", "s"),
)  # fmt: skip


def number_rows(numbers: list[dict]) -> list[dict]:
    """Every number opened to its formula, its inputs and their sources."""
    return [
        {
            "name": one["name"],
            "value": held(one["value"], one["unit"]),
            "formula": one["formula"],
            "source": one["source"],
            "inputs": [
                {"name": given["name"], "value": held(given["value"], given["unit"]), "source": given["source"]}
                for given in one["inputs"]
            ],
        }
        for one in numbers
    ]


_PRINTED = (
    ("W/m^2/K", "W/(m² K)"), ("W/m/K", "W/(m K)"), ("J/kg/K", "J/(kg K)"), ("m2", "m²"), ("m3", "m³"),
)  # fmt: skip


def held(value: float, unit: str) -> str:
    """A figure that may break before its bracket, but not between a number and its unit."""
    written = figure(value, unit)
    for typed, printed in _PRINTED:
        written = written.replace(typed, printed)
    return written.replace(" ", HELD).replace(f"{HELD}(", " (")
