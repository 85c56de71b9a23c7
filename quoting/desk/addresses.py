"""From which address a request comes, behind proxies or not."""

from ipaddress import ip_address

from django.conf import settings
from django.http import HttpRequest

LONGEST_NAME = 255  # letters that the table of refused log-ins holds


def client_address(request: HttpRequest) -> str | None:
    """The address of the browser; None where the server knows none, as on a local socket.

    Behind n proxies the n-th address from the right of X-Forwarded-For was written by the outermost of ours; anything
    left of it was sent by the browser and may be made up.
    """
    known = request.META.get("REMOTE_ADDR", "")
    if settings.PROXIES:
        told = request.META.get("HTTP_X_FORWARDED_FOR", "").split(",")
        known = told[-settings.PROXIES] if len(told) >= settings.PROXIES else known
    try:
        return str(ip_address(known.strip().partition("%")[0]))
    except ValueError:
        return None


def claimed_name(request: HttpRequest, credentials: dict | None = None) -> str | None:
    """Who somebody says to be at the log-in, as far as the table of refused log-ins can hold it."""
    given = (credentials or request.POST).get("username")
    return given and given.replace("\x00", "")[:LONGEST_NAME]
