"""What people confirm of a model: the unit it was drawn in, which of its bodies is the part, which way it is drawn."""

from quoting.desk.form_fields import LABELS
from quoting.desk.labels import MODEL_UNITS
from quoting.documents.figures import figure, legible, length, size
from quoting.documents.model_sheet import is_number, listed, number, tree
from quoting.geometry.files.file_units import UNITS
from quoting.intake.model_sizes import STRAIGHT, along
from quoting.quotes import models

SIX_AXES = ("+x", "-x", "+y", "-y", "+z", "-z")
DIGITS = 6  # of a direction as it is typed


def choices_of(report: models.ModelReport) -> dict:
    """Context of the choices, from a report that is ready; each row is (value, words, chosen, name of a picture)."""
    found, asked = report.report, report.asked if isinstance(report.asked, dict) else {}
    unit = {metres: name for name, metres in UNITS.items()}.get(number(found, "scale"), "")
    return {
        "unit": MODEL_UNITS.get(unit, "the unit that it says"),
        "unit_confirmed": "unit" in asked,
        "unit_known": "unit" in asked or found.get("unit_known") is True,
        "unit_by_sizes": found.get("unit_stated") is False and "sizes" in asked,
        "units": [{"value": code, "words": words, "chosen": code == unit} for code, words in MODEL_UNITS.items()],
        "bodies": _bodies(found),
        "body_confirmed": "body" in asked,
        "draws": _draws(found),
        "draw_confirmed": "draw" in asked,
        "axes": _other_axes(_draws(found)),
    }


def refused_choice(field: str, value: str, reason: str, errors: list[str], page: str) -> dict:
    """Context of a choice that was not taken: the form comes back as it was sent, with why, on a ``page`` that is
    answered to a POST and so names its own address."""
    return {
        "field": field,
        "value": value,
        "reason": reason,
        "errors": errors,
        "page": page,
        "summary": [("model", LABELS.get(field, ""), error) for error in errors],
    }


def _bodies(found: dict) -> list[dict]:
    rows = []
    for place, body in enumerate(listed(found, "bodies")):
        sides = [side for side in listed(body, "extents") if is_number(side)]
        area = number(body, "area")
        if len(sides) == 3 and area is not None:
            words = f"{place + 1}: {size(*sides)} along the axes of the file, surface {figure(area, 'm2')}"
            rows.append({"value": place + 1, "words": words, "chosen": place == found.get("body")})
    return rows


def _draws(found: dict) -> list[dict]:
    """Draws that were found, best first; the one in use stands among them even where it was not found."""
    used, rows, pictures = _way(found.get("draw")), [], tree(found, "pictures")
    for place, draw in enumerate(listed(found, "found", "draw", "draws"), 1):
        way, depth = _way(tree(draw, "direction")), number(draw, "depth")
        if way and depth is not None:
            name = f"draw_{place}"
            words = f"{along(way)}, {length(depth)} deep: {legible(str(tree(draw, 'reason')), 200)}"
            rows.append({"value": _typed(way), "words": words, "chosen": _is_same(way, used),
                         "picture": name if isinstance(pictures, dict) and name in pictures else ""})  # fmt: skip
    if used and not any(row["chosen"] for row in rows):
        rows.append({"value": _typed(used), "words": f"{along(used)}, as chosen", "chosen": True, "picture": ""})
    return rows


def _other_axes(draws: list[dict]) -> list[dict]:
    """Axes of the file that are not among the draws already."""
    told = {row["value"] for row in draws}
    return [{"value": axis, "words": axis.replace("-", "−")} for axis in SIX_AXES if axis not in told]


def _way(given: object) -> list[float] | None:
    return given if isinstance(given, list) and len(given) == 3 and all(is_number(one) for one in given) else None


def _is_same(way: list[float], other: list[float] | None) -> bool:
    return other is not None and sum(a * b for a, b in zip(way, other, strict=True)) > STRAIGHT


def _typed(way: list[float]) -> str:
    """A direction as one types it.

    >>> _typed([0.0, 0.0, -1.0]), _typed([0.6, 0.0, 0.8])
    ('-z', '0.6 0 0.8')
    """
    for axis, part in zip("xyz", way, strict=True):
        if abs(part) > 1 - 1e-9:
            return f"{'-' if part < 0 else '+'}{axis}"
    return " ".join(f"{round(part, DIGITS) + 0.0:g}" for part in way)
