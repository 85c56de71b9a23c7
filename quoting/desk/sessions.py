"""How long a log-in lasts: 8 hours without a request, 24 hours at most."""

from collections.abc import Callable

from django.conf import settings
from django.contrib.auth import logout
from django.contrib.auth.signals import user_logged_in
from django.contrib.sessions.exceptions import SessionInterrupted
from django.contrib.sessions.middleware import SessionMiddleware
from django.dispatch import receiver
from django.http import HttpRequest, HttpResponse

from quoting.desk.full_disk import is_full
from quoting.quotes.records import now

BEGAN, SEEN = "session began", "session seen"
# The session is written at most this often [s], so that reading a page is no write.
WRITTEN_EVERY = 300


@receiver(user_logged_in)
def begin(request: HttpRequest, **more: object) -> None:
    """Each log-in counts anew, also one upon another."""
    request.session[BEGAN] = request.session[SEEN] = int(now().timestamp())


class KeptSessions(SessionMiddleware):
    """Where the disk is full, a page that is only read comes without its session being written."""

    def process_response(self, request: HttpRequest, response: HttpResponse) -> HttpResponse:
        try:
            return super().process_response(request, response)
        except SessionInterrupted as lost:
            behind = lost.__context__ and lost.__context__.__context__
            if request.method in ("GET", "HEAD") and is_full(behind):
                return response
            raise


class SessionLimits:
    """Logs out whose time is over, and remembers that the others were here."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.user.is_authenticated:
            at = int(now().timestamp())
            began, seen = request.session.get(BEGAN, 0), request.session.get(SEEN, 0)
            if at - began >= settings.SESSION_LONGEST or at - seen >= settings.SESSION_COOKIE_AGE:
                logout(request)
            elif at - seen >= WRITTEN_EVERY:
                request.session[SEEN] = at
        return self.get_response(request)
