"""Stored advice on a price as charts and rows of text: all of it for the house, and what the customer may read."""

from decimal import ROUND_HALF_UP, Decimal

from quoting.documents import labels
from quoting.documents.figures import count, figure, length, money, sentence
from quoting.documents.pallet_drawing import pallet_drawing
from quoting.documents.plant_comparison import plant_rows
from quoting.documents.price_charts import price_curve, waterfall

CENT = Decimal("0.01")
WORTH_TELLING = Decimal("0.005")  # saving as a share of the yearly cost from which another release size is advised
ROUNDING = (
    "Unit price: the release's total divided by its parts, rounded to the cent, half a cent up. Freight per part "
    "likewise. Tools: to the whole dollar. A release below the minimum price is raised to it, up to the next cent."
)


def advice_shown(snapshot: dict) -> dict | None:
    """Everything for the estimator; None where an answer holds no advice, as those stored before there was any.

    Parameters
    ----------
    snapshot : dict
        Plain ``Answer`` [SI; money as text].

    Returns
    -------
    shown : dict or None
        Charts for ``chart_svg.html``, and rows of text [-].
    """
    advice = snapshot.get("advice")
    if not advice:
        return None
    cost = snapshot["chosen"]["cost"]
    return {
        "waterfalls": waterfalls(cost),
        "curve": price_curve(advice["release"]),
        "release": release_shown(advice["release"]),
        "risks": risk_rows(cost),
        "resin": resin_shown(advice["resin"]),
        "target": target_shown(advice["target"]),
        "pallet": pallet_drawing(advice["pallet"]),
        "packs": pack_lines(advice["ltl_packs"]),
        "plants": snapshot["plants"]
        if "plants" in snapshot
        else plant_rows(snapshot),  # kept in the front of an answer
        "lanes": lanes_shown(advice["lanes"]),
        "rounding": ROUNDING,
    }


def advice_for_rep(advice: dict | None) -> dict | None:
    """What a sales rep may see: prices by release size, the target and what would reach it; no cost, no margin."""
    if not advice:
        return None
    return {
        "curve": price_curve(advice["release"]),
        "release": release_shown(advice["release"]),
        "target": target_shown(advice["target"]),
        "packs": pack_lines(advice["ltl_packs"]),
    }


def advice_for_customer(advice: dict | None) -> dict:
    """What the quote prints: prices by size, the size cheapest in a year, a target met, LTL pack, pallet."""
    if not advice:
        return {}
    target = advice["target"]
    return {
        "curve": price_curve(advice["release"]),
        "best": release_shown(advice["release"])["said"],
        "target": sentence(target["said"]) if target and target["met"] else "",
        "packs": pack_lines(advice["ltl_packs"]),
        "pallet": pallet_drawing(advice["pallet"]),
        "rounding": ROUNDING,
    }


def waterfalls(cost: dict) -> list[dict]:
    """One chart for each release, the largest first, since candidates are compared there."""
    return [
        waterfall([line for line in cost["lines"] if line["quantity"] == one["quantity"]], one)
        for one in reversed(cost["breaks"])
    ]


def release_shown(release: dict) -> dict:
    """The year in releases of each size asked for and of the best size, and what to say of it."""
    best, asked = release["best"], release["asked"]
    sizes = {one["quantity"]: one for one in (*asked, best)}
    return {
        "rows": [_release_row(one, release) for _, one in sorted(sizes.items())],
        "said": _release_said(release),
        "carrying": figure(float(release["carrying"]), "share"),
        "carrying_source": release["carrying_source"],
        "annual": count(release["annual"]),
        "priced": len(release["curve"]),
        "smallest": count(release["smallest"]),
        "square_root": count(round(release["square_root"])) if release["square_root"] else "",
        "points": [(count(one["quantity"]), money(one["landed_unit_price"])) for one in release["curve"]],
    }


def _release_row(one: dict, release: dict) -> dict:
    return {
        "quantity": count(one["quantity"]),
        "best": one["quantity"] == release["best"]["quantity"],
        "calls": f"{release['annual'] / one['quantity']:.1f}",
        "landed": money(one["landed_unit_price"]),
        "parts": _dollars(one["parts"]),
        "stock": _dollars(one["stock"]),
        "yearly": _dollars(one["yearly"]),
    }


def _release_said(release: dict) -> str:
    best, saving = release["best"], Decimal(release["saving"])
    cheapest = min(release["asked"], key=lambda one: Decimal(one["yearly"]))
    rate = figure(float(release["carrying"]), "share")
    basis = f"with stock of half a release at {rate} of its value a year"
    if saving <= WORTH_TELLING * Decimal(cheapest["yearly"]):
        size = count(cheapest["quantity"])
        return f"Of the sizes asked for, releases of {size} cost least in a year, {basis}; no other size saves 0.5 %."
    return (
        f"Releases of {count(best['quantity'])} cost least in a year, {basis}: {money(best['landed_unit_price'])} "
        f"landed, {_dollars(release['saving'])} a year less than releases of {count(cheapest['quantity'])}."
    )


def risk_rows(cost: dict) -> list[dict]:
    """What adds to the margin, and why."""
    return [
        {"name": one["name"], "adder": figure(float(one["adder"]), "share"), "why": sentence(one["why"])}
        for one in cost.get("risks") or []
    ]


def resin_shown(resin: dict) -> dict:
    """What resin does to each release, and the clause."""
    return {
        "rows": [
            {
                "quantity": count(one["quantity"]),
                "sheet": money(one["sheet_price"]),
                "resin": money(_cents(one["resin_price"])),
                "tenth": money(_cents(one["per_ten_percent"])),
                "cent": money(one["per_cent_a_pound"]),
                "sheet_only": money(_cents(one["sheet_only"])),
            }
            for one in resin["effects"]
        ],
        "share": figure(float(resin["resin_share"]), "share"),
        "share_source": resin["resin_share_source"],
        "threshold": figure(float(resin["threshold"]), "share"),
        "threshold_source": resin["threshold_source"],
        "clause": f"{sentence(resin['clause'])} {sentence(resin['amounts'])}",
    }


def target_shown(target: dict | None) -> dict | None:
    """The target, and each way to it with its price."""
    if not target:
        return None
    return {
        "met": target["met"],
        "said": sentence(target["said"]),
        "levers": [
            {
                "said": sentence(one["said"]),
                "quantity": count(one["quantity"]),
                "landed": money(one["landed_unit_price"]),
                "word": "reaches it" if one["reaches"] else "above the target",
                "reaches": one["reaches"],
            }
            for one in target["levers"]
        ],
    }


def pack_lines(packs: list[dict]) -> list[str]:
    """Why a release that rides LTL is packed dearer, in words that the customer reads."""
    if not packs:
        return []
    amounts = sorted({Decimal(one["in_price"]) for one in packs})
    sizes = " and ".join(count(one["quantity"]) for one in packs)
    each = money(amounts[0]) if len(amounts) == 1 else f"{money(amounts[0])} to {money(amounts[-1])}"
    return [
        f"Releases of {sizes} travel as a part load (LTL): the carrier moves the pallets from truck to truck and loads "
        f"other freight beside and onto them. Foam between the parts guards against that; it is {each} of the unit "
        "price. A full truck goes from dock to dock, unopened, and needs none."
    ]


def lanes_shown(lanes: dict) -> dict:
    """The distance table: each plant with its road, LTL and truckload for the same release."""
    return {
        "quantity": count(lanes["quantity"]),
        "rows": [
            {
                "plant": f"{one['name']} ({one['plant']})",
                "ships": one["ships"],
                "distance": length(one["distance"]),
                "ltl": money(one["ltl"]) if one["ltl"] is not None else "not allowed",
                "truckload": money(one["truckload"]),
                "mode": labels.said(one["mode"], labels.MODES),
                "why": sentence(one["why"]),
            }
            for one in lanes["lanes"]
        ],
        "basis": lanes["basis"],
        "inputs": lanes["inputs"],
    }


def _cents(amount: str) -> Decimal:
    return Decimal(amount).quantize(CENT, ROUND_HALF_UP)


def _dollars(amount: str) -> str:
    """A yearly amount in whole dollars: its cents say nothing."""
    return f"${Decimal(amount):,.0f}"
