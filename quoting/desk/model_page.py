"""The section "The model" of an inquiry's page: what the report found, beside what was typed."""

from math import inf, isfinite, isinf

from quoting import units
from quoting.desk import inquiry_text
from quoting.desk.form_fields import LABELS
from quoting.desk.model_choices import choices_of
from quoting.documents.model_sheet import PICTURES, model_printed, model_shown, number, tree
from quoting.documents.wall_map import walls_shown
from quoting.intake.fields import BY_KEY
from quoting.intake.model_asking import SIDES
from quoting.intake.model_shape import FACTS, shape_of
from quoting.quotes import answers_to_come, fine_maps, model_reports, models, policies, records
from quoting.quotes.drawings import drawing_there
from quoting.quotes.forming_way import forming_way

APART = 0.01  # relative difference from which it is marked; as for sizes typed beside a model
UNSEEN = 0.0005  # relative difference that would be shown as 0.0 %
COMPARED = (*(f"part.{side}" for side in SIDES), *FACTS)
LOOK_AGAIN = 4  # s
MODEL = "part.model"


def model_section(person: object, inquiry: models.Inquiry, overrides: list[models.Override]) -> dict | None:
    """Context of the section; None for an inquiry without a model."""
    if inquiry_text.at(inquiry.typed, MODEL) is None and not any(one.field == MODEL for one in overrides):
        return None  # most have none, and need no further look
    if not model_reports.model_of(inquiry):
        return None
    report = model_reports.report_of(inquiry)
    is_lost = report is not None and model_reports.is_lost(report)
    section = {
        "state": "none" if report is None else "lost" if is_lost else report.state,
        "reason": report.reason if report else "",
        "has_file": drawing_there(model_reports.model_of(inquiry)),
        "may_ask": policies.may_measure_model(person, inquiry),
        "may_choose": policies.may_choose_of_model(person, inquiry),
        "asks_reason": policies.permitted(person, "override", inquiry),
        "outdated": report is not None and model_reports.is_outdated(report, inquiry),
        "look_again": LOOK_AGAIN,
        "look_number": int(records.now().timestamp()),  # an address that differs in its fragment alone loads nothing
    }
    if answers_to_come.is_to_come(inquiry):
        lost = answers_to_come.is_lost(inquiry)
        return section | {"state": "lost" if lost else "waiting", "answer_to_come": True, "may_ask": False}
    if report is not None and report.state == models.READY and isinstance(report.report, dict):
        section |= model_shown(best_known(report)) | choices_of(report) | walls_of(inquiry, report)
        section["fine"] = fine_facts(report)
        section["turning"] = tree(report.report, "meshes", "turning") is not None
        section |= {"compared": compared_rows(inquiry, report.report), "made_at": report.made_at}
    return section


def best_known(report: models.ModelReport) -> dict:
    """The report with what the fine wall map found in the place of the coarse one, once it is ready."""
    fine = tree(fine_of(report), "membrane")
    found = report.report.get("found")
    return report.report | {"found": found | {"membrane": fine}} if isinstance(found, dict) and fine else report.report


def fine_of(report: models.ModelReport) -> dict | None:
    """What the fine wall map found; None until it is ready."""
    return report.fine if report.fine_state == models.READY and isinstance(report.fine, dict) else None


def walls_of(inquiry: models.Inquiry, report: models.ModelReport) -> dict:
    """The wall map: the fine one once it is ready, beside the gauge of the answer."""
    way_now = forming_way(inquiry.first_view) | report.wished
    shown = walls_shown(report.report, fine_of(report), inquiry.first_view, way_now)
    return shown | {"wished": bool(report.wished)}


def fine_facts(report: models.ModelReport) -> dict:
    """How far the fine wall map is."""
    progress = fine_maps.progress_of(report) if report.fine_state == models.WAITING else None
    return {
        "state": "lost" if fine_maps.is_lost(report) else report.fine_state,
        "reason": report.fine_reason,
        "percent": None if progress is None else round(100 * progress.share),
        "step": None if progress is None else progress.step,
    }


def compared_rows(inquiry: models.Inquiry, report: dict) -> list[dict]:
    """What was typed, what the model has and what the answer uses; a typed length below its width is turned."""
    found, rows = measured_values(inquiry, report), []
    typed = {key: typed_value(inquiry, key) for key in COMPARED}
    long, wide = typed["part.length"], typed["part.width"]
    if long is not None and wide is not None and long < wide:
        typed["part.length"], typed["part.width"] = wide, long
    for key in COMPARED:
        measured, used = found.get(key), number(inquiry.first_view, "request", *key.split("."))
        if measured is not None or typed[key] is not None:
            rows.append(_compared(key, typed[key], measured, used))
    return rows


def measured_values(inquiry: models.Inquiry, report: dict) -> dict[str, float]:
    """What the answer takes from such a report, by field [SI]; nothing from one that older code kept."""
    answered = model_reports.answered_inquiry(inquiry)
    try:
        sizes = {f"part.{side}": float(report["found"]["measures"][side]) for side in SIDES}
        told = {"part.holes": inquiry_text.at(answered, "part.holes") or 0,
                "part.enclosed": inquiry_text.at(answered, "part.enclosed") is True}  # fmt: skip
        return sizes | shape_of(report, sizes | told, frozenset()).values
    except (KeyError, TypeError, ValueError, IndexError, AttributeError, ZeroDivisionError):
        return {}


def typed_value(inquiry: models.Inquiry, key: str) -> float | None:
    """A value as typed or overridden in SI; None where there is none or it cannot be read."""
    text, field = inquiry_text.at(model_reports.answered_inquiry(inquiry), key), BY_KEY[key]
    if field.kind == "count":
        return float(text) if isinstance(text, int) and not isinstance(text, bool) else None
    try:
        value = units.read(text, field.kind) if text not in (None, "") else None
    except units.UnitError:
        return None
    return value if value is not None and isfinite(value) else None


def _compared(key: str, typed: float | None, measured: float | None, used: float | None) -> dict:
    unit = BY_KEY[key].unit
    apart = None if measured is None or not typed else measured / typed - 1
    if typed == 0 and measured:
        apart = inf
    return {
        "label": LABELS[key],
        "typed": "–" if typed is None else units.show(typed, unit, "both"),
        "measured": "not found" if measured is None else units.show(measured, unit, "both"),
        "used": "–" if used is None else units.show(used, unit, "both"),
        "difference": _difference(apart),
        "apart": apart is not None and abs(apart) > APART,
    }


def _difference(apart: float | None) -> str:
    if apart is None:
        return "–"
    return "typed was none" if isinf(apart) else "none" if abs(apart) < UNSEEN else f"{100 * apart:+.1f} %"


def printed_model(inquiry: models.Inquiry) -> dict | None:
    """The model for the forming worksheet, pictures inside; None unless its report is ready."""
    report = model_reports.report_of(inquiry)
    if report is None or report.state != models.READY or not isinstance(report.report, dict):
        return None
    shown = model_printed(best_known(report), {name: model_reports.picture_of(report, name) for name in PICTURES})
    return shown | walls_of(inquiry, report)
