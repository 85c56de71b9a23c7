"""What becomes of each visitor at each address, and what the table of rights says should."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.db import transaction
from django.http import HttpResponse
from django.urls import reverse

from quoting.desk import rights
from quoting.quotes import policies

from .world import PEOPLE, VISITORS, World, parameters, routes

OPEN, LOG_IN, REFUSED, HIDDEN, WRONG_METHOD = "open", "log in", "refused", "hidden", "no such method"
OPEN_STATUSES = (200, 302, 409, 422)  # the view was reached; what it made of an empty form is its own matter


@dataclass(frozen=True)
class Step:
    """One visitor at one route, at the rep's own things or at those of another."""

    route: str
    method: str
    visitor: str
    whose: str
    intended: str
    found: str

    @property
    def is_as_intended(self) -> bool:
        return self.intended == self.found


def desk_routes() -> list[str]:
    return [name for name, _ in routes() if not name.startswith("admin:")]


def intended(route: str, method: str, visitor: str, whose: str) -> str:
    """What the table says. ``whose`` is "other" where the thing is neither the rep's nor the customer's."""
    right = rights.ROUTES[route]
    if right.who == rights.TOKEN:
        return HIDDEN if method in right.methods else WRONG_METHOD
    if right.who == rights.ANYONE or (right.who == rights.LINK and "token" in parameters(route)):
        outcome = OPEN
    elif right.who == rights.LINK:
        outcome = OPEN if (visitor, whose) == ("customer", "own") else HIDDEN
        if method not in right.methods:
            return WRONG_METHOD
    elif visitor in ("anonymous", "customer"):
        return LOG_IN
    else:
        outcome = _for_person(right, visitor, whose)
    return WRONG_METHOD if outcome in (OPEN, HIDDEN) and method not in right.methods else outcome


def _for_person(right: rights.Right, visitor: str, whose: str) -> str:
    held = PEOPLE[visitor]
    if held is None:
        return OPEN if right.who == rights.PERSON else REFUSED
    granted = rights.grant(right, held)
    if granted is None:
        return REFUSED
    is_own = {"rep": "own", "other_rep": "other"}.get(visitor) == whose
    return OPEN if granted == policies.ALL or is_own else HIDDEN


def found_at(world: World, route: str, method: str, visitor: str, whose: str) -> str:
    """What the app did: the most open answer over the answered and the sent inquiry. Nothing of it stays."""
    answers = [_outcome(called(world, address, method, visitor)) for address in world.addresses(route, whose)]
    return next(one for one in (OPEN, HIDDEN, WRONG_METHOD, LOG_IN, REFUSED, *answers) if one in answers)


def called(world: World, address: str, method: str, visitor: str) -> HttpResponse:
    client = world.client(visitor)
    with transaction.atomic():
        cookies = client.cookies.copy()
        response = client.generic(method, address, content_type="application/x-www-form-urlencoded")
        client.cookies = cookies
        transaction.set_rollback(True)
    return response


def _outcome(response: HttpResponse) -> str:
    if response.status_code == 302 and response.url.startswith(f"{reverse('login')}?next="):
        return LOG_IN
    if response.status_code in OPEN_STATUSES:
        return OPEN
    return {403: REFUSED, 404: HIDDEN, 405: WRONG_METHOD}.get(response.status_code, str(response.status_code))


def walk(world: World, names: list[str] | None = None) -> Iterator[Step]:
    """Every route, method and visitor; at another's things too, where a route leads to somebody's."""
    for route in names or desk_routes():
        is_somebodys = {"number", "token"} & set(parameters(route)) and not route.startswith("rates-")
        for whose in ("own", "other") if is_somebodys else ("own",):
            for method in ("GET", "POST"):
                for visitor in VISITORS:
                    wanted = intended(route, method, visitor, whose if is_somebodys else _whose(visitor))
                    yield Step(route, method, visitor, whose, wanted, found_at(world, route, method, visitor, whose))


def _whose(visitor: str) -> str:
    """A list or an empty form belongs to whoever opens it."""
    return "other" if visitor == "other_rep" else "own"
