"""What every request passes before its view: a known route, a person who may, not too often, not too large."""

import logging
from collections.abc import Callable

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode

from quoting.desk import refusals, rights
from quoting.desk.addresses import client_address
from quoting.quotes import guessing, second_factor

# What somebody may open who has to set up a second factor first.
SETTING_UP = ("account", "password", "second-factor", "second-factor-picture", "second-factor-confirm")
log = logging.getLogger("quoting.security")


class Gate:
    """Refuses what the table of rights does not open."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        right = getattr(request, "right", None)
        if right and right.is_miss(request.method, response.status_code):
            guessing.miss_count(kind=right.who, address=client_address(request))
        return response

    def process_view(
        self, request: HttpRequest, view: Callable[..., HttpResponse], arguments: tuple, named: dict
    ) -> HttpResponse | None:
        """None lets the request through."""
        name = request.resolver_match.view_name
        right = request.right = rights.of(name)
        if right and right.who not in rights.STRANGERS and not request.user.is_authenticated:
            return redirect_to_login(request.get_full_path())
        if right is None or not rights.admitted(request.user, right):
            log.warning("refused: route %s, person %s", name, request.user.pk)
            raise PermissionDenied
        if right.misses and guessing.must_wait(right.who, client_address(request)):
            log.warning("refused for a minute: route %s, address %s", name, client_address(request))
            return refusals.too_often(request)
        if _size(request) > right.largest:
            return refusals.too_large(request)
        if right.who not in rights.STRANGERS and not right.before_second_factor:
            return self._second_factor(request, name)
        return None

    def _second_factor(self, request: HttpRequest, name: str) -> HttpResponse | None:
        """Once a session: ask for the code, or lead a person whose role needs one to where it is set up."""
        if request.user.is_verified():
            return None
        if second_factor.is_asked(request.user):
            back = urlencode({"next": request.get_full_path() if request.method == "GET" else reverse("home")})
            return redirect(f"{reverse('second-factor-ask')}?{back}")
        if second_factor.is_required(request.user) and name not in SETTING_UP:
            return redirect("second-factor")
        return None


def _size(request: HttpRequest) -> int:
    try:
        return int(request.META.get("CONTENT_LENGTH") or 0)
    except ValueError:
        return 0
