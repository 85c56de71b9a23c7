"""The thickness map of a CAD model in words: how the sheet was formed, what is left of it, and the gauge that asks for.

A report is believed only where it holds what is expected: a missing or strange entry becomes no row at all.
"""

from materials.sheet import STOCKED_GAUGES
from quoting.documents.figures import figure, length
from quoting.documents.model_sheet import Row, number, tree
from quoting.routing.gauge import gauge_by_share

APART = 0.15  # -, of the answer's gauge, from which a disagreement with the map is told: common practice, no source
MESH_CAUTION = (
    "The thinnest corner depends on the mesh: where three faces meet without a radius it gets thinner the finer it is "
    "worked out; one with a radius comes to rest. Go by the 5th percentile and the mean, and take the minimum as a "
    "pointer to the place."
)
PLACES = (
    ("Mean wall", "mean", "of the gauge"),
    ("5th percentile", "fifth_percentile", "of the gauge; 95 % of the part is thicker"),
    ("Thinnest place", "minimum", "of the gauge, at mark 1"),
    ("Covered", "covered", "of the model's surface is reached by the sheet"),
    ("Mass balance", "mass_balance_error", "off, formed sheet against flat sheet"),
)
COMPARED = PLACES[:4]
PAIR = (("Map, 5th percentile", "fifth_percentile"), ("Map, thinnest place", "minimum"))
WAY = ("process", "plug", "along", "across")  # a change of which is told
TWIN = (
    "A twin-sheet part is formed from two sheets, each drawn to about half its depth. The map draws one sheet to the "
    "whole depth: each half keeps more wall than it shows, so that no gauge is taken from it."
)


def walls_shown(report: dict, fine: dict | None, snapshot: dict | None, way_now: dict) -> dict:
    """All of it, for a template.

    Parameters
    ----------
    report : dict
        As kept [-].
    fine : dict or None
        What the finer map found; None until it is ready [-].
    snapshot : dict or None
        Stored answer [SI].
    way_now : dict
        How the answer forms the part now, as ``forming_way`` tells [-].

    Returns
    -------
    shown : dict
        walls, way, way_changed, fine_rows, gauge, mesh_caution [-].
    """
    coarse = tree(report, "found", "membrane")
    best = tree(fine, "membrane") if tree(fine, "membrane") else coarse
    way, gauge = tree(best, "way"), gauge_shown(best, snapshot)
    if gauge and tree(way, "tool"):  # another way than the answer's was asked for: it may well disagree
        gauge |= {"notes": [], "apart": False}
    return {
        "walls": place_rows(best),
        "way": way_rows(best),
        "way_changed": bool(way) and any(tree(way, key) != way_now[key] for key in WAY),
        "fine_rows": fine_rows(coarse, tree(fine, "membrane")),
        "gauge": gauge,
        "mesh_caution": MESH_CAUTION,
    }


def place_rows(membrane: object) -> list[Row]:
    """The map in numbers, all as a share of the gauge."""
    known = ((label, number(membrane, key), words) for label, key, words in PLACES)
    return [(label, f"{figure(value, 'share')} {words}") for label, value, words in known if value is not None]


def way_rows(membrane: object) -> list[Row]:
    """How the sheet of the map was formed; nothing for a report that does not say."""
    way = tree(membrane, "way")
    if not isinstance(way, dict) or not way:
        return []
    female = tree(membrane, "tool") == "female"
    plug = "a plug first, then the vacuum" if way.get("plug") is True else "no plug"
    stretch = number(way, "pre_stretch") or 1.0
    bubble = f"blown up to {stretch:g} times its area first" if stretch > 1 else "no bubble blown first"
    rows = [("Formed", f"{'into a female' if female else 'over a male'} tool, {plug}, {bubble}")]
    web, along, across = (number(way, key) for key in ("web", "along", "across"))
    if way.get("process") and web is not None and along and across:
        count = int(along * across)
        laid = f"{int(along)} × {int(across)} on the blank" if count > 1 else "one on the blank"
        strip = "half the gap to the next one" if way.get("toward") == "next" else "out to the clamp"
        rows.append(("Cavities", f"{laid}; {length(web)} of sheet at the narrowest, {strip}"))
        if female:
            rows.append(("Web", "lies on the rim and gives no sheet to the cavity"))
    return rows


def fine_rows(coarse: object, fine: object) -> list[dict[str, str]]:
    """Coarse and fine figures side by side; the change tells how far the map has come to rest."""
    rows = []
    for label, key, _ in COMPARED:
        first, second = number(coarse, key), number(fine, key)
        if first and second is not None:
            change = f"{100 * (second / first - 1):+.1f} %"
            rows.append({"label": label, "coarse": figure(first, "share"), "fine": figure(second, "share"),
                         "change": change})  # fmt: skip
    return rows


def gauge_shown(membrane: object, snapshot: dict | None) -> dict | None:
    """Gauge that leaves the wall asked for, or the wall that a given gauge leaves, by the map and by the answer.

    Parameters
    ----------
    membrane : object
        What the map found [-].
    snapshot : dict or None
        Stored answer [SI].

    Returns
    -------
    shown : dict or None
        ``asked``, ``rows`` (label, share, needed, stocked), ``walls`` (label, wall, thin) of ``given`` gauge,
        ``thin`` in words, ``notes`` and ``apart`` [-]; None where the answer knows no part.
    """
    part = tree(snapshot, "request", "part")
    planned = tree(snapshot, "chosen", "judged", "planned")
    shares = [(label, number(membrane, key)) for label, key in PAIR]
    shares = [(label, share) for label, share in shares if share is not None and 0 < share <= 1]
    if not isinstance(part, dict) or not shares:
        return None
    if tree(planned, "candidate", "process") == "twin_sheet":
        return {"rows": [], "walls": [], "notes": [TWIN], "apart": False}
    offer = tree(planned, "candidate", "offer")
    thin = number(offer, "gauge_tolerance") or 0.0
    asked, given = number(part, "minimum_wall"), number(part, "gauge")
    shown = {"rows": [], "walls": [], "notes": [], "apart": False, "thin": figure(thin, "share") if thin else ""}
    if asked:
        shown |= {"asked": length(asked)} | _needed(asked, shares, thin, planned)
    if given:
        shown |= {"given": length(given), "walls": _left(given, shares, thin, membrane, planned)}
    return shown if asked or given else None


def _needed(asked: float, shares: list, thin: float, planned: object) -> dict:
    rows, notes = [], []
    thickest = number(planned, "candidate", "offer", "thickest_gauge")
    needed = {}
    for label, share in shares:
        found = gauge_by_share(asked, share, thin)
        needed[label] = found.required
        rows.append((label, figure(share, "share"), length(found.required), _stocked(found.starting, thickest)))
    chosen, required = number(planned, "candidate", "gauge"), number(planned, "candidate", "required_gauge")
    if not chosen or not required:
        return {"rows": rows, "notes": ["No route is chosen, so that there is no gauge of the answer to compare with."]}
    left = number(planned, "plan", "thinning", "thinnest_wall")
    share = figure(left / chosen, "share") if left else "–"
    rows.append(("Answer, its thinnest place", share, length(required), length(chosen)))
    by_map = needed.get(PAIR[0][0])
    ratio = by_map / required - 1 if by_map else 0.0
    if abs(ratio) > APART:
        notes.append(_disagreement(ratio))
    return {"rows": rows, "notes": notes, "apart": abs(ratio) > APART}


def _disagreement(ratio: float) -> str:
    more, other = ("more", "thinner") if ratio > 0 else ("less", "thicker")
    apart, least = figure(abs(ratio), "share"), figure(APART, "share")
    return (
        f"By its 5th percentile the map asks for {apart} {more} gauge than the answer's model of the walls: it sees "
        f"the part come out {other}. The answer stands as it is; settle the gauge before quoting. Told from {least} on."
    )


def _stocked(gauge: float, thickest: float | None) -> str:
    if gauge > max(STOCKED_GAUGES):
        return f"none: the thickest stocked is {length(max(STOCKED_GAUGES))}"
    if thickest and gauge > thickest:
        return f"{length(gauge)}, but the chosen sheet is offered up to {length(thickest)}"
    return length(gauge)


def _left(given: float, shares: list, thin: float, membrane: object, planned: object) -> list[tuple[str, str, str]]:
    mean = number(membrane, "mean")
    places = [*shares, *([("Map, mean", mean)] if mean else [])]
    rows = [(label, length(given * share), length(given * share * (1 - thin))) for label, share in places]
    chosen, left = number(planned, "candidate", "gauge"), number(planned, "plan", "thinning", "thinnest_wall")
    if chosen and left:
        rows.append(("Answer, its thinnest place", length(left), length(left * (1 - thin))))
    return rows
