"""One part at every plant: the best candidate of each, as it was stored, or what stands in its way."""

from decimal import Decimal

from quoting.documents import labels
from quoting.documents.figures import count, length, money, phrase, weeks
from quoting.documents.reasons import closest_candidate, in_the_way

AT_THE_PRESS = ("set-up", "forming")


def plant_rows(snapshot: dict) -> list[dict]:
    """Each plant with its best candidate at the largest release, the chosen one first, then by landed price.

    Parameters
    ----------
    snapshot : dict
        Plain ``Answer`` [SI; money as text].

    Returns
    -------
    rows : list of dict
        Text; ``why`` instead of figures where nothing fits there [-].
    """
    by_plant: dict[str, list[dict]] = {}
    for priced in snapshot["candidates"]:
        by_plant.setdefault(priced["judged"]["planned"]["candidate"]["plant"]["code"], []).append(priced)
    chosen = snapshot["chosen"]
    home = chosen["judged"]["planned"]["candidate"]["plant"]["code"] if chosen else ""
    rows = [_row(priced, chosen if code == home else None) for code, priced in by_plant.items()]
    return sorted(rows, key=lambda row: (not row["chosen"], row["order"], row["plant"]))


def _row(candidates: list[dict], chosen: dict | None) -> dict:
    fitting = [one for one in candidates if one["cost"]]
    if not fitting:
        return _refused(candidates)
    best = chosen or min(fitting, key=_landed)
    planned, cost = best["judged"]["planned"], best["cost"]
    at, candidate = cost["breaks"][-1], planned["candidate"]
    lines = {one["name"]: Decimal(one["per_part"]) for one in cost["lines"] if one["quantity"] == at["quantity"]}
    return {
        "plant": f"{candidate['plant']['name']} ({candidate['plant']['code']})",
        "route": f"{candidate['machine']['code']}, {labels.said(candidate['process'], labels.PROCESSES)}, "
        f"{candidate['polymer']['name']}",
        "forming": money(f"{sum((lines[name] for name in AT_THE_PRESS), Decimal(0)):.2f}"),
        "unit_price": money(at["unit_price"]),
        "freight": money(at["freight_per_part"]),
        "landed": money(at["landed_unit_price"]),
        "lead_time": weeks(at["lead_time_weeks"]),
        "distance": length(cost["packing"]["distance"]),
        "chosen": chosen is not None,
        "order": _landed(best),
        "why": "",
    }


def _refused(candidates: list[dict]) -> dict:
    """The candidate that fails the fewest rules speaks for its plant."""
    closest = closest_candidate(candidates)
    plant, failed = closest["judged"]["planned"]["candidate"]["plant"], in_the_way(closest)
    why = phrase(failed[0]["reason"]) if failed else "nothing could be priced"
    return {
        "plant": f"{plant['name']} ({plant['code']})",
        "why": f"{count(len(candidates))} ways tried, none fits; the nearest fails on {failed[0]['rule']}: {why}"
        if failed
        else why,
        "chosen": False,
        "order": Decimal("Infinity"),
    }


def _landed(priced: dict) -> Decimal:
    return Decimal(priced["cost"]["breaks"][-1]["landed_unit_price"])
