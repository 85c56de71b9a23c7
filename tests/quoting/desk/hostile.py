"""Hostile inputs, made anew from a seed: texts, numbers, units, files, addresses; and what they did to the app."""

import random
from collections.abc import Iterator
from dataclasses import dataclass
from time import perf_counter, process_time
from urllib.parse import quote

from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.http import HttpResponse

from quoting import units
from quoting.desk import rights
from quoting.desk.forms import UPLOAD, InquiryForm

from .hostile_texts import NUMBERS, TEXTS, UNITS, model_files
from .page_forms import PageForm, forms_on
from .world import World, parameters

QUERY = ("search", "state", "page", "process", "polymer", "all", "rules", "next")
PATHS = (
    "/inquiries/{}/", "/review/{}/", "/loading/{}/2026-11-23/", "/q/{}/", "/q/{}/1/", "/inquiries/{}/model/{}.png",
    "/review/{}/candidate/{}/", "/q/Q-1/{}/",
)  # fmt: skip
LEAKS = (
    "Traceback (most",
    "site-packages",
    "SELECT ",
    "django.",
    "psycopg",
    "sqlite3",
    str(settings.BASE_DIR),
    "SECRET_KEY",
)
RUNS = ("<script>alert(1)", "<img src=x onerror", "k49k")  # a text that became markup or was computed


@dataclass(frozen=True)
class Met:
    """How one request with hostile inputs ended; times in seconds, of the clock and of this process alone."""

    what: str
    inputs: int
    status: int
    took: float
    worked: float
    wrong: tuple[str, ...]


def meetings(world: World, seed: int, *, requests: int, whole: bool = True) -> Iterator[Met]:
    """So many requests of each kind; nothing of any stays. Only the ``whole`` opens every page and sends files."""
    chance = random.Random(seed)
    yield from inquiries(world, chance, requests)
    yield from addresses(world, chance, requests)
    yield from forms(world, chance, requests)
    yield from bodies(world)
    if whole:
        yield from forms_of_pages(world, chance, 4 * requests)
        yield from uploads(world)


def value(chance: random.Random) -> str:
    """One hostile text, at times one made of two or with a letter changed."""
    text = chance.choice((TEXTS, NUMBERS, UNITS)[chance.randrange(3)])
    if chance.random() < 0.2:
        text += chance.choice(TEXTS)
    if text and chance.random() < 0.1:
        place = chance.randrange(len(text))
        text = text[:place] + chr(chance.choice((0, 9, 0x27, 0x202E, 0xFFFD, 0x1F600))) + text[place + 1 :]
    return text


def inquiries(world: World, chance: random.Random, requests: int) -> Iterator[Met]:
    """The inquiry form, new and kept, with six fields spoilt at a time."""
    form = InquiryForm.of(world.own.answered.typed, ("ABS",))
    good = {name: text for name, text in form.initial.items() if text}
    names = [name for name in form.fields if name != UPLOAD]
    for number in range(requests):
        spoilt = {name: value(chance) for name in chance.sample(names, 6)}
        if number % 2:
            address, extra = world.addresses("inquiry-change")[0], {"version": world.own.answered.version}
        else:
            address, extra = world.addresses("inquiry-log")[0], {}
        yield met(world, f"inquiry {sorted(spoilt)}", "rep", "POST", address, {**good, **extra, **spoilt}, len(spoilt))


def addresses(world: World, chance: random.Random, requests: int) -> Iterator[Met]:
    """What stands in an address: the parts of the path, and what follows the question mark."""
    own = world.own.answered.number
    days = ("0001-01-01", "9999-12-31", "9999-99-99", "2026-02-30", "0000-00-00", "2026-11-24")
    for day in days:
        machine = world.addresses("loading-week")[0].split("/")[2]
        yield met(world, f"day {day}", "manager", "GET", f"/loading/{machine}/{day}/", {}, 1)
    for number in ("0", "99999999999999999999", "9" * 5000):
        yield met(world, "place", "estimator", "GET", f"/review/{own}/candidate/{number}/", {}, 1)
        withdraw = f"/review/{own}/override/{number}/withdraw/"
        yield met(world, "override", "estimator", "POST", withdraw, {}, 1)
    for _ in range(requests):
        text = quote(value(chance)[:300], safe="")
        path = chance.choice(PATHS).replace("{}", text)
        yield met(world, f"path {path[:60]!r}", chance.choice(("rep", "estimator", "customer")), "GET", path, {}, 1)
        name = chance.choice(("inquiries", "review", "work", "loading", "login", "second-factor-ask"))
        asked = {
            key: value(chance) for key in ("search", "state", "page", "process", "polymer", "all", "rules", "next")
        }
        yield met(world, f"query of {name}", "estimator", "GET", world.addresses(name)[0], asked, len(asked))


FIELDS = (
    "reason", "release", "text", "version", "field", "value", "tool", "plug", "bubble", "username", "password", "code",
    "next", "old_password", "new_password1", "new_password2",
)  # fmt: skip
ADMIN_FORMS = {
    "/admin/quotes/raterow/add/": ("key", "value", "valid_from", "source"),
    "/admin/machines/booking/add/": ("machine", "week", "hours", "firm", "label", "quote"),
    "/admin/machines/plant/add/": ("code", "name", "state", "labour_rate", "assembly", "time_zone", "latitude"),
    "/admin/quotes/raterow/": ("action", "_selected_action", "index", "q", "p", "o"),
}


def forms(world: World, chance: random.Random, requests: int) -> Iterator[Met]:
    """Every other form, with every field of all of them spoilt; the version is right half of the time."""
    posting = [
        name for name, right in rights.ROUTES.items()
        if "POST" in right.methods and name not in ("logout", "inquiry-log", "inquiry-change", "answer-again")
    ]  # fmt: skip
    for number in range(requests):
        name = posting[number % len(posting)]
        visitor = "customer" if name.startswith("customer") else "anonymous" if name == "login" else "estimator"
        spoilt = {field: value(chance) for field in FIELDS}
        if number % 2:
            spoilt |= {"version": "1", "field": chance.choice(("part.length", "part.name", "quantities.releases"))}
        address = world.addresses(name)[-1 if "number" in parameters(name) and number % 3 else 0]
        yield met(world, f"form {name}", visitor, "POST", address, spoilt, len(spoilt))
    for number in range(requests // 2):
        address, fields = tuple(ADMIN_FORMS.items())[number % len(ADMIN_FORMS)]
        spoilt = {field: value(chance) for field in fields}
        method = "POST" if number % 8 < 6 else "GET"
        yield met(world, f"admin {address}", "administrator", method, address, spoilt, len(spoilt))


def forms_of_pages(world: World, chance: random.Random, requests: int) -> Iterator[Met]:
    """Each form that a page of each person holds, as it stands there but for one to three spoilt fields."""
    forms = [
        (visitor, form)
        for visitor in ("rep", "estimator", "manager", "administrator", "customer")
        for form in _forms_shown(world, visitor)
        if form.fields
    ]
    for number in range(max(requests, len(forms))):
        visitor, form = forms[number % len(forms)]
        names = chance.sample(sorted(form.fields), min(len(form.fields), chance.randrange(1, 4)))
        spoilt = {name: value(chance) for name in names}
        what = f"{visitor} {form.action[:60]} {names}"
        yield met(world, what, visitor, form.method, form.action, {**form.fields, **spoilt}, len(spoilt))


def _forms_shown(world: World, visitor: str) -> Iterator[PageForm]:
    shown = set()
    for name, right in rights.ROUTES.items():
        for address in world.addresses(name) if "GET" in right.methods else ():
            response = world.client(visitor).get(address)
            if response.status_code != 200 or response.streaming or "text/html" not in response["Content-Type"]:
                continue
            for form in forms_on(response.content.decode(), address):
                if (form.action, form.method, *form.fields) not in shown:
                    shown.add((form.action, form.method, *form.fields))
                    yield form


def bodies(world: World) -> Iterator[Met]:
    """Bodies that are too large, too deep, too many, or not what they say they are."""
    ten = 10 * 1024 * 1024
    deep = "[" * 200_000 + "]" * 200_000
    raw = (
        ("application/json", deep),
        ("application/json", '{"a":' * 50_000 + "1e309" + "}" * 50_000),
        ("multipart/form-data", "--x"),
        ("multipart/form-data; boundary=x", "--x\r\nbad"),
        ("multipart/form-data; boundary=" + "b" * 5000, "x"),
        ("application/x-www-form-urlencoded", "&=" * 900),
        ("application/x-www-form-urlencoded", "a=%ff%fe%00&" * 900),
        ("application/x-www-form-urlencoded; charset=no", "a=b"),
        ("text/html", "<html>"),
        ("", "a=b"),
        ("application/x-www-form-urlencoded", "x=" + "y" * ten),
        ("application/x-www-form-urlencoded", "f=1&" * 5000),
    )
    for visitor, name in (("rep", "inquiry-log"), ("customer", "customer-change"), ("anonymous", "login")):
        address = world.addresses(name)[-1]
        for kind, body in raw:
            yield met(world, f"body of {kind[:40]}", visitor, "POST", address, body, 1, content_type=kind)
        text = {"text": "x" * ten, "customer_company": "x" * ten, "username": "x" * ten}
        yield met(world, "10 MB of text", visitor, "POST", address, text, 3)


def uploads(world: World) -> Iterator[Met]:
    """The inquiry form with bad model files. A file that is looked at at all is read by a process of its own."""
    good = {name: text for name, text in InquiryForm.of(world.own.answered.typed, ("ABS",)).initial.items() if text}
    for name, content in model_files().items():
        sent = {**good, "part_model": "", UPLOAD: SimpleUploadedFile(name[:200] or "x", content)}
        yield met(world, f"file {name[:30]!r}", "rep", "POST", world.addresses("inquiry-log")[0], sent, 1)


def met(
    world: World, what: str, visitor: str, method: str, address: str, data: object, inputs: int, **more: str
) -> Met:
    client = world.client(visitor)
    began, worked = perf_counter(), process_time()
    with transaction.atomic():
        cookies = client.cookies.copy()
        if isinstance(data, str):
            response = client.generic(method, address, data, **more)
        else:
            response = (client.get if method == "GET" else client.post)(address, data)
        client.cookies = cookies
        transaction.set_rollback(True)
    return Met(what, inputs, response.status_code, perf_counter() - began, process_time() - worked, wrong_in(response))


def wrong_in(response: HttpResponse) -> tuple[str, ...]:
    if response.streaming:
        return ()
    text = response.content.decode("utf-8", "replace")
    return tuple(word for word in (*LEAKS, *RUNS) if word in text)


def unit_texts(seed: int, count: int) -> Iterator[tuple[str, float, str]]:
    """Unit texts spoilt from good and bad ones: text, seconds, and what an unforeseen fault was called."""
    chance = random.Random(seed)
    letters = "0123456789./ '\"-+eEinftmcd%°µ²^*()½⁄\x00\u202e"
    for _ in range(count):
        text = chance.choice((*UNITS, "4 ft 6 in", "3-1/2 in", "304.8 mm", "120 degC"))
        for _ in range(chance.randrange(4)):
            place = chance.randrange(len(text) + 1)
            text = text[:place] + chance.choice(letters) * chance.choice((1, 1, 1, 5000)) + text[place:]
        began, fault = perf_counter(), ""
        try:
            units.read(text, chance.choice(("length", "temperature", "angle", "mass", "area")))
        except units.UnitError:
            fault = ""
        except Exception as unforeseen:  # noqa: BLE001 - every fault but the foreseen one is what is looked for
            fault = type(unforeseen).__name__
        yield text, perf_counter() - began, fault
