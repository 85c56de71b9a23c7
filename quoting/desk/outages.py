"""The page where the ground gives way: the database does not answer, or the disk is full. What was typed is on it.

It is written without the database, and takes nothing but what this request itself brought.
"""

import re
import sys

from django.contrib.auth.decorators import login_not_required
from django.contrib.sessions.exceptions import SessionInterrupted
from django.core.exceptions import RequestDataTooBig, SuspiciousOperation
from django.db import InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse, UnreadablePostError
from django.http.multipartparser import MultiPartParserError

from quoting.desk import refusals
from quoting.desk.full_disk import is_full

TRY_AFTER = 10  # s
SECRET = re.compile(r".*password.*|code")  # names of fields that are never sent back
UNREADABLE = (RequestDataTooBig, SuspiciousOperation, MultiPartParserError, UnreadablePostError)


@login_not_required
def broken(request: HttpRequest) -> HttpResponse:
    """The answer to every fault that no view foresaw: 507 for a full disk, 503 without a database, else 500."""
    return _told(request, sys.exc_info()[1]) or refusals.plain(request, "500.html", 500)


@login_not_required
def refused(request: HttpRequest, exception: Exception) -> HttpResponse:
    """The answer to a bad request; a session that the database could not keep is none."""
    behind = exception.__context__ if isinstance(exception, SessionInterrupted) else None
    return _told(request, behind and behind.__context__) or refusals.bad_request(request, exception)


def _told(request: HttpRequest, fault: BaseException | None) -> HttpResponse | None:
    if is_full(fault):
        return _kept(request, 507, disk=True)
    return _kept(request, 503) if isinstance(fault, OperationalError | InterfaceError) else None


def _kept(request: HttpRequest, status: int, *, disk: bool = False) -> HttpResponse:
    """The key against forged forms is the one that came along, never a fresh one: the check may not have run."""
    typed, files = _sent(request) if request.method == "POST" else ([], [])
    context = {"address": request.get_full_path(), "posted": request.method == "POST", "disk": disk}
    shown = [(name, text) for name, text in typed if text.strip() and name not in ("csrfmiddlewaretoken", "version")]
    response = refusals.plain(request, "503.html", status, typed=typed, shown=shown, files=files, **context)
    response["Retry-After"] = str(TRY_AFTER)
    return response


def _sent(request: HttpRequest) -> tuple[list[tuple[str, str]], list[str]]:
    """Fields with what was typed, and names of fields with a file; nothing of a form with a password or a code."""
    try:
        fields, files = request.POST, list(request.FILES)
    except (*UNREADABLE, OSError):
        return [], []
    if any(SECRET.fullmatch(name) for name in fields):
        return [], []
    return [(name, text) for name, texts in fields.lists() for text in texts], files
