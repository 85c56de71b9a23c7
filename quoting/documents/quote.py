"""What the PDF quote says, as a plain context built from a snapshot. No cost line, rate or margin is read here."""

from collections.abc import Sequence
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

from quoting.documents import labels
from quoting.documents.blank_drawing import blank_drawing
from quoting.documents.cautions import caution_sentences
from quoting.documents.figures import count, day, figure, legible, length, money, phrase, sentence, size, weeks
from quoting.documents.lead_chart import lead_shown
from quoting.documents.metal import metal_table
from quoting.documents.price_shown import advice_for_customer
from quoting.documents.reasons import other_ways, why_this_way
from quoting.documents.resting import for_customer
from quoting.documents.terms import EXCLUSIONS, FREIGHT, LEAD_TIME, freight_words, mode_words, terms
from quoting.documents.tolerances import growth, tolerance_rows
from quoting.routing.rules.quantity import PROGRAMME_YEARS

CENT = Decimal("0.01")
TOOL_WORDS = {
    "moving_sections": "moving sections for undercuts",
    "transfer_inspection": "inspection on arrival",
    "prototype": "prototype tool, if you order it",
    "likely_repairs": "repairs, an estimate",
    "weld_nest": "nests and plate for hot-plate welding",
}
Row = tuple[str, str]


def quote_document(
    snapshot: dict, *, number: str, revision: int, issued_on: date, valid_until: date, prepared_by: str
) -> dict:
    """Context of the quote: headings are the template's, every text and figure is here.

    Parameters
    ----------
    snapshot : dict
        Plain ``Answer`` whose decision is a quote [SI; money as text].
    number, prepared_by : str
        Quote number and the person who answers for it [-].
    revision : int
        [count]
    issued_on, valid_until : date
        First and last day on which it may be accepted [-].

    Returns
    -------
    context : dict
        [-]

    Raises
    ------
    ValueError
        The snapshot has no chosen candidate with a cost, so that there is nothing to quote.
    """
    if not snapshot.get("chosen") or not snapshot["chosen"].get("cost"):
        raise ValueError(f"quote {number}: the snapshot decides {snapshot.get('decision')!r} and holds no price")
    known = legible({name: value for name, value in snapshot.items() if name != "candidates"})
    planned, cost = known["chosen"]["judged"]["planned"], known["chosen"]["cost"]
    request = planned["request"]
    return {
        **_heading(request, number, revision, issued_on, prepared_by),
        "valid_until": day(valid_until),
        "customer": request["customer"],
        "destination": freight_words(request),
        "offer": sentence(known["summary"]),
        "part": part_rows(request),
        "prices": price_rows(cost["breaks"]),
        "lead_time": LEAD_TIME,
        "lead": next(iter(lead_shown(cost["breaks"], known["answered_on"], inside=False)), None),
        "advice": advice_for_customer(known.get("advice")),
        "tooling": tooling_table(cost["tooling"], request["annual"], cost.get("amortised"), cost.get("options", ())),
        "route": route_rows(planned),
        "why": why_this_way(known),
        "others": legible(other_ways(snapshot)),
        "material": material_rows(planned),
        "drawing": blank_drawing(planned["candidate"], planned["plan"]),
        "packing": packing_rows(cost),
        "freight": FREIGHT,
        "tolerances": tolerance_rows(planned, cost["tooling"]),
        "growth": growth(planned),
        "assumptions": [
            (labels.field(one["field"]), phrase(one["value"]), sentence(one["why"])) for one in known["assumptions"]
        ],
        "doubts": [(labels.field(one["field"]), sentence(one["text"])) for one in known["doubts"]],
        "conditions": [(sentence(one["what"]), sentence(one["why"])) for one in known["conditions"]],
        "metal": _metal(known["metal_comparison"]),
        "terms": terms(
            valid_until.isoformat(),
            request["tooling"] == "transfer",
            amortised=bool(cost.get("amortised")),
            clause=bool(known.get("advice")),
        ),
        "exclusions": EXCLUSIONS,
        "cautions": [sentence(text) for text in caution_sentences(known)],
    }


def _heading(request: dict, number: str, revision: int, issued_on: date, prepared_by: str) -> dict:
    return {
        "title": f"Quote {number} revision {revision}: {request['part']['name']}",
        "number": legible(number),
        "revision": revision,
        "issued_on": day(issued_on),
        "issued_iso": issued_on.isoformat(),
        "prepared_by": legible(prepared_by),
        "part_name": request["part"]["name"],
        "reference": request["reference"],
    }


def _metal(comparison: dict | None) -> dict | None:
    table = metal_table(comparison)
    return table and table | {"assumptions": [for_customer(text) for text in table["assumptions"]]}


def part_rows(request: dict) -> list[Row]:
    """What is quoted, as the customer described it."""
    part = request["part"]
    worked = ", ".join(
        f"{one['count']} × {labels.said(one['operation'], labels.OPERATIONS)}" for one in request["secondary"]
    )
    needs = ", ".join(labels.said(need, labels.NEEDS) for need in request["needs"])
    rows = [
        ("Part", part["name"]),
        ("Drawing, revision", request["reference"] or "none given; priced from these sizes"),
        ("Size, L × W × D", size(part["length"], part["width"], part["depth"])),
        ("Wall asked", _wall_asked(part)),
        ("Side that shows", labels.said(part["show_side"], labels.SHOW_SIDES)),
        ("Formed", _formed(part)),
        ("Trim", f"perimeter; openings: {part['openings']}; holes: {part['holes']}"),
        ("After forming", worked),
        ("Colour", labels.said(request["colour"], labels.COLOURS)),
        ("Needs", needs),
        ("Hottest in use", figure(part["service_temperature"], "K")),
        ("Yearly quantity", f"{count(request['annual'])} parts"),
    ]
    return [row for row in rows if row[1]]


def _formed(part: dict) -> str:
    """Over a male tool, and which side of the part that leaves with the sheet's own surface; else as usual."""
    if part.get("tool_side") != "male":
        return ""
    return f"{labels.TOOL_SIDES['male']}; the outside keeps the sheet's own surface"


def _wall_asked(part: dict) -> str:
    if part["gauge"] is not None:
        return f"starting gauge {length(part['gauge'])}"
    return f"at least {length(part['minimum_wall'])} after forming" if part["minimum_wall"] is not None else ""


def price_rows(breaks: list[dict]) -> list[dict]:
    """One row for each release; the amount is the printed unit price times the quantity."""
    return [
        {
            "quantity": count(one["quantity"]),
            "unit_price": money(one["unit_price"]),
            "freight": money(one["freight_per_part"]),
            "landed": money(one["landed_unit_price"]),
            "amount": money(Decimal(one["landed_unit_price"]) * one["quantity"]),
            "setup": money(to_cent(Decimal(one["setup_per_part"]))),
            "lead_time": weeks(one["lead_time_weeks"]),
        }
        for one in breaks
    ]


def to_cent(amount: Decimal) -> Decimal:
    """To the cent, half a cent up, for figures that are shown as information."""
    return amount.quantize(CENT, ROUND_HALF_UP)


def tooling_table(lines: list[dict], annual: int, amortised: dict | None, options: Sequence[dict]) -> dict:
    """Each tool, the sum, and the sum spread over the programme as information.

    Parameters
    ----------
    lines : list
        Plain tooling lines of the snapshot [money as text].
    annual : int
        Parts a year, above 0 [count].
    amortised : dict or None
        How the tooling is paid through the part price; None where it is billed by itself [money as text].
    options : sequence of dict
        What stands beside the tooling and in no sum [money as text].

    Returns
    -------
    table : dict
        Rows, total, number of parts and amount for each part [-].
    """
    total = sum((Decimal(line["price"]) for line in lines), Decimal(0))
    parts = annual * PROGRAMME_YEARS
    return {
        "rows": [
            {
                "name": labels.said(line["name"], TOOL_WORDS).capitalize(),
                "price": money(line["price"]),
                "lead_time": weeks(line["lead_time_weeks"]) if line["lead_time_weeks"] else "with the tool",
            }
            for line in lines
        ],
        "total": money(total),
        "years": PROGRAMME_YEARS,
        "parts": count(parts),
        "spread": money(to_cent(total / parts)),
        "amortised": _amortised(amortised),
        "options": [_option(one) for one in options],
    }


def _amortised(amortised: dict | None) -> dict | None:
    if amortised is None:
        return None
    return {
        "parts": count(amortised["parts"]),
        "per_part": money(amortised["per_part"]),
        "carrying": money(amortised["carrying"]),
        "rate": figure(float(amortised["rate"]), "share"),
        "paid": money(Decimal(amortised["tooling"]) + Decimal(amortised["carrying"])),
    }


def _option(one: dict) -> dict:
    """An offer has one price; an estimate has a low and a high one."""
    price = money(one["low"]) if one["low"] == one["high"] else f"{money(one['low'])} to {money(one['high'])}"
    return {"name": labels.said(one["name"], TOOL_WORDS).capitalize(), "price": price}


def route_rows(planned: dict) -> list[Row]:
    """Where and on what the part is made."""
    candidate, trim = planned["candidate"], planned["plan"]["trim"]
    plant, machine, layout = candidate["plant"], candidate["machine"], candidate["layout"]
    cavities = layout["along"] * layout["across"]
    rows = [
        ("Process", labels.way_of_forming(planned)),
        ("Plant", f"{plant['name']}, {plant['state']}"),
        ("Machine", f"{machine['code']}, {labels.said(machine['kind'], labels.MACHINES)}"),
        ("Parts on one blank", count(cavities)),
    ]
    if trim["moves"]:
        rows.append(("Trimmed at", f"plant {trim['plant']}; the move is in the price"))
    return rows


def material_rows(planned: dict) -> list[Row]:
    """Sheet as bought, and the walls that forming is predicted to leave."""
    candidate, plan = planned["candidate"], planned["plan"]
    polymer, thinning = candidate["polymer"], plan["thinning"]
    twin = candidate["process"] == "twin_sheet"
    return [
        ("Material", f"{polymer['name']}: {polymer['description']}" if polymer["description"] else polymer["name"]),
        ("Starting gauge", length(candidate["gauge"]) + (" for each of two sheets" if twin else "")),
        ("Blank", size(candidate["layout"]["blank_length"], candidate["layout"]["blank_width"])),
        ("Mean wall", length(thinning["mean_wall"])),
        ("Thinnest wall", length(thinning["thinnest_wall"])),
        ("Weight, trimmed", figure(plan["part_mass"], "kg")),
    ]


def packing_rows(cost: dict) -> list[dict]:
    """How each release is packed and how it travels."""
    packings = cost["packings"] or [cost["packing"]] * len(cost["breaks"])
    return [
        {
            "quantity": count(one["quantity"]),
            "per_pallet": count(packing["parts_per_pallet"]),
            "pallets": count(packing["pallets"]),
            "density": f"{packing['density_pcf']:.1f} lb/ft³",
            "class": packing["freight_class"],
            "mode": mode_words(packing),
            "distance": length(packing["distance"]),
        }
        for one, packing in zip(cost["breaks"], packings, strict=True)
    ]
