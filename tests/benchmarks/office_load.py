"""A large office under load: 100,000 inquiries and 50,000 quotes in PostgreSQL, four kinds of page, a fixed rate.

Run on an empty database of its own; a second run finds it filled. `office_load_alone` makes one for a single run:

    DATABASE_URL=postgresql://... DATA_DIR=/tmp/load python -m tests.benchmarks.office_load --minutes 10

What is realistic: number of rows, names, states, dates, history (four entries an inquiry), bookings, and 120 inquiries
with whole answers as the demo's inquiries get them, among which those that are opened are drawn. What is compact: the
answers of all other inquiries and quotes, and their PDFs, which no page of this load reads. Requests are sent at fixed
times whether earlier ones were answered or not, and the time counts from when one should have been sent. The app is
served by `.deploy/gunicorn.conf.py`; database and app must run on this machine for their processor time to be told.
"""

import argparse
import json
import os
import random
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "quoting.settings")
os.environ.setdefault("SECRET_KEY", "only for this load, and long enough to be taken " * 2)
os.environ.setdefault("ALLOWED_HOSTS", "127.0.0.1")

import django  # noqa: E402

django.setup()

from django.conf import settings  # noqa: E402
from django.contrib.auth import get_user_model  # noqa: E402
from django.contrib.auth.models import Group  # noqa: E402
from django.contrib.sessions.backends.db import SessionStore  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.db import DEFAULT_DB_ALIAS, connection  # noqa: E402

from quoting.desk import sessions  # noqa: E402
from quoting.quotes import demo, policies, records, services, watched  # noqa: E402
from quoting.quotes.models import Inquiry  # noqa: E402
from tests.benchmarks.paced import Paced  # noqa: E402
from tests.benchmarks.processor_time import parent_of, seconds_of  # noqa: E402

INQUIRIES, QUOTES, WHOLE, REPS, COMPANIES = 100_000, 50_000, 120, 12, 3_000
RECENT = 9_000  # inquiries of a month: one each five minutes; what is older and was not decided is lost
ANSWERED = ("01-equipment-cover", "02-textured-console", "04-pump-guard-for-steel", "10-texture-without-draft")
PARTS = ("cover", "fender", "console", "tray", "duct", "bezel", "hood", "liner", "door skin", "step well")
SYLLABLES = ("bar", "del", "fen", "gor", "hal", "ker", "lin", "mar", "nor", "pel", "rud", "sol", "tam", "ver", "wex")

# Rows are made by the database: sending a hundred thousand of them would take longer than all the rest.
FILL = f"""
INSERT INTO quotes_customer (company, contact, email)
SELECT s.names[1 + n %% 15] || s.names[1 + n / 15 %% 15] || s.names[1 + n / 225 %% 15] || ' works ' || n,
       'Contact ' || n, 'buyer' || n || '@customer.example'
FROM generate_series(1, {COMPANIES}) n, (SELECT %(syllables)s::text[] AS names) s ON CONFLICT DO NOTHING;

INSERT INTO quotes_inquiry (number, reference, customer_id, typed, state, version, created_by_id, created_at, snapshot,
       front, decision, errors, answered_at, answered_on, data_digest, catalog_digest, search_text)
SELECT 'I-2025-' || lpad(n::text, 6, '0'), 'REF-' || (n * 7919 %% 1000003), c.id,
       jsonb_build_object('part', jsonb_build_object('name', p.name || ' ' || n %% 977, 'length', '40 in')),
       CASE WHEN n %% 10 IN (4, 5, 6) AND n > {RECENT} THEN 'lost' ELSE
       (ARRAY['received','needs_information','answered','answered','approved','sent','sent','won','lost','declined'])
       [1 + n %% 10] END, 3, (%(reps)s::int[])[1 + n %% {REPS}], now() - n * interval '5 minutes',
       '{{"packed":1,"shared":[],"answer":{{}}}}', NULL,
       'quote', '[]', now() - n * interval '4 minutes', CURRENT_DATE, md5(n::text), '', ''
FROM generate_series(1, {INQUIRIES}) n
JOIN (SELECT id, row_number() OVER () AS place FROM quotes_customer) c ON c.place = 1 + n %% {COMPANIES}
JOIN unnest(%(parts)s::text[]) WITH ORDINALITY p(name, place) ON p.place = 1 + n %% {len(PARTS)};

INSERT INTO quotes_quote (number, revision, inquiry_id, kind, snapshot, digest, record_digest, pdf, pdf_digest,
       issued_by_id, issued_at, valid_until)
SELECT 'Q-2025-' || lpad(i.id::text, 6, '0'), 1, i.id, 'quote', i.snapshot, md5(i.number), md5(i.number),
       '\\x25504446', md5(i.number), i.created_by_id, i.answered_at, i.answered_at::date + 30
FROM quotes_inquiry i WHERE i.state IN ('approved', 'sent', 'won', 'lost') ORDER BY i.id LIMIT {QUOTES};

UPDATE quotes_inquiry i SET search_text = lower(concat_ws(E'\\n', i.number, i.reference, c.company, c.contact,
       i.typed->'part'->>'name', q.number))
FROM quotes_customer c, quotes_inquiry j LEFT JOIN quotes_quote q ON q.inquiry_id = j.id
WHERE c.id = i.customer_id AND j.id = i.id;

INSERT INTO quotes_auditentry (at, by_id, action, inquiry_id, detail)
SELECT i.created_at + k * interval '1 hour', i.created_by_id,
       (ARRAY['inquiry_log','inquiry_answer','override_add','inquiry_answer'])[k], i.id, '{{}}'
FROM quotes_inquiry i, generate_series(1, 4) k;

INSERT INTO quotes_auditentry (at, by_id, action, inquiry_id, quote_id, detail)
SELECT q.issued_at + d.days * interval '1 day', i.created_by_id, d.action, i.id, q.id, '{{}}'
FROM quotes_quote q JOIN quotes_inquiry i ON i.id = q.inquiry_id
JOIN (VALUES ('sent', 'quote_send', 1), ('won', 'quote_send', 1), ('lost', 'quote_send', 1), ('won', 'quote_won', 9),
     ('lost', 'quote_lost', 20)) AS d(state, action, days) ON d.state = i.state;

INSERT INTO planning_job (quote, part, customer, state, machine_id, process, polymer, quantity, hours, options, tool,
       since, ready, due, valid_until, locked, value, margin)
SELECT q.number, i.typed->'part'->>'name', c.company,
       CASE i.state WHEN 'won' THEN CASE WHEN right(i.number, 6)::int > {RECENT} * 2 THEN 'done' ELSE 'won' END
       WHEN 'lost' THEN 'gone' ELSE 'quoted' END,
       m.id, 'vacuum', 'HIPS', 500, 1 + i.id %% 9, '[]', 'T-' || i.id %% 400, q.issued_at::date,
       q.issued_at::date + 42, q.issued_at::date + 70, CASE WHEN i.state IN ('approved', 'sent') THEN q.valid_until END,
       false, 1000 * (1 + i.id %% 150), 0.2
FROM quotes_quote q JOIN quotes_inquiry i ON i.id = q.inquiry_id JOIN quotes_customer c ON c.id = i.customer_id
JOIN (SELECT id, row_number() OVER () AS place, count(*) OVER () AS machines FROM machines_machine) m
     ON m.place = 1 + i.id %% m.machines;

INSERT INTO machines_booking (machine_id, week, hours, firm, label, quote)
SELECT j.machine_id, date_trunc('week', j.due - 14)::date - 7 * w, j.hours / 2, j.state = 'won', j.quote, j.quote
FROM planning_job j, generate_series(0, 1) w WHERE j.state IN ('won', 'quoted');

INSERT INTO planning_benchhours (job_id, plant_id, kind, code, week, hours)
SELECT j.id, t.plant_id, 'router', t.code, date_trunc('week', j.due - 14)::date, j.hours / 3
FROM planning_job j JOIN machines_machine m ON m.id = j.machine_id
JOIN (SELECT plant_id, min(code) AS code FROM machines_trimmer GROUP BY plant_id) t ON t.plant_id = m.plant_id
WHERE j.state IN ('won', 'quoted');
"""  # noqa: S608 - our own numbers


def fill() -> None:
    call_command("migrate", verbosity=0)
    services.catalog_ensure()
    services.ensure_groups()
    if Inquiry.objects.count() >= INQUIRIES:
        return
    began, on = time.perf_counter(), records.today()
    reps = [person(f"rep-{n}", policies.REP) for n in range(REPS)]
    person("estimator", policies.ESTIMATOR)
    person("manager", policies.MANAGER)
    with connection.cursor() as cursor:
        cursor.execute(FILL, {"syllables": list(SYLLABLES), "parts": list(PARTS), "reps": [one.pk for one in reps]})
    folder = demo.stock.DEMO / "inquiries"
    answers = []
    for name in ANSWERED:
        typed = json.loads((folder / f"{name}.json").read_text())
        logged = services.inquiry_log(typed=typed, by=reps[0])
        answers.append(services.inquiry_answer(inquiry=logged, on=on, by=reps[0]))
    for place, row in enumerate(Inquiry.objects.filter(number__startswith="I-2025", state="answered")[:WHOLE]):
        whole = answers[place % len(answers)]
        row.snapshot, row.decision, row.data_digest = whole.snapshot, whole.decision, whole.data_digest
        row.typed = whole.typed
        row.save()
    with connection.cursor() as cursor:
        # As the autovacuum leaves a database in the course of days. The counts of changes are put into few rows
        # between, so that the second one can give back what a hundred thousand of them took.
        cursor.execute("VACUUM (ANALYZE)")
        watched.fold(DEFAULT_DB_ALIAS, longer=1)
        cursor.execute("VACUUM (INDEX_CLEANUP ON)")
        cursor.execute("SELECT pg_size_pretty(pg_database_size(current_database()))")
        print(f"filled in {time.perf_counter() - began:.0f} s, {cursor.fetchone()[0]}")


def person(username: str, role: str) -> object:
    user, _ = get_user_model().objects.get_or_create(username=username)
    user.groups.add(Group.objects.get(name=role))
    return user


def cookie(username: str) -> str:
    user = get_user_model().objects.get(username=username)
    session = SessionStore()
    session["_auth_user_id"] = str(user.pk)
    session["_auth_user_backend"] = settings.AUTHENTICATION_BACKENDS[-1]
    session["_auth_user_hash"] = user.get_session_auth_hash()
    session[sessions.BEGAN] = session[sessions.SEEN] = int(time.time())
    session.create()
    return f"{settings.SESSION_COOKIE_NAME}={session.session_key}"


def schedule(seed: int, count: int) -> list[tuple[str, str, str]]:
    """(page, address, cookie) of each request; ten in forty are of each kind."""
    dice = random.Random(seed)
    reps, office = [cookie(f"rep-{n}") for n in range(REPS)], [cookie("estimator"), cookie("manager")]
    whole = list(Inquiry.objects.exclude(front=None).values_list("number", flat=True))
    mine = list(Inquiry.objects.exclude(front=None).values_list("number", "created_by__username"))
    words = [lambda: f"q-2025-{dice.randrange(1, INQUIRIES):06d}", lambda: f"i-2025-{dice.randrange(INQUIRIES):06d}",
             lambda: "".join(dice.choices(SYLLABLES, k=3)), lambda: f"{dice.choice(PARTS)} {dice.randrange(977)}",
             lambda: dice.choice(PARTS)]  # fmt: skip
    made = []
    for place in range(count):
        kind = ("list", "search", "inquiry", "board")[place % 4]
        if kind == "list":
            page = dice.choice((1, 1, 1, 2, 3, 40))
            state = dice.choice(("", "", "answered", "sent"))
            if dice.random() < 0.5:
                made.append(("list, rep", f"/inquiries/?page={page}&state={state}", dice.choice(reps)))
            else:
                made.append(("list, estimator", f"/review/?page={page}&state={state}", dice.choice(office)))
        elif kind == "search":
            made.append(
                ("search", f"/review/?state=&search={dice.choice(words)()}".replace(" ", "+"), dice.choice(office))
            )
        elif kind == "inquiry" and dice.random() < 0.5:
            number, rep = dice.choice(mine)
            made.append(("inquiry, rep", f"/inquiries/{number}/", reps[int(rep.partition("-")[2])]))
        elif kind == "inquiry":
            made.append(("inquiry, estimator", f"/review/{dice.choice(whole)}/", dice.choice(office)))
        else:
            made.append(("loading board", "/loading/", dice.choice(office)))
    return made


def server_of(port: int, workers: int) -> subprocess.Popen:
    """The app as it is deployed, by the same file; a line a request goes to a log in the data folder."""
    environment = os.environ | {"BIND": f"127.0.0.1:{port}", "WEB_WORKERS": str(workers)}
    command = [sys.executable, "-m", "gunicorn", "-c", ".deploy/gunicorn.conf.py", "quoting.wsgi"]
    with (settings.DATA_DIR / "server.log").open("w") as log:
        return subprocess.Popen(command, cwd=ROOT, env=environment, stderr=log)


def spent(web: subprocess.Popen) -> dict[str, float]:
    """Processor time so far [s] of each of the three that share the cores."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_backend_pid()")
        postmaster = parent_of(cursor.fetchone()[0])
    return {"web": seconds_of(web.pid), "database": seconds_of(postmaster), "driver": time.process_time()}


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--minutes", type=float, default=10)
    asked.add_argument("--rate", type=float, default=40)
    asked.add_argument("--workers", type=int, default=3)
    asked.add_argument("--port", type=int, default=8170)
    asked.add_argument("--warm-up", type=float, default=10, help="seconds that are not counted")
    given = asked.parse_args()
    if connection.vendor != "postgresql":
        sys.exit("DATABASE_URL must name an empty PostgreSQL database")
    fill()
    requests = schedule(7, int(given.rate * 60 * given.minutes))
    server = server_of(given.port, given.workers)
    try:
        time.sleep(8)
        Paced(given.port, given.rate / 2).run(requests[: int(given.warm_up * given.rate / 2)])
        load, began, before = os.getloadavg()[0], time.perf_counter(), spent(server)
        driver = Paced(given.port, given.rate)
        driver.run(requests)
        took, after = time.perf_counter() - began, spent(server)
        print(f"{len(requests)} requests in {took:.0f} s = {len(requests) / took:.1f}/s, {given.workers} workers, "
              f"{os.cpu_count()} cores; load of the machine before {load:.1f}, after {os.getloadavg()[0]:.1f}; "
              f"{driver.renewed} asked again on a new connection")  # fmt: skip
        driver.table()
        for name, seconds in after.items():
            used = seconds - before[name]
            print(f"processor time of {name}: {used:.0f} s, {1000 * used / len(requests):.1f} ms a request")
    finally:
        server.terminate()
        server.wait()


if __name__ == "__main__":
    main()
