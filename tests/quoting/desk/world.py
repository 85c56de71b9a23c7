"""An office in which every address leads somewhere: two reps with the same things each, and a visitor of each kind."""

import json
import secrets
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from types import SimpleNamespace

from django.conf import settings
from django.contrib.auth import get_user_model
from django.contrib.auth.models import Group
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django_otp.plugins.otp_totp.models import TOTPDevice

from machines.models import Booking, Machine
from quoting.contract import digest
from quoting.desk.views_customer import COOKIE
from quoting.planning.models import WON, FactorVersion, Job, PlanMove, PlanRun, RunRecord, RunUpload
from quoting.planning.run_models import FORM
from quoting.quotes import drawings, links, model_reports, models, policies, selectors, services
from quoting.quotes.answers import Outcome, outcome
from quoting.quotes.bookings import monday
from quoting.quotes.rates.files import rates_file
from quoting.quotes.repricing_models import CANCELLED, RepricingRun
from quoting.quotes.runs.files import template

INQUIRY = Path(settings.BASE_DIR) / "fixtures" / "demo" / "inquiries" / "01-equipment-cover.json"
PEOPLE = {
    "rep": policies.REP, "other_rep": policies.REP, "estimator": policies.ESTIMATOR, "manager": policies.MANAGER,
    "administrator": policies.ADMINISTRATOR, "no_role": None,
}  # fmt: skip
VISITORS = ("anonymous", *PEOPLE, "customer")


@dataclass
class World:
    """What was made. ``own`` belongs to the rep and, by its link, to the customer; ``other`` to the other rep."""

    people: dict[str, object]
    own: SimpleNamespace
    other: SimpleNamespace
    answer: Outcome
    clients: dict[str, Client] = field(default_factory=dict)

    def client(self, visitor: str) -> Client:
        if visitor not in self.clients:
            client = self.clients[visitor] = Client(raise_request_exception=False)
            if visitor in self.people:
                client.force_login(self.people[visitor])
            if visitor == "customer":
                client.cookies[COOKIE] = self.own.token
        return self.clients[visitor]

    def addresses(self, name: str, whose: str = "own") -> list[str]:
        """The addresses of a route for the things of one rep: of the answered inquiry, and of the sent one."""
        things = getattr(self, whose)
        return list(dict.fromkeys(address_of(name, things, inquiry) for inquiry in (things.answered, things.sent)))


def build() -> World:
    """Fill an empty database. One answer is computed; every inquiry has it."""
    services.catalog_ensure()
    services.ensure_groups()
    people = {name: person(name, role) for name, role in PEOPLE.items()}
    typed = json.loads(INQUIRY.read_text())
    found = outcome(typed, selectors.catalog(services.today()), services.today())
    own, other = (_things(people[name], people["estimator"], typed, found) for name in ("rep", "other_rep"))
    machine = Machine.objects.order_by("code").first()
    Booking.objects.create(machine=machine, week=monday(services.today()), hours=10.0, firm=True, label="standing work")
    _rates(people["manager"])
    _runs(people["manager"], own.quote, machine)
    _plan(people["manager"], machine)
    return World(people, own, other, found)


def _rates(manager: object) -> None:
    """A rate table that waits for its confirmation, an import, and a re-pricing that was cancelled."""
    at, told = datetime.now(UTC), {"table": "labour", "file_name": "labour.csv", "by": manager}
    models.RateUpload.objects.create(
        token=secrets.token_hex(16), content=rates_file("labour", services.today(), "csv"), at=at, **told
    )
    models.RateImport.objects.create(number="R-1999-0001", file_digest="0" * 64, counts={}, at=at, **told)
    RepricingRun.objects.create(
        on=services.today(), by=manager, at=at, state=CANCELLED, total=1, catalog_digest="0" * 64
    )


def _runs(manager: object, quote: models.Quote, machine: Machine) -> None:
    """A job with a recorded run, and a file of runs that waits for its confirmation."""
    day, at = services.today(), datetime.now(UTC)
    job, _ = Job.objects.update_or_create(
        quote=quote.number,
        defaults={
            "state": WON, "machine": machine, "process": "vacuum", "polymer": "ABS", "quantity": 100, "hours": 9.0,
            "since": day, "ready": day, "due": day, "value": 1000, "margin": 0.2,
        },
    )  # fmt: skip
    RunRecord.objects.create(
        job=job, machine=machine, started=day, ended=day, parts_good=100, parts_scrapped=4, source=FORM, at=at
    )
    FactorVersion.objects.create(number=1, digest="0" * 64, runs=0, proposed_at=at, proposed_by=manager)
    RunUpload.objects.create(
        token=secrets.token_hex(16), file_name="runs.csv", content=template().encode(), by=manager, at=at
    )


def _plan(manager: object, machine: Machine) -> None:
    """A plan that is done, with one move that is still to be decided."""
    run = PlanRun.objects.create(
        kind="as_it_is", overtime=8, on=services.today(), first=monday(services.today()), weeks=26, by=manager,
        at=datetime.now(UTC), state="done", best={"late": 0, "cost": "300", "overtime": 0},
    )  # fmt: skip
    other = Machine.objects.order_by("code").last()
    shift = {"job": "Q-1999-0001", "machine": machine.code, "to": other.code, "weeks": [], "to_weeks": []}
    PlanMove.objects.create(run=run, number=1, shifts=[shift], cost=300, reason="late", weeks_late_saved=1,
                            overtime_saved=0)  # fmt: skip


def person(name: str, role: str | None) -> object:
    users = get_user_model().objects
    person = users.create_user(name, f"{name}@desk.example", is_staff=role not in (policies.REP, None))
    person.is_superuser = role == policies.ADMINISTRATOR
    person.save()
    if role in policies.GROUPS:
        person.groups.add(Group.objects.get(name=role))
    TOTPDevice.objects.create(user=person, confirmed=False)
    return person


def _things(rep: object, estimator: object, typed: dict, found: Outcome) -> SimpleNamespace:
    answered, sent = (_inquiry(rep, typed, found, state) for state in (models.ANSWERED, models.SENT))
    override = None
    for inquiry in (answered, sent):
        override = models.Override.objects.create(
            inquiry=inquiry, field="part.gauge", new="0.250 in", reason="test", by=estimator, at=inquiry.created_at
        )
    token = links.fresh_token()
    quote = models.Quote.objects.create(
        number=sent.number.replace("I-", "Q-"), inquiry=sent, kind=models.QUOTE, snapshot=sent.snapshot,
        digest=digest(sent.snapshot), pdf=b"%PDF-1.7 quote", pdf_digest=sha256(b"%PDF-1.7 quote").hexdigest(),
        issued_by=estimator, issued_at=sent.created_at, valid_until=services.today() + timedelta(days=30),
        link_hash=links.hashed(token), link_expires=datetime.now(UTC) + timedelta(days=30),
    )  # fmt: skip
    return SimpleNamespace(answered=answered, sent=sent, quote=quote, token=token, override=override)


def _inquiry(rep: object, typed: dict, found: Outcome, state: str) -> models.Inquiry:
    name = f"{secrets.token_hex(16)}.stl"
    (drawings.drawings_folder() / name).write_bytes(b"solid test\nendsolid test\n")
    inquiry = services.inquiry_log(typed={**typed, "part": {**typed["part"], "model": name}}, by=rep)
    inquiry.snapshot, inquiry.decision = found.snapshot, found.decision
    inquiry.data_digest, inquiry.catalog_digest = found.digest, found.catalog_digest
    inquiry.answered_on, inquiry.answered_at, inquiry.state = services.today(), inquiry.created_at, state
    inquiry.save()
    token = secrets.token_hex(8)
    folder = model_reports.models_folder() / token
    folder.mkdir(parents=True)
    (folder / "wall.png").write_bytes(model_reports.PNG + b"picture")
    (folder / "wall.glb").write_bytes(b"glTF mesh")
    models.ModelReport.objects.create(
        inquiry=inquiry, file_name=name, state=models.READY, token=token, asked_at=inquiry.created_at,
        report={"pictures": {"wall": "wall.png"}, "meshes": {"wall": "wall.glb"}, "bodies": [], "found": {}},
    )  # fmt: skip
    return inquiry


def address_of(name: str, things: SimpleNamespace, inquiry: models.Inquiry) -> str:
    """The address of a route, with each of its parameters taken from the things by its name."""
    machine = Machine.objects.order_by("code").first()
    given = {
        "number": things.quote.number if name.startswith("customer-") else inquiry.number,
        "revision": 1, "token": things.token, "place": 0, "name": "wall",
        "kind": "csv", "table": "labour", "form": "csv", "run": RepricingRun.objects.get().pk,
        "override": inquiry.overrides.first().pk,
        "record": RunRecord.objects.earliest("pk").pk, "upload": RunUpload.objects.earliest("pk").token,
        "plant": machine.plant.code, "machine": machine.code, "week": monday(services.today()),
        "plan": PlanRun.objects.earliest("pk").pk, "move": 1, "factors": FactorVersion.objects.earliest("pk").pk,
    }  # fmt: skip
    if name.startswith("rates-"):
        given |= {"number": models.RateImport.objects.get().number, "token": models.RateUpload.objects.get().token}
    wanted = parameters(name)
    assert set(wanted) <= set(given), f"say in {__name__}.address_of what {set(wanted) - set(given)} of {name} is"
    asked = f"?table=labour&of={machine.plant.code}%2C+labour" if name == "rates-history" else ""
    return reverse(name, kwargs={one: given[one] for one in wanted}) + asked


def parameters(name: str) -> tuple[str, ...]:
    return next(tuple(pattern.pattern.converters) for known, pattern in routes() if known == name)


def routes(resolver: URLResolver | None = None, namespace: str = "") -> list[tuple[str, URLPattern]]:
    """Every route of the app, by its full name; one without a name has its view's."""
    found = []
    for one in (resolver or get_resolver()).url_patterns:
        if isinstance(one, URLResolver):
            found += routes(one, f"{namespace}{one.namespace}:" if one.namespace else namespace)
        else:
            found.append((f"{namespace}{one.name or one.lookup_str}", one))
    return found
