"""What is shown of a customer's CAD model: asked for, worked out apart from the request, kept.

It stands beside the answer and rests on the same unit, body and draw, since both ask the same of the model. Confirming
one of them changes the inquiry, which is answered again; a report that fails leaves the inquiry as it is.
"""

import fcntl
import re
import secrets
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import transaction

from quoting.intake.field_values import RefusedError
from quoting.intake.model_asking import CHOICES, asked_of_inquiry
from quoting.intake.model_file import model_path
from quoting.intake.model_job import ModelRefusedError, model_report
from quoting.intake.reading_result import InputErrors
from quoting.quotes import policies, selectors, services, steps
from quoting.quotes.answers import read_kept, require_measured, value_at
from quoting.quotes.drawings import drawings_folder
from quoting.quotes.forming_way import forming_way
from quoting.quotes.models import READY, REFUSED, WAITING, Inquiry, ModelReport
from quoting.quotes.records import audit, now, today
from quoting.quotes.trying_again import tried_again

HOOKS = ("draw", "shown", "measures", "moldability", "membrane", "turning")
# After which a report, or an answer that needs one, is taken for lost if it still waits; the child takes 150 s at most.
PATIENCE = timedelta(minutes=10)
PNG = b"\x89PNG\r\n\x1a\n"
GLTF = b"glTF"
STARTS = {"pictures": PNG, "meshes": GLTF}  # the first bytes of each kind of file that is kept
NAMES = {"pictures": re.compile(r"[a-z_]+[0-9]?\.png"), "meshes": re.compile(r"[a-z_]+\.glb")}
LARGEST_FILE = 8 * 1024**2  # bytes
BROKE_OFF = "measuring it broke off"


def models_folder() -> Path:
    """Where the pictures and meshes of models lie, each report's in a folder of its own."""
    folder = Path(settings.MEDIA_ROOT) / "models"
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def model_of(inquiry: Inquiry) -> str:
    """The name under which the model of an inquiry is kept, overrides counted; empty where it has none."""
    name = value_at(answered_inquiry(inquiry), "part.model")
    return name if isinstance(name, str) else ""


def answered_inquiry(inquiry: Inquiry) -> dict:
    """What is answered: as typed, with overrides."""
    try:
        return steps.effective(inquiry)
    except ValidationError:  # an override that no longer fits what was typed since
        return inquiry.typed


def is_outdated(report: ModelReport, inquiry: Inquiry) -> bool:
    """Whether the inquiry by now asks something else of its model: another unit, body, draw or typed size."""
    return report.asked != asked_of_inquiry(answered_inquiry(inquiry))


def report_of(inquiry: Inquiry) -> ModelReport | None:
    """The report on the model that the inquiry names now."""
    name = model_of(inquiry)
    return inquiry.model_reports.filter(file_name=name).first() if name else None


def is_lost(report: ModelReport) -> bool:
    """Whether nobody works on it any more, though it still waits."""
    return report.state == WAITING and now() - report.asked_at > PATIENCE


@tried_again
@transaction.atomic
def report_ask(*, inquiry: Inquiry, by: object, wished: dict | None = None) -> ModelReport:
    """Ask for the report on the model of an inquiry; what was found before is let go. The work starts after commit.

    Parameters
    ----------
    inquiry : Inquiry
        With a model; unit, body, draw and sizes are asked as it has them.
    by : object
        Who asks.
    wished : dict, optional
        Another way of forming for the wall map, as ``forming_way.wished_way`` gives it; that of the answer without it.

    Returns
    -------
    report : ModelReport
        Waiting.

    Raises
    ------
    PermissionDenied, ValidationError
        Somebody else's inquiry; or one without a model that is kept here.
    """
    policies.require(by, "measure_model", inquiry)
    name = model_of(inquiry)
    if not name or Path(name).name != name:
        raise ValidationError("This inquiry has no CAD model.")
    before = ModelReport.objects.select_for_update().filter(inquiry=inquiry, file_name=name).first()
    report = before or ModelReport(inquiry=inquiry, file_name=name)
    old, report.token = report.token, secrets.token_hex(16)
    report.asked = asked_of_inquiry(answered_inquiry(inquiry))
    report.state, report.report, report.reason = WAITING, None, ""
    report.asked_at, report.made_at = now(), None
    report.fine_state, report.fine, report.fine_reason = "", None, ""
    report.wished = wished or {}
    steps.save(report)
    audit("model_report_ask", by=by, inquiry=inquiry, wished=report.wished)
    transaction.on_commit(lambda: _begin(report, old), robust=True)
    return report


def report_ask_once(*, inquiry: Inquiry, by: object) -> None:
    """Ask for the report where the inquiry has a model that nobody asked about yet as it is now."""
    if not model_of(inquiry):
        return
    report = report_of(inquiry)
    if report is None or is_outdated(report, inquiry):
        report_ask(inquiry=inquiry, by=by)


def model_choose(*, inquiry: Inquiry, field: str, value: str, reason: str, by: object) -> None:
    """Confirm the unit, body or draw of a model: the inquiry is changed and answered again, its report made again.

    Whoever may override does so, with a reason; the rep changes what was typed.

    Parameters
    ----------
    inquiry : Inquiry
        With a model, still open.
    field : str
        One of ``model_asking.CHOICES``.
    value : str
        Text as in the form; empty takes the choice away.
    reason : str
        Needed for an override.
    by : object
        Who confirms it.

    Raises
    ------
    PermissionDenied, ValidationError
        Somebody else's inquiry; a value that cannot be read, or with which the inquiry contradicts itself; a model that
        takes longer than a moment to measure so: it goes on, and what was chosen is sent again.
    """
    if field not in CHOICES:
        raise ValidationError("Of a model, its unit, its body and its draw are chosen.")
    overrides = policies.permitted(by, "override", inquiry)
    policies.require(by, "override" if overrides else "change", inquiry)
    if not overrides and inquiry.overrides.filter(field=field, withdrawn_at__isnull=True).exists():
        raise ValidationError("The estimator has set this; ask them to change it.")
    _require_readable(steps.overridden(answered_inquiry(inquiry), ((field, value),)))
    if overrides:
        services.override_add(inquiry=inquiry, field=field, value=value, reason=reason, by=by)
    else:
        typed = steps.overridden(inquiry.typed, ((field, value),))
        changed = services.inquiry_change(inquiry=inquiry, typed=typed, by=by, version=inquiry.version)
        services.inquiry_answer(inquiry=changed, on=today(), by=by)
    inquiry.refresh_from_db()
    report_ask_once(inquiry=inquiry, by=by)


def _require_readable(raw: object) -> None:
    """Refuse a choice that would turn the inquiry into one that cannot be read; nothing is lost."""
    names = tuple(polymer.name for polymer in selectors.catalog(today()).polymers)
    require_measured(raw, on=today(), polymer_names=names)
    try:
        read_kept(raw, on=today(), polymer_names=names)
    except InputErrors as errors:
        raise ValidationError([f"Not taken: {error.message}." for error in errors.errors]) from errors


def _begin(report: ModelReport, old_token: str) -> None:
    if old_token:
        shutil.rmtree(models_folder() / old_token, ignore_errors=True)
    if settings.MODEL_REPORTS == "at once":
        report_make(report)
        return
    try:
        subprocess.Popen(  # noqa: S603 - our own interpreter and command
            [sys.executable, "manage.py", "model_report", str(report.pk)], cwd=settings.BASE_DIR,
            stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
        )  # fmt: skip
    except OSError:
        _close(report, state=REFUSED, reason="the work on it could not be started")


def report_make(report: ModelReport, *, fine_follows: bool = False) -> ModelReport:
    """Work a waiting report out and keep it, one model at a time on this machine; whatever goes wrong is kept in words.

    A report that was asked for again meanwhile belongs to the later work, and this one is let go. Where a fine wall map
    follows, the report waits for it from the moment in which it is ready.
    """
    with one_at_a_time():
        kept = ModelReport.objects.get(pk=report.pk)
        if kept.state != WAITING:
            return kept
        folder = models_folder() / kept.token
        folder.mkdir(exist_ok=True)
        outcome = _worked_out(kept, folder)
        if fine_follows and outcome["state"] == READY and value_at(outcome["report"], "found.membrane"):
            outcome["fine_state"] = WAITING
        if not _close(kept, **outcome) or kept.state == REFUSED:
            shutil.rmtree(folder, ignore_errors=True)
        return kept


def _worked_out(report: ModelReport, folder: Path) -> dict:
    try:
        path = model_path(report.file_name, drawings_folder())
        way = forming_way(report.inquiry.snapshot) | report.wished
        found = model_report(path, **report.asked, way=way, hooks=list(HOOKS), directory=str(folder), lengths="inch")
        return {"state": READY, "report": storable(found | _files(found, folder)), "reason": ""}
    except ModelRefusedError as refused:
        return {"state": REFUSED, "reason": storable(str(refused))[:400]}
    except RefusedError as refused:
        return {"state": REFUSED, "reason": f"accepted is {refused.accepted}"[:400]}
    except Exception:  # noqa: BLE001 - whatever broke, the inquiry stays and the page says so
        return {"state": REFUSED, "reason": BROKE_OFF}


def _close(report: ModelReport, /, **outcome: object) -> bool:
    """Keep the outcome unless the report was asked for again meanwhile; whether it was kept."""
    outcome["made_at"] = now()
    for name, value in outcome.items():
        setattr(report, name, value)
    return bool(ModelReport.objects.filter(pk=report.pk, token=report.token, state=WAITING).update(**outcome))


def _files(found: dict, folder: Path) -> dict[str, dict[str, str]]:
    """The pictures and meshes that are there, by the only names that are ever opened."""
    kept = {}
    for kind in STARTS:
        told = found.get(kind)
        told = told if isinstance(told, dict) else {}
        kept[kind] = {
            name: file
            for name, file in told.items()
            if _is_name(kind, file) and Path(file).stem == name and _read(kind, folder / file)
        }
    return kept


def picture_of(report: ModelReport, name: str) -> bytes | None:
    """The bytes of a picture that the report names; None for every other name, and for what is no PNG."""
    return _file_of("pictures", report, name)


def mesh_of(report: ModelReport, name: str) -> bytes | None:
    """The bytes of a mesh that the report names; None for every other name, and for what is no binary glTF."""
    return _file_of("meshes", report, name)


def _file_of(kind: str, report: ModelReport, name: str) -> bytes | None:
    """A file of the report; the picture of the fine wall map stands in the place of the coarse one."""
    held = {}
    for known, state in ((report.report, report.state), (report.fine, report.fine_state)):
        files = known.get(kind) if state == READY and isinstance(known, dict) else None
        held |= files if isinstance(files, dict) else {}
    file = held.get(name)
    return _read(kind, models_folder() / report.token / file) if _is_name(kind, file) else None


def _is_name(kind: str, file: object) -> bool:
    return isinstance(file, str) and NAMES[kind].fullmatch(file) is not None


def _read(kind: str, path: Path) -> bytes | None:
    try:
        if path.is_symlink() or path.stat().st_size > LARGEST_FILE:
            return None
        content = path.read_bytes()
    except OSError:
        return None
    return content if content.startswith(STARTS[kind]) else None


def storable(value: object) -> object:
    """The same plain tree without NUL characters, which not every database takes.

    Examples
    --------
    >>> storable({"a": ["x\\x00y", 1.5]})
    {'a': ['xy', 1.5]}
    """
    if isinstance(value, dict):
        return {storable(key): storable(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [storable(inner) for inner in value]
    return value.replace("\x00", "") if isinstance(value, str) else value


@contextmanager
def one_at_a_time(lock_file: str = ".lock") -> Iterator[None]:
    """A model may take two gigabytes: those that come together wait for each other."""
    with (models_folder() / lock_file).open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield
