"""The range of error as it is shown: a strip for each release, a table beside it, each strip opened to its inputs.

For those who may see cost, in dollars; for the forming worksheet, which holds no price, in shares of the estimate.
"""

from decimal import Decimal

from quoting.costing.cost_range import MATTER_MOST
from quoting.documents.chart_scale import Scale, round_step, round_ticks
from quoting.documents.chart_shapes import SMALL, SOFT, WIDTH, box, chart, dot, path, text
from quoting.documents.figures import count, money

LEFT, RIGHT, STEP = 8.0, WIDTH - 8.0, 40.0  # drawing units; the height of a release
ENDS = 62.0  # drawing units beside a strip for what stands at its ends
TICKS = 6  # pieces of the scale at most
LEAST_REACH = 0.01  # so that a release that hardly varies does not fill the drawing


def range_shown(found: dict | None) -> dict | None:
    """Chart, rows and notes of a stored range of error.

    Parameters
    ----------
    found : dict or None
        Plain ``CostRange``; None where the answer holds none [$].

    Returns
    -------
    shown : dict or None
        For ``parts/range.html`` and ``worksheet_range.html`` [-].
    """
    if not found:
        return None
    inputs = {one["name"]: one for one in found["inputs"]}
    return {
        "strip": range_strip(found, in_dollars=True),
        "shares": range_strip(found, in_dollars=False),
        "low": found["low_percent"],
        "high": found["high_percent"],
        "draws": count(found["draws"]),
        "seed": found["seed"],
        "distribution": found["distribution"],
        "releases": [_release(one, inputs) for one in found["releases"]],
        "inputs": [{**one, "factors": _factors(one)} for one in found["inputs"]],
        "not_varied": found["not_varied"],
        "neglected": found["neglected"],
    }


def _release(one: dict, inputs: dict[str, dict]) -> dict:
    effects = [_effect(effect, one, inputs[effect["name"]]) for effect in one["effects"]]
    return {
        "quantity": one["quantity"],
        "cost": one["cost"],
        "landed": one["landed"],
        "margin": one["margin"],
        "mean": one["mean"],
        "dearer": one["dearer"],
        "outside": _outside(one["landed"]),
        "first": [effect for effect in effects if effect["moves_it"]][:MATTER_MOST],
        "effects": effects,
        "down": _percent(_share(one["landed"]["low"], one["landed"]["likely"])),
        "up": _percent(_share(one["landed"]["high"], one["landed"]["likely"])),
    }


def _effect(effect: dict, release: dict, given: dict) -> dict:
    least, most, likely = (
        Decimal(text_) for text_ in (effect["at_least"], effect["at_most"], release["landed"]["likely"])
    )
    return {
        "label": given["label"],
        "moves": given["moves"],
        "source": given["source"],
        "factors": _factors(given),
        "share": effect["share"],
        "at_least": effect["at_least"],
        "at_most": effect["at_most"],
        "swing": abs(most - least),
        "swing_share": f"{100 * abs(most - least) / likely:.1f} %",
        "moves_it": most != least,
    }


def _factors(given: dict) -> str:
    """How far an input may lie off, in percent of its likely value.

    >>> _factors({"least": 0.95, "most": 1.06})
    '−5 % to +6 %'
    """
    return f"{_percent(given['least'] - 1)} to {_percent(given['most'] - 1)}"


def _share(amount: str, likely: str) -> float:
    return float(Decimal(amount) / Decimal(likely)) - 1


def _percent(share: float, digits: int = 0) -> str:
    """A signed share in percent; a thing that hardly moves is 0 %.

    >>> _percent(-0.0123, 1), _percent(0.04), _percent(-0.0001)
    ('−1.2 %', '+4 %', '0 %')
    """
    written = f"{abs(100 * share):.{digits}f}"
    sign = "" if not float(written) else "+" if share > 0 else "−"
    return f"{sign}{written} %"


def _outside(landed: dict) -> str:
    """What it means where the estimate does not lie between low and high; '' where it does."""
    low, likely, high = (Decimal(landed[key]) for key in ("low", "likely", "high"))
    if likely < low:
        return "the estimate lies below this range: by the spreads stated it is too low"
    if likely > high:
        return "the estimate lies above this range: by the spreads stated it is too high"
    return ""


def range_strip(found: dict, *, in_dollars: bool) -> dict:
    """One bar for each release from low to high of the landed unit price, with a dot at the estimate.

    Parameters
    ----------
    found : dict
        Plain ``CostRange`` [$].
    in_dollars : bool
        Whether the ends are written in dollars; else in shares of the estimate [-].

    Returns
    -------
    chart : dict
        Size, shapes and words for ``chart_svg.html`` [drawing units].
    """
    ends = [
        (_share(one["landed"]["low"], one["landed"]["likely"]), _share(one["landed"]["high"], one["landed"]["likely"]))
        for one in found["releases"]
    ]
    low = min(min(low, 0.0) for low, _ in ends) - LEAST_REACH
    high = max(max(high, 0.0) for _, high in ends) + LEAST_REACH
    across, top = Scale(low, high, LEFT + ENDS, RIGHT - ENDS), 6.0
    bottom = top + STEP * len(ends)
    shapes = _percent_feet(across, low, high, top, bottom)
    for number, (one, (left, right)) in enumerate(zip(found["releases"], ends, strict=True)):
        shapes += _strip(one, left, right, across, top + STEP * number, in_dollars=in_dollars)
    told = "; ".join(_told(one, in_dollars=in_dollars) for one in found["releases"])
    title = "Range of the landed unit price" if in_dollars else "Range of error by release"
    return chart("range" if in_dollars else "shares", title, f"{told}.", bottom + 32, shapes)


def _percent_feet(across: Scale, low: float, high: float, top: float, bottom: float) -> list[dict]:
    """Grid and ticks in percent of the estimate."""
    step, drawn = round_step(100 * (high - low), TICKS), []
    for tick in round_ticks(100 * low, 100 * high, TICKS):
        at = across.at(tick / 100)
        drawn.append(path("tick" if not tick else "grid", (at, top), (at, bottom)))
        drawn.append(text(at, bottom + 13, _percent(tick / 100, 0 if step >= 1 else 1), anchor="middle", size=SMALL))
    drawn.append(text(RIGHT, bottom + 27, "of the estimate", anchor="end", size=SMALL, colour=SOFT))
    return drawn


def _strip(one: dict, left: float, right: float, across: Scale, top: float, *, in_dollars: bool) -> list[dict]:
    landed = one["landed"]
    likely = f", likely {money(landed['likely'])}" if in_dollars else ""
    said = [money(landed[key]) if in_dollars else _percent(share, 1) for key, share in (("low", left), ("high", right))]
    return [
        text(LEFT, top + 12, f"{count(one['quantity'])} parts{likely}", weight="bold"),
        box("bar", across.at(left), top + 18, across.at(right), top + 30),
        text(across.at(min(left, 0.0)) - 6, top + 28, said[0], anchor="end", size=SMALL),
        text(across.at(max(right, 0.0)) + 6, top + 28, said[1], size=SMALL),
        dot("thin", across.at(0.0), top + 24, 5.0),
    ]


def _told(one: dict, *, in_dollars: bool) -> str:
    landed = one["landed"]
    if in_dollars:
        low, likely, high = (money(landed[key]) for key in ("low", "likely", "high"))
        return f"{count(one['quantity'])} parts: low {low}, likely {likely}, high {high}"
    down, up = (_percent(_share(landed[key], landed["likely"]), 1) for key in ("low", "high"))
    return f"{count(one['quantity'])} parts: {down} to {up} of the estimate"
