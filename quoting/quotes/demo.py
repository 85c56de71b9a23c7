"""The demo: four people, standing work on the machines, and the demo inquiries in every state a screen can show."""

import json
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from secrets import token_urlsafe

from django.conf import settings
from django.contrib.auth import get_user_model

from quoting.quotes import selectors, services, stock
from quoting.quotes.answers import catalog_digest
from quoting.quotes.demo_floor import floor_ensure
from quoting.quotes.models import ANSWERED, APPROVED, QUOTE, RECEIVED, SENT, Inquiry, Quote
from quoting.quotes.policies import ADMINISTRATOR, ESTIMATOR, MANAGER, REP

# Role, user name, given name, family name; all invented.
PEOPLE = (
    (REP, "rita-rep", "Rita", "Marlow"),
    (ESTIMATOR, "emil-estimator", "Emil", "Haskett"),
    (MANAGER, "mona-manager", "Mona", "Trevino"),
    (ADMINISTRATOR, "ada-admin", "Ada", "Lindqvist"),
)
LOGINS_FILE = "demo_logins.json"
# What becomes of the first answers that are quotes, in the order of the files; the others wait for the estimator.
STEPS = (
    ("approve", "send", "win"),
    ("approve", "send"),
    ("approve", "send", "change"),
    ("approve",),
    ("approve", "lose"),
)
# The state in which a step is taken; in any other an earlier run or a person has moved the inquiry on.
TAKEN_IN = {"approve": ANSWERED, "send": APPROVED, "win": SENT, "change": SENT, "lose": APPROVED}
LETTERS = 3


@dataclass(frozen=True)
class Login:
    role: str
    username: str
    password: str


def ensure_people() -> tuple[Login, ...]:
    """The four people with their groups. Passwords are made once and kept beside the database for the next run."""
    path = Path(settings.DATA_DIR) / LOGINS_FILE
    kept = json.loads(path.read_text()) if path.exists() else {}
    groups = stock.ensure_groups()
    users, logins = get_user_model().objects, []
    for role, username, given, family in PEOPLE:
        user, is_new = users.get_or_create(
            username=username,
            defaults={"first_name": given, "last_name": family, "is_staff": role != REP, "is_superuser": False},
        )
        if is_new or username not in kept:
            kept[username] = token_urlsafe(9)
            user.set_password(kept[username])
            user.is_superuser = role == ADMINISTRATOR
            user.save()
        if role in groups:
            user.groups.set([groups[role]])
        logins.append(Login(role, username, kept[username]))
    path.write_text(json.dumps(kept, indent=1))
    path.chmod(0o600)
    return tuple(logins)


def manager() -> object:
    """Who decides in the demo."""
    return get_user_model().objects.get(username=next(name for role, name, *_ in PEOPLE if role == MANAGER))


def ensure_standing_work(on: date) -> None:
    """Shifts, holidays, maintenance, and firm work that has nothing to do with quotes."""
    floor_ensure(on=on)


def fill(on: date, say: object = print) -> None:
    """Log, answer and move the demo inquiries; what an earlier run did is left as it is."""
    people = {role: get_user_model().objects.get(username=username) for role, username, _, _ in PEOPLE}
    logged: list[Inquiry] = []
    for path in sorted((stock.DEMO / "inquiries").glob("*.json")):
        inquiry = _logged(json.loads(path.read_text(encoding="utf-8")), people[REP])
        if inquiry.state == RECEIVED:
            inquiry = services.inquiry_answer(inquiry=inquiry, on=on, by=people[REP])
            say(f"{inquiry.number} {inquiry.part_name}: {inquiry.decision.replace('_', ' ')}")
        logged.append(inquiry)
    _move_quotes([one for one in logged if one.decision == QUOTE], people, on)
    _send_letters([one for one in logged if one.decision == "not_a_fit"], people, on)
    _answer_waiting(people[REP], on)


def _logged(typed: dict, by: object) -> Inquiry:
    found = Inquiry.objects.filter(created_by=by, typed=typed).first()
    return found or services.inquiry_log(typed=typed, by=by)


def _move_quotes(inquiries: list[Inquiry], people: dict, on: date) -> None:
    for inquiry, steps in zip(inquiries, STEPS, strict=False):
        if inquiry.state == ANSWERED:
            services.inquiry_answer(inquiry=inquiry, on=on, by=people[REP])
        for step in steps:
            inquiry.refresh_from_db()
            if inquiry.state == TAKEN_IN[step]:
                _do(step, inquiry, people, on)


def _do(step: str, inquiry: Inquiry, people: dict, on: date) -> None:
    if step == "approve":
        confirmed = [one.key for one in services.what_to_confirm(inquiry)]
        if services.quote_approve(inquiry=inquiry, by=people[ESTIMATOR], confirmed=confirmed, on=on) is None:
            inquiry.refresh_from_db()
            services.quote_second(inquiry=inquiry, by=people[MANAGER], note="agreed with sales", on=on)
        return
    quote = inquiry.quotes.order_by("revision").last()
    if step == "send":
        services.quote_send(quote=quote, by=people[REP])
    elif step == "win":
        breaks = quote.snapshot["chosen"]["cost"]["breaks"]
        services.quote_won(quote=quote, release=breaks[0]["quantity"], by=people[REP], on=on, evidence="demo order")
    elif step == "change" and not quote.replies.exists():
        token = services.quote_send(quote=quote, by=people[REP])
        services.customer_reply(token=token, kind="change", text="Could the corner radius grow to 1/2 in?")
    elif step == "lose":
        services.quote_lost(quote=quote, reason="the design changed", by=people[REP])


def _send_letters(inquiries: list[Inquiry], people: dict, on: date) -> None:
    for inquiry in inquiries[:LETTERS]:
        if inquiry.state == ANSWERED:
            services.inquiry_decline(inquiry=inquiry, by=people[ESTIMATOR], on=on)


def _answer_waiting(by: object, on: date) -> None:
    """Orders won above may have moved lead times: answer again, so that the estimator finds fresh answers."""
    newest = catalog_digest(selectors.catalog(on))
    waiting = Inquiry.objects.filter(created_by=by, state=ANSWERED, decision=QUOTE)
    for inquiry in waiting.exclude(catalog_digest=newest, answered_on=on):
        services.inquiry_answer(inquiry=inquiry, on=on, by=by)


def customer_token() -> tuple[Quote, str] | None:
    """A fresh private link to the first quote that is with its customer; the link before it ends."""
    rep = get_user_model().objects.get(username=PEOPLE[0][1])
    quote = Quote.objects.filter(inquiry__state=SENT, inquiry__created_by=rep, kind=QUOTE).order_by("pk").first()
    if quote is None or quote.valid_until < services.today():
        return None
    return quote, services.quote_send(quote=quote, by=rep)
