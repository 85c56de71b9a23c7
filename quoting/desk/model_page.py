"""The section "The model" of an inquiry's page: what the report found, beside what was typed."""

from math import isfinite, radians

from quoting import units
from quoting.desk import inquiry_text
from quoting.desk.form_fields import LABELS
from quoting.documents.model_sheet import PICTURES, model_printed, model_shown, number, tree
from quoting.intake.fields import BY_KEY
from quoting.quotes import model_reports, models, policies, records

APART = 0.01  # relative difference from which it is marked; as for sizes typed beside a model
UNSEEN = 0.0005  # relative difference that would be shown as 0.0 %
UNIT_CHOICES = (("mm", "millimetres (mm)"), ("in", "inches (in)"), ("m", "metres (m)"))
COMPARED = (
    ("part.length", "length"),
    ("part.width", "width"),
    ("part.depth", "depth"),
    ("part.surface_area", "surface_area"),
    ("part.trim_length", "trim_length"),
    ("part.smallest_radius", "smallest_inside_radius"),
)
ANSWERED = ("part.length", "part.width", "part.depth", "part.surface_area")
LOOK_AGAIN = 4  # s


def model_section(person: object, inquiry: models.Inquiry) -> dict | None:
    """Context of the section; None for an inquiry without a model."""
    if not model_reports.model_of(inquiry):
        return None
    report = model_reports.report_of(inquiry)
    is_lost = report is not None and model_reports.is_lost(report)
    section = {
        "state": "none" if report is None else "lost" if is_lost else report.state,
        "reason": report.reason if report else "",
        "may_ask": policies.may_measure_model(person, inquiry),
        "look_again": LOOK_AGAIN,
        "look_number": int(records.now().timestamp()),  # an address that differs in its fragment alone loads nothing
        "unit_choices": UNIT_CHOICES,
    }
    if report is not None and report.state == models.READY and isinstance(report.report, dict):
        section |= model_shown(report.report) | unit_facts(report)
        section["turning"] = tree(report.report, "meshes", "turning") is not None
        section |= {"compared": compared_rows(inquiry, report.report), "made_at": report.made_at}
    return section


def unit_facts(report: models.ModelReport) -> dict:
    """The unit of the file: confirmed, told by the file, or a guess that somebody should confirm."""
    scale = number(report.report, "scale")
    named = {value: name for name, value in model_reports.UNITS.items()}
    chosen = named.get(report.unit or scale, "")
    return {
        "unit": dict(UNIT_CHOICES).get(chosen, f"units of {units.show(scale, 'm', 'both')}" if scale else "its unit"),
        "unit_code": chosen,
        "unit_confirmed": report.unit is not None,
        "unit_known": report.unit is not None or report.report.get("unit_known") is True,
    }


def compared_rows(inquiry: models.Inquiry, report: dict) -> list[dict]:
    """Sizes that were typed beside the measured ones; a typed length below its width is compared with the width.

    Where no size was typed, the one that the answer took from the model by itself stands in its place: a model
    confirmed in another unit than the answer took is seen at once.
    """
    found = {key: number(report, "found", "measures", name) for key, name in COMPARED}
    typed = {key: typed_value(inquiry, key) for key, _ in COMPARED}
    answered = {key: None if typed[key] is not None else answered_value(inquiry, key) for key in ANSWERED}
    long, wide = typed["part.length"], typed["part.width"]
    if long is not None and wide is not None and long < wide:
        found["part.length"], found["part.width"] = found["part.width"], found["part.length"]
    rows = [
        _compared(key, given, found[key]) | {"answered": typed[key] is None}
        for key, given in ((key, typed[key] if typed[key] is not None else answered.get(key)) for key, _ in COMPARED)
        if given is not None
    ]
    angle, draft = typed_value(inquiry, "part.draft_angle"), number(report, "found", "moldability", "least_draft")
    if angle is not None:
        row = _compared("part.draft_angle", angle, None if draft is None else radians(draft))
        rows.append(row | {"measured": row["measured"] if draft is None else f"{row['measured']} at the least"})
    return rows


def typed_value(inquiry: models.Inquiry, key: str) -> float | None:
    """A typed size in SI; None where nothing was typed or it cannot be read."""
    text, field = inquiry_text.at(inquiry.typed, key), BY_KEY[key]
    try:
        value = units.read(text, field.kind) if text not in (None, "") else None
    except units.UnitError:
        return None
    return value if value is not None and isfinite(value) else None


def answered_value(inquiry: models.Inquiry, key: str) -> float | None:
    """The size that the stored answer rests on, in SI."""
    return number(inquiry.snapshot, "request", *key.split("."))


def _compared(key: str, typed: float, measured: float | None) -> dict:
    unit = BY_KEY[key].unit
    apart = None if measured is None or not typed else measured / typed - 1
    return {
        "label": LABELS[key],
        "typed": units.show(typed, unit, "both"),
        "measured": "not found" if measured is None else units.show(measured, unit, "both"),
        "difference": "–" if apart is None else "none" if abs(apart) < UNSEEN else f"{100 * apart:+.1f} %",
        "apart": apart is not None and abs(apart) > APART,
    }


def printed_model(inquiry: models.Inquiry) -> dict | None:
    """The model for the forming worksheet, pictures inside; None unless its report is ready."""
    report = model_reports.report_of(inquiry)
    if report is None or report.state != models.READY or not isinstance(report.report, dict):
        return None
    return model_printed(report.report, {name: model_reports.picture_of(report, name) for name in PICTURES})
