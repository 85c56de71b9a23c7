"""A small office: five people, one plant with one machine, and an answering core that says what the test wants."""

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from types import SimpleNamespace

import pytest
from django.contrib.auth import get_user_model

from machines.models import Machine, Plant, Station
from quoting.contract import digest
from quoting.quotes import policies, replies, selectors, services, steps, stock
from quoting.quotes.answers import Outcome
from quoting.quotes.reviewing import KEYS

ON = date(2026, 11, 25)  # a Wednesday
TYPED = {
    "reference": "T-1",
    "customer": {"company": "Example Carts", "contact": "Lee Example", "email": "lee@carts.example"},
    "part": {"name": "Cover", "length": "40 in"},
}


PRICE = SimpleNamespace(
    validity_days=30, first_article_weeks=1.0, margin_floor=Decimal("0.08"), manager_limit=Decimal(1_000_000)
)


def stored_candidate(
    machine: str = "M-1", plant: str = "P-1", hours: float = 10.0, landed: str = "50.00", **other: object
) -> dict:
    """A candidate that fits, as stored: as much of it as planning and services look at."""
    cost_of_part = {100: Decimal(40), 500: Decimal(35)}
    breaks = [
        {"quantity": 100, "unit_price": "57.00", "freight_per_part": "3.00", "landed_unit_price": "60.00",
         "setup_per_part": "2.0000", "lead_time_weeks": 3.0, "press_hours": hours, "trim_hours": 5.0},
        {"quantity": 500, "unit_price": str(Decimal(landed) - 3), "freight_per_part": "3.00",
         "landed_unit_price": landed, "setup_per_part": "0.4000", "lead_time_weeks": 4.0, "press_hours": 10 * hours,
         "trim_hours": 20.0},
    ]  # fmt: skip
    lines = [
        {"quantity": one["quantity"], "name": "forming", "total": str(one["quantity"] * cost_of_part[one["quantity"]]),
         "inputs": []}
        for one in breaks
    ]  # fmt: skip
    candidate = {
        "process": "vacuum", "plant": {"code": plant}, "machine": {"code": machine}, "polymer": {"name": "ABS"},
        "offer": {"name": "mill", "lead_time_weeks": 2.0}, "layout": {"along": 1, "across": 1},
    } | other  # fmt: skip
    trim = {"trimmer": {"code": "R-1"}, "plant": plant, "moves": False}
    planned = {"request": {"part": {}}, "candidate": candidate, "plan": {"trim": trim}}
    cost = {"breaks": breaks, "lines": lines, "tooling": [], "amortised": None}
    return {"judged": {"planned": planned}, "cost": cost}


def stored_answer(decision: str = "quote", landed: str = "50.00") -> dict:
    """The least of a stored answer that the services look at."""
    chosen = stored_candidate(landed=landed)
    return {
        "decision": decision,
        "summary": {"text": decision, "figures": []},
        "request": {"annual": 1000, "tooling": "new", "needed_by": None},
        "chosen": chosen if decision == "quote" else None,
        "candidates": [],
    }


@dataclass
class Core:
    """What the answering core will say next, and what it was asked."""

    snapshot: dict | None = field(default_factory=stored_answer)
    errors: tuple[dict, ...] = ()
    data: str = "catalog of today"
    asked: list = field(default_factory=list)

    def outcome(self, raw: object, catalog: object, on: date) -> Outcome:
        self.asked.append(raw)
        if self.errors:
            return Outcome("bad_input", None, "", self.data, self.errors)
        return Outcome(self.snapshot["decision"], self.snapshot, digest(self.snapshot), self.data)


@pytest.fixture
def core(monkeypatch: pytest.MonkeyPatch, db: None) -> Core:
    core = Core()
    for module in (services, steps):
        monkeypatch.setattr(module, "outcome", core.outcome)
    monkeypatch.setattr(steps, "catalog_digest", lambda catalog: core.data)
    monkeypatch.setattr(steps, "render_quote", lambda snapshot, **heading: f"%PDF quote {heading}".encode())
    monkeypatch.setattr(steps, "render_letter", lambda snapshot, **heading: f"%PDF letter {heading}".encode())
    monkeypatch.setattr(selectors, "catalog", lambda on: "catalog")
    monkeypatch.setattr(steps.master_data, "keep", lambda digest, catalog: None)
    monkeypatch.setattr(selectors, "rates", lambda on: SimpleNamespace(price=PRICE))
    monkeypatch.setattr(steps, "today", lambda: ON)
    monkeypatch.setattr(replies, "today", lambda: ON)
    monkeypatch.setattr(services, "today", lambda: ON)
    return core


@dataclass(frozen=True)
class People:
    rep: object
    other_rep: object
    estimator: object
    manager: object
    administrator: object


@pytest.fixture
def people(db: None) -> People:
    groups = stock.ensure_groups()
    users = get_user_model().objects

    def person(name: str, group: str) -> object:
        user = users.create_user(name, password="a long test word", is_staff=group != policies.REP)
        user.groups.add(groups[group])
        return user

    return People(
        rep=person("rep", policies.REP),
        other_rep=person("other-rep", policies.REP),
        estimator=person("estimator", policies.ESTIMATOR),
        manager=person("manager", policies.MANAGER),
        administrator=users.create_superuser("administrator", password="a long test word"),
    )


@pytest.fixture
def machine(db: None) -> Machine:
    return make_machine()


def make_machine() -> Machine:
    plant = Plant.objects.create(
        code="P-1", name="First Plant", state="OH", postal_code="44114", country="US", latitude=41.5, longitude=-81.7,
        time_zone="America/New_York", shop_temperature=295.0, labour_rate="30", inspector_rate="35", shifts_per_day=1,
        hours_per_shift=8.0, days_per_week=5,
    )  # fmt: skip
    lengths = dict.fromkeys(
        (
            "platen_length", "platen_width", "largest_opening_length", "largest_opening_width",
            "smallest_opening_length", "smallest_opening_width", "upper_heated_length", "upper_heated_width",
            "lower_heated_length", "lower_heated_width",
        ),
        1.5,
    )  # fmt: skip
    depths = dict.fromkeys(("tool_height_above", "tool_height_below", "draw_depth_above", "draw_depth_below"), 0.5)
    heat = {
        f"{bank}_{name}": value
        for bank in ("upper", "lower")
        for name, value in (
            ("lowest_temperature", 500.0), ("highest_temperature", 900.0), ("emissivity", 0.9), ("view_factor", 0.8),
        )
    }  # fmt: skip
    times = dict.fromkeys(
        ("index_time", "load_time", "unload_time", "close_time", "open_time", "vacuum_time", "pressure_time"), 5.0
    )
    machine = Machine(
        plant=plant, code="M-1", kind="three_station_rotary", **lengths, **depths, **heat, **times,
        oven_air_temperature=400.0, oven_air_film_coefficient=8.0, oven_clearance_below=0.3, vacuum_pressure=80e3,
        pressure_capability=0.0, lock_force=0.0, thinnest_gauge=0.001, thickest_gauge=0.0127,
        tool_film_coefficient=200.0, cooling_air_temperature=295.0, cooling_film_coefficient=30.0, crew=1.0,
        hour_rate="90", setup_hours=2.0, setup_crew=1.0, efficiency=0.8,
    )  # fmt: skip
    machine.full_clean()
    machine.save()
    for position, (name, work) in enumerate((("load", ["load", "unload"]), ("oven", ["oven"]), ("form", ["form"]))):
        Station.objects.create(machine=machine, position=position, name=name, work=work)
    return machine


@pytest.fixture
def office(core: Core, people: People, machine: Machine) -> SimpleNamespace:
    return SimpleNamespace(core=core, machine=machine, **vars(people))


def answered(office: SimpleNamespace, by: object = None) -> object:
    by = by or office.rep
    return services.inquiry_answer(inquiry=services.inquiry_log(typed=TYPED, by=by), on=ON, by=by)


def approved(office: SimpleNamespace) -> object:
    return services.quote_approve(inquiry=answered(office), confirmed=KEYS, by=office.estimator, on=ON)


def sent(office: SimpleNamespace) -> tuple[object, str]:
    quote = approved(office)
    return quote, services.quote_send(quote=quote, by=office.rep)
