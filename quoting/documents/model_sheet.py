"""The report on a CAD model as rows in the words of the trade, for the screens and the forming worksheet.

A report is believed only where it holds what is expected: a missing or strange entry becomes no row at all.
"""

from base64 import b64encode
from math import isfinite, radians

from quoting.documents.figures import figure, legible, length, sentence

Row = tuple[str, str]
HOOK_NAMES = {
    "draw": "Direction of draw",
    "shown": "Shaded pictures",
    "measures": "Measures",
    "moldability": "Draft and undercuts",
    "membrane": "Wall of the formed sheet",
    "turning": "Model to turn",
}
PICTURES = {  # in the order in which they are shown: (name, caption, what one sees)
    "shaded_above": ("Part from above", "The part, shaded, seen from above at an angle, with a scale bar"),
    "shaded_below": ("Part from below", "The part, shaded, seen from below at an angle, with a scale bar"),
    "shaded_draw": ("Part along the draw", "The part, shaded, seen straight along the direction of draw"),
    "draft_above": ("Draft, from above", "Draft of the walls as colours, seen from above; undercuts are hatched"),
    "draft_below": ("Draft, from below", "Draft of the walls as colours, seen from below; undercuts are hatched"),
    "places": ("Sharp corners and pockets", "The part seen from above: corners without a radius as red edges, and in "
               "blue the widest circle in the opening of each deep pocket, or of the deepest, with its number"),
    "wall": ("Wall of the formed sheet", "Wall of the formed sheet as colours, in percent of the gauge; the thinnest "
             "place carries mark 1"),
}  # fmt: skip
TOOLS = {"female": "female (the part forms into a cavity)", "male": "male (the part forms over the tool)"}
AXES = (("X", 0), ("Y", 1), ("Z", 2))
LARGEST = 1e15
STRAIGHT = 0.9999  # cosine from which a draw is called an axis of the file


def tree(report: object, *path: str) -> object:
    """What stands at a path of keys; None where it leads nowhere."""
    for key in path:
        report = report.get(key) if isinstance(report, dict) else None
    return report


def number(report: object, *path: str) -> float | None:
    """The finite number at a path; None for anything else."""
    value = tree(report, *path)
    return float(value) if is_number(value) else None


def is_number(value: object) -> bool:
    """Whether it is a finite number of a size that can be written down."""
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < LARGEST and isfinite(value)


def listed(report: object, *path: str) -> list:
    """The list at a path; an empty one for anything else."""
    value = tree(report, *path)
    return value if isinstance(value, list) else []


def texts(report: object, *path: str) -> list[str]:
    """The texts of a list at a path, fit to print, as sentences."""
    return [sentence(legible(one, 300)) for one in listed(report, *path) if isinstance(one, str) and one.strip()]


def measure_rows(report: dict) -> list[Row]:
    """Sizes along the draw, and the tool that suits."""
    found = tree(report, "found", "measures")
    if not isinstance(found, dict):
        return []
    radius = number(found, "smallest_inside_radius")
    volume = number(found, "volume")
    rows = [
        *_figures(found, (
            ("Length", "length", "m"), ("Width", "width", "m"), ("Depth along the draw", "depth", "m"),
            ("Projected area", "projected_area", "m2"), ("Formed surface", "surface_area", "m2"),
            ("Areal draw ratio", "areal_draw_ratio", "-"), ("Trim line", "trim_length", "m"),
        )),
        ("Openings", _openings(found)),
        ("Smallest inside radius", "no curved inside corner found" if radius is None else length(radius)),
        *_figures(found, (("Wall of the model", "wall", "m"),)),
        ("Volume", "none: the surface is not closed" if volume is None else figure(volume, "m3")),
        ("Watertight", "yes" if found.get("watertight") is True else "no"),
        *_figures(found, (("Bodies measured", "bodies", "count"),)),
        ("Draw", _draw(report)),
        ("Tool side", _tool(found)),
    ]  # fmt: skip
    return [row for row in rows if row[1]]


def _figures(found: object, asked: tuple[tuple[str, str, str], ...]) -> list[Row]:
    known = ((label, number(found, key), unit) for label, key, unit in asked)
    return [(label, figure(value, unit)) for label, value, unit in known if value is not None]


def _openings(found: dict) -> str:
    rings = [one for one in listed(found, "openings") if is_number(one)]
    holes = int(number(found, "holes") or 0)
    told = f"{len(rings)}, {length(sum(rings))} round them" if rings else "none seen along the draw"
    more = f"; {holes} more ring{'s' if holes > 1 else ''} of free edges in the side, or gaps" if holes else ""
    return told + more


def _draw(report: dict) -> str:
    way = listed(report, "draw")
    if len(way) != 3 or not all(is_number(one) for one in way):
        return ""
    for name, place in AXES:
        if abs(way[place]) > STRAIGHT:
            return f"along {'+' if way[place] > 0 else '−'}{name} of the file, out of the cavity"
    return f"along ({', '.join(f'{one:.2f}' for one in way)}) of the file, out of the cavity"


def _tool(found: dict) -> str:
    side = TOOLS.get(str(tree(found, "tool_side", "tool")), "")
    reason = tree(found, "tool_side", "reason")
    return f"{side}: {legible(reason, 300)}" if side and isinstance(reason, str) else side


def moldability_rows(report: dict) -> list[Row]:
    """Draft, undercuts, pockets and sharp corners of the part on the tool that suits."""
    found = tree(report, "found", "moldability")
    if not isinstance(found, dict):
        return []
    rows = _figures(found, (("Area of the walls", "wall_area", "m2"),))
    least = number(found, "least_draft")
    rows.append(("Least draft", "no side walls" if least is None else figure(radians(least), "rad")))
    for pair in listed(found, "below"):
        if isinstance(pair, list) and len(pair) == 2 and all(is_number(one) for one in pair):
            rows.append((f"Walls below {pair[0]:g} deg", f"{figure(float(pair[1]), 'share')} of the wall area"))
    return [*rows, ("Undercuts", _undercuts(found)), *_pocket(found), ("Sharp inside corners", _corners(found))]


def _undercuts(found: dict) -> str:
    marks = listed(found, "undercuts")
    if not marks:
        return "none found"
    area = number(found, "undercut_area") or 0.0
    deepest = max((number(one, "worst") or 0.0 for one in marks), default=0.0)
    return f"{len(marks)}, {figure(area, 'm2')} in all; the deepest is {length(deepest)}"


def _pocket(found: dict) -> list[Row]:
    ratio, depth, width = (number(found, "pocket", key) for key in ("ratio", "depth", "width"))
    if ratio is None or depth is None or width is None:
        return []
    count = len(listed(found, "pockets"))
    told = f"{length(depth)} deep in an opening of {length(width)}: depth is {ratio:.2f} of the width"
    return [("Deepest pocket", told + (f"; {count} deeper than 0.75 of their width" if count else ""))]


def _corners(found: dict) -> str:
    marks = listed(found, "corners")
    total = number(found, "corner_length")
    if not marks or not total:
        return "none: every inside corner is rounded"
    sharpest = max((number(one, "worst") or 0.0 for one in marks), default=0.0)
    return f"{length(total)} of edge without a radius; faces meet at up to {figure(radians(sharpest), 'rad')}"


def model_warnings(report: dict) -> list[str]:
    """Everything that the numbers cannot be trusted for, each once."""
    found = [
        *texts(report, "warnings"),
        *texts(report, "found", "measures", "warnings"),
        *texts(report, "found", "membrane", "warnings"),
    ]
    return list(dict.fromkeys(found))


def failures(report: dict) -> list[Row]:
    """What could not be worked out, and why."""
    failed = tree(report, "failed")
    failed = failed if isinstance(failed, dict) else {}
    return [(HOOK_NAMES.get(name, "Another figure"), sentence(legible(str(why), 300))) for name, why in failed.items()]


def picture_list(report: dict) -> list[dict[str, str]]:
    """Pictures that the report holds and the house knows, in the order of the page."""
    held = tree(report, "pictures")
    held = held if isinstance(held, dict) else {}
    return [{"name": name, "caption": caption, "alt": alt} for name, (caption, alt) in PICTURES.items() if name in held]


def model_shown(report: dict) -> dict:
    """All of it, for a template."""
    return {
        "measures": measure_rows(report),
        "notes": texts(report, "found", "measures", "notes"),
        "moldability": moldability_rows(report),
        "warnings": model_warnings(report),
        "failed": failures(report),
        "pictures": picture_list(report),
    }


def model_printed(report: dict, pictures: dict[str, bytes]) -> dict:
    """The same with the pictures inside as data: addresses, for a document that may fetch nothing.

    Parameters
    ----------
    report : dict
        As kept [-].
    pictures : dict
        Bytes of PNG pictures by name; those that are not here are left out [-].

    Returns
    -------
    shown : dict
        As `model_shown`, each picture with its ``source`` [-].
    """
    shown = model_shown(report)
    shown["pictures"] = [
        one | {"source": f"data:image/png;base64,{b64encode(pictures[one['name']]).decode('ascii')}"}
        for one in shown["pictures"]
        if pictures.get(one["name"])
    ]
    return shown
