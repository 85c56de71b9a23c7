"""What the customer gets of a quote as data: the figures that the PDF prints, for programs. No cost, rate or margin."""

from datetime import date

from quoting.documents.figures import legible, phrase

FORMAT = "quote-data-1"
ASKED = (
    "reference", "customer", "polymers", "colour", "needs", "annual", "releases", "tooling", "secondary", "needed_by",
)  # fmt: skip
PART = (
    "name", "length", "width", "depth", "minimum_wall", "gauge", "show_side", "openings", "holes",
    "service_temperature",
)  # fmt: skip
BREAK = ("quantity", "unit_price", "freight_per_part", "landed_unit_price", "lead_time_weeks")
TOOL = ("name", "price", "lead_time_weeks")
OPTION = ("name", "low", "high")
AMORTISED = ("parts", "per_part", "tooling", "carrying", "rate")


def customer_data(
    snapshot: dict, *, kind: str, number: str, revision: int, issued_on: date, valid_until: date | None, digest: str
) -> dict:
    """The data attached to a quote or letter.

    Parameters
    ----------
    snapshot : dict
        Plain ``Answer`` [SI; money as text in US dollars].
    kind, number : str
        Quote or letter, and its number [-].
    revision : int
        [count]
    issued_on : date
        First day [-].
    valid_until : date or None
        Last day on which it may be accepted; None for a letter [-].
    digest : str
        SHA-256 of the full record that stays with us [-].

    Returns
    -------
    data : dict
        Lengths in metres, temperatures in kelvin, money in US dollars as text [SI].
    """
    known = legible({name: value for name, value in snapshot.items() if name != "candidates"})
    return {
        "format": FORMAT,
        "kind": kind,
        "number": number,
        "revision": revision,
        "issued_on": issued_on.isoformat(),
        "valid_until": valid_until.isoformat() if valid_until else None,
        "currency": "USD",
        "units": "SI",
        "record_sha256": digest,
        "summary": phrase(known["summary"]),
        "asked": _asked(known.get("request")),
        **(_offer(known["chosen"]) if known.get("chosen") and known["chosen"].get("cost") else {}),
        "conditions": [phrase(one["what"]) for one in known["conditions"]],
        "assumptions": [{"field": one["field"], "value": phrase(one["value"])} for one in known["assumptions"]],
    }


def _picked(source: dict, keys: tuple[str, ...]) -> dict:
    return {key: source[key] for key in keys if key in source}


def _asked(request: dict | None) -> dict | None:
    return _picked(request, ASKED) | {"part": _picked(request["part"], PART)} if request else None


def _offer(chosen: dict) -> dict:
    planned, cost = chosen["judged"]["planned"], chosen["cost"]
    candidate, plan = planned["candidate"], planned["plan"]
    amortised = cost.get("amortised")
    return {
        "prices": [_picked(one, BREAK) for one in cost["breaks"]],
        "tooling": [_picked(one, TOOL) for one in cost["tooling"]],
        "options": [_picked(one, OPTION) for one in cost.get("options", ())],
        "tooling_in_price": _picked(amortised, AMORTISED) if amortised else None,
        "made": {
            "process": candidate["process"],
            "plant": candidate["plant"]["name"],
            "machine": candidate["machine"]["code"],
            "polymer": candidate["polymer"]["name"],
            "gauge": candidate["gauge"],
            "blank_length": candidate["layout"]["blank_length"],
            "blank_width": candidate["layout"]["blank_width"],
            "cavities": candidate["layout"]["along"] * candidate["layout"]["across"],
            "mean_wall": plan["thinning"]["mean_wall"],
            "thinnest_wall": plan["thinning"]["thinnest_wall"],
            "part_mass": plan["part_mass"],
        },
    }
