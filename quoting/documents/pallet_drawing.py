"""A full pallet to scale: from the side with its parts and the height limit, from above with its places."""

from math import ceil

from quoting.documents.chart_shapes import BRICK, SMALL, SOFT, WIDTH, box, chart, path, text
from quoting.documents.figures import count, figure, length

EDGE = 8.0  # drawing units around the views
GAP = 20.0  # drawing units between the views
TALLEST = 230.0  # drawing units of the side view at most
RIMS = 4.0  # drawing units: rims nearer than this to each other are not drawn one by one
TAPER = 0.06  # of the side that a nesting part leans in on each side in the picture; the draft itself is not drawn


def pallet_drawing(load: dict) -> dict:
    """Side and plan of a full pallet at one scale, with the limit of height.

    Parameters
    ----------
    load : dict
        Plain ``PalletLoad`` [m, kg].

    Returns
    -------
    chart : dict
        Size, shapes and words for ``chart_svg.html`` [drawing units].
    """
    room = WIDTH - 2 * EDGE - GAP
    tall = max(load["height_limit"], load["height"])
    scale = min(room / 2 / load["length"], TALLEST / tall)
    top = 20.0
    floor = top + tall * scale
    side, plan = EDGE, EDGE + load["length"] * scale + GAP
    shapes = [
        *_side_view(load, side, floor, scale),
        *_limit(load, side, floor, scale),
        *_plan_view(load, plan, top, scale),
        *_facts(load, plan, top + load["width"] * scale),
    ]
    facts = top + load["width"] * scale + 4 * 15.0
    bottom = max(floor + 18, facts + 10)
    return chart("pallet", "A full pallet, to scale", _told(load), bottom, shapes)


def _side_view(load: dict, left: float, floor: float, scale: float) -> list[dict]:
    """Deck and the columns that stand along the pallet's length."""
    right, deck = left + load["length"] * scale, floor - load["deck"] * scale
    drawn = [box("wall", left, deck, right, floor)]
    wide = load["place_length"] * scale
    for place in range(min(load["along"], load["per_layer"]) or 1):
        drawn += _column(load, left + place * wide, wide, deck, scale)
    drawn.append(text(left, floor + 13, f"{length(load['length'])} long", size=SMALL, colour=SOFT))
    return drawn


def _column(load: dict, left: float, wide: float, deck: float, scale: float) -> list[dict]:
    """Parts of one column: tiers as boxes; nested parts as rims, the last one whole on top."""
    pitch, high, number = load["pitch"] * scale, load["part_height"] * scale, load["per_column"]
    right, every = left + wide, max(1, ceil(RIMS / pitch))
    if not load["nested"]:
        downs = [deck - tier * pitch for tier in range(0, number)]
        return [box("face", left, down - high, right, down) for down in downs]
    last, lean = deck - (number - 1) * pitch, TAPER * wide
    hull = path("face", (left, deck), (left, last), (left + lean, last - high), (right - lean, last - high),
                (right, last), (right, deck), closed=True)  # fmt: skip
    rims = [path("leader", (left, deck - one * pitch), (right, deck - one * pitch)) for one in range(0, number, every)]
    return [hull, *rims]


def _limit(load: dict, left: float, floor: float, scale: float) -> list[dict]:
    """The height limit over the side view, with the height that is used."""
    down, right = floor - load["height_limit"] * scale, left + load["length"] * scale
    return [
        path("scorch", (left - 4, down), (right + 4, down)),
        text(left, down - 5, f"limit {length(load['height_limit'])}", size=SMALL, colour=BRICK),
    ]


def _plan_view(load: dict, left: float, top: float, scale: float) -> list[dict]:
    """The pallet from above with the places that are taken."""
    drawn = [box("wall", left, top, left + load["length"] * scale, top + load["width"] * scale)]
    long, wide = load["place_length"] * scale, load["place_width"] * scale
    places = [(one, other) for other in range(max(1, load["across"])) for one in range(max(1, load["along"]))]
    for along, across in places[: load["per_layer"]]:
        drawn.append(box("face", left + along * long, top + across * wide, left + (along + 1) * long,
                         top + (across + 1) * wide))  # fmt: skip
    drawn.append(text(left + load["length"] * scale, top - 7, "from above", anchor="end", size=SMALL, colour=SOFT))
    return drawn


def _facts(load: dict, left: float, top: float) -> list[dict]:
    said = (
        f"{load['per_layer']} × {load['per_column']} = {count(load['per_layer'] * load['per_column'])} parts",
        f"{length(load['height'])} high",
        f"{figure(load['mass'], 'kg')} gross",
        f"full by {load['limited_by']}",
    )
    return [text(left, top + 16 + 15 * row, words, size=SMALL) for row, words in enumerate(said)]


def _told(load: dict) -> str:
    stand = "nested" if load["nested"] else "on tiers"
    columns = "1 column" if load["per_layer"] == 1 else f"{load['per_layer']} columns"
    return (
        f"{columns} of {load['per_column']} parts, {stand}, on a pallet of "
        f"{length(load['length'])} by {length(load['width'])}; {length(load['height'])} high of "
        f"{length(load['height_limit'])} allowed, parts and interleaf {figure(load['net_mass'], 'kg')} of "
        f"{figure(load['mass_limit'], 'kg')}, gross {figure(load['mass'], 'kg')}; full by {load['limited_by']}."
    )
