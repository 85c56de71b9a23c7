"""Refuses to start with a role that does not exist: a second factor that is asked of nobody would look like one."""

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured

from quoting.quotes.policies import ADMINISTRATOR, GROUPS


def refuse_unknown() -> None:
    known = (*GROUPS, ADMINISTRATOR)
    for name in settings.REQUIRE_SECOND_FACTOR:
        if name not in known:
            raise ImproperlyConfigured(f"REQUIRE_SECOND_FACTOR: got {name!r}; accepted are {', '.join(known)}")
