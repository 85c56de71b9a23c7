"""The finer wall map of a CAD model: worked out once its report is ready, while the coarse one is shown.

It belongs to its report: asked for again, the report lets it go. Where it is lost or fails, the coarse map stands.
"""

import json
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from math import isfinite

from quoting.geometry.told_progress import PROGRESS_FILE
from quoting.intake.field_values import RefusedError
from quoting.intake.model_file import model_path
from quoting.intake.model_job import ModelRefusedError, model_report
from quoting.quotes.drawings import drawings_folder
from quoting.quotes.model_reports import BROKE_OFF, models_folder, one_at_a_time, storable
from quoting.quotes.models import READY, REFUSED, WAITING, ModelReport
from quoting.quotes.records import now

WORKING = 600.0  # s on the clock after which the work is broken off
SILENCE = timedelta(minutes=3)  # since it was last told how far the work is, after which it is taken for lost
QUEUEING = timedelta(minutes=30)  # after which a map that nobody has begun is taken for lost
LONGEST_PROGRESS = 200  # bytes
LOCK = ".fine.lock"  # of its own: a rep who waits for a coarse map does not wait for fine ones of others
NAME, FILE = "wall_fine", "wall_fine.png"


@dataclass(frozen=True)
class Progress:
    """Share of the cavity that is filled [-] and the step of the forming [count]."""

    share: float
    step: int


def progress_of(report: ModelReport) -> Progress | None:
    """How far the fine map is; None where it has not begun."""
    try:
        text = (models_folder() / report.token / PROGRESS_FILE).read_text(encoding="ascii")[:LONGEST_PROGRESS]
        told = json.loads(text)
        share, step = float(told["share"]), int(told["step"])
    except (OSError, ValueError, TypeError, KeyError):
        return None
    return Progress(share, step) if isfinite(share) and 0 <= share <= 1 and step >= 0 else None


def is_lost(report: ModelReport) -> bool:
    """Whether nobody works on the fine map any more, though it still waits."""
    if report.fine_state != WAITING or report.made_at is None:
        return False
    try:
        told_at = (models_folder() / report.token / PROGRESS_FILE).stat().st_mtime
    except OSError:
        return now() - report.made_at > QUEUEING
    return now() - datetime.fromtimestamp(told_at, UTC) > SILENCE


def fine_make(report: ModelReport) -> ModelReport:
    """Work out the fine map that a ready report waits for; one at a time on this machine, beside a coarse one.

    Late work finds another token in the row, or a report that does not wait for it, and is let go.
    """
    with one_at_a_time(LOCK):
        kept = ModelReport.objects.get(pk=report.pk)
        if kept.token != report.token or kept.state != READY or kept.fine_state != WAITING:
            return kept
        outcome = _worked_out(kept)
        waiting = ModelReport.objects.filter(pk=kept.pk, token=kept.token, state=READY, fine_state=WAITING)
        if waiting.update(**outcome):
            for name, value in outcome.items():
                setattr(kept, name, value)
        return kept


def _worked_out(report: ModelReport) -> dict:
    coarse, folder = report.report, models_folder() / report.token
    try:
        options = report.asked | {name: coarse[name] for name in ("draw", "tool", "body")}
        options |= {"way": coarse["found"]["membrane"]["way"], "directory": str(folder), "lengths": "inch"}
        path = model_path(report.file_name, drawings_folder())
        found = model_report(path, WORKING, hooks=["fine"], **options)
        if "fine" not in found["found"]:
            return {"fine_state": REFUSED, "fine_reason": str(storable(found["failed"].get("fine", BROKE_OFF)))[:400]}
        pictures = {"wall": FILE} if found["pictures"].get(NAME) == FILE else {}
        kept = {"membrane": found["found"]["fine"], "pictures": pictures}
        return {"fine_state": READY, "fine": storable(kept), "fine_reason": ""}
    except ModelRefusedError as refused:
        return {"fine_state": REFUSED, "fine_reason": str(storable(str(refused)))[:400]}
    except RefusedError as refused:
        return {"fine_state": REFUSED, "fine_reason": f"accepted is {refused.accepted}"[:400]}
    except Exception:  # noqa: BLE001 - whatever broke, the coarse map stands and the page says so
        return {"fine_state": REFUSED, "fine_reason": BROKE_OFF}
