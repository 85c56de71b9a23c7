"""What a sent file goes through, whatever table it holds: wrong as a whole, confirmed, its wrong rows shown."""

from collections.abc import Callable, Sequence
from typing import Any

from django.core.exceptions import ValidationError
from django.forms import Form
from django.http import HttpRequest

from quoting.intake.reading_result import InputErrors
from quoting.quotes.steps import ConflictError

MOST_SHOWN = 300  # wrong cells on one page


def told_wrong(form: Form, errors: InputErrors) -> None:
    """What is wrong with the file as a whole, at its field."""
    for error in errors.errors:
        form.add_error("file", f"Got {error.given}; accepted is {error.accepted}.")


def confirmed(request: HttpRequest, imported: Callable[..., Any], sent: object) -> tuple[Any, str, int]:
    """The record of an import that was confirmed; or None, why it was refused, and the status of the page."""
    if request.method != "POST":
        return None, "", 200
    fingerprint, good_only = request.POST.get("fingerprint", ""), request.POST.get("rows") == "good"
    try:
        return imported(upload=sent, fingerprint=fingerprint, good_only=good_only, by=request.user), "", 200
    except ValidationError as refused:
        return None, " ".join(refused.messages), 409 if isinstance(refused, ConflictError) else 422


def wrong_rows(wrong: Sequence[Any]) -> dict[str, Any]:
    """What ``desk/parts/wrong_rows.html`` shows."""
    return {"wrong": wrong[:MOST_SHOWN], "wrong_beyond": len(wrong[MOST_SHOWN:])}
