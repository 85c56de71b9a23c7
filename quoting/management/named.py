"""Who a command acts for."""

from django.contrib.auth import get_user_model
from django.core.management.base import CommandError


def person_named(username: str | None) -> object | None:
    """The person of that user name; None where none was named. CommandError where nobody is called so."""
    if not username:
        return None
    found = get_user_model().objects.filter(username=username).first()
    if found is None:
        raise CommandError(f"--by: got {username}; accepted is a user name")
    return found
