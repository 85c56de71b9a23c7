"""Pages of refusal: bad request, too large, too often. They say what to do and nothing about the inside."""

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import RequestDataTooBig, TooManyFieldsSent, TooManyFilesSent
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

TOO_LARGE = (RequestDataTooBig, TooManyFieldsSent, TooManyFilesSent)


@login_not_required
def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """400, or 413 where there was too much of it."""
    return too_large(request) if isinstance(exception, TOO_LARGE) else plain(request, "400.html", 400)


def too_large(request: HttpRequest) -> HttpResponse:
    return plain(request, "413.html", 413)


def plain(request: HttpRequest, template: str, status: int, **context: object) -> HttpResponse:
    """A page without the person's bar: the request may be too broken to tell who it is, or it is nobody yet."""
    response = render(None, template, {"home": "/", **context}, status=status)
    response["Cache-Control"] = "no-store"
    return response


def too_often(request: HttpRequest) -> HttpResponse:
    """429 for an address that guesses."""
    response = plain(request, "429.html", 429, minutes=1)
    response["Retry-After"] = "60"
    return response


def locked_out(request: HttpRequest, response: HttpResponse, credentials: dict) -> HttpResponse:
    """429 once an account was tried too often from one address; whether there is such an account is not said."""
    cool_off = int(settings.AXES_COOLOFF_TIME.total_seconds())
    refused = plain(request, "429.html", 429, minutes=cool_off // 60, login=True)
    refused["Retry-After"] = str(cool_off)
    return refused


@login_not_required
def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """403 for a form whose key is missing or old; nothing was changed."""
    return plain(request, "403_csrf.html", 403)
