"""Triggers that count changes of whatever the board, the chances and the counts by state rest on.

The database counts, not the services, so that no way of writing is left out: form, import, admin, command or SQL. They
are laid anew after each `migrate` (a migration that alters a table of SQLite loses its triggers) under names that hold
a digest of what they do.
"""

from dataclasses import dataclass
from hashlib import sha256

from django.db import connections

RECORD, WORK, STATES = "record", "work", "states"
KINDS = (RECORD, WORK, STATES)
TABLE, PREFIX = "quotes_countedchange", "counted_"
LONG = 50  # rows of a kind beyond which they are put into one, so that a reader adds up a few
WON_OR_LOST, SENT = "'quote_won', 'quote_lost'", "'quote_send', 'quote_mail'"


@dataclass(frozen=True)
class Watch:
    """Rows of a table of which a change counts. ``differs`` names the columns of which an update does; empty: of all.

    ``only`` is a condition on the new row, or on the old one where it goes.
    """

    kind: str
    table: str
    events: tuple[str, ...] = ("INSERT", "UPDATE", "DELETE")
    differs: tuple[str, ...] = ()
    only: str = ""


WATCHED = (
    *(
        Watch(WORK, table)
        for table in (
            "machines_plant", "machines_machine", "machines_trimmer", "machines_shift", "machines_closedday",
            "machines_timewindow", "machines_booking", "planning_benchhours", "planning_job",
        )
    ),
    # The size of a decided quote is the value of its job. Whether it is decided is not asked: a trigger that reads
    # other tables is slow where nothing is known of them yet, as in a restore.
    Watch(RECORD, "planning_job", differs=("value", "quote")),
    Watch(RECORD, "quotes_auditentry", ("INSERT", "DELETE"), only=f"ROW.action IN ({WON_OR_LOST})"),
    Watch(WORK, "quotes_auditentry", ("INSERT", "DELETE"), only=f"ROW.action IN ({SENT})"),
    Watch(RECORD, "quotes_raterow"),  # what chances take as given is dated rates
    Watch(RECORD, "quotes_customer", ("UPDATE",), ("company",)),
    Watch(RECORD, "quotes_inquiry", ("UPDATE",), ("customer_id", "number")),
    Watch(WORK, "quotes_inquiry", ("UPDATE",), ("state", "created_at")),
    Watch(STATES, "quotes_inquiry", differs=("state", "created_by_id")),
    Watch(WORK, "quotes_quote", differs=("number", "revision", "kind", "inquiry_id")),
)  # fmt: skip


def watch(using: str) -> None:
    """Lay the triggers that are missing, take away those of another digest, and count one change of each kind."""
    connection = connections[using]
    if TABLE not in connection.introspection.table_names():
        return  # not there yet: somebody migrates to an earlier state
    lay = {"sqlite": _sqlite, "postgresql": _postgresql}[connection.vendor]
    wanted = dict(statement for one in WATCHED for statement in lay(one))
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(_FUNCTIONS)
        there = _laid(cursor, connection.vendor)
        for name in there.keys() - wanted.keys():
            _drop(cursor, connection.vendor, name, there[name])
        for name in wanted.keys() - there.keys():
            cursor.execute(wanted[name])
        for kind in KINDS:  # what a migration did meanwhile was not counted
            for statement in _COUNT[connection.vendor].format(kind=kind).split(";"):
                cursor.execute(statement)
    fold(using, LONG)


def fold(using: str, longer: int = LONG) -> None:
    """Put the rows of each kind of which there are more than that into one; workers do it now and then.

    Every page reads all rows. Where they moved to the front of the table, a vacuum gives the room behind them back,
    which a load of a hundred thousand changes had taken.
    """
    connection = connections[using]
    if connection.vendor != "postgresql":
        return
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT kind FROM {TABLE} GROUP BY kind HAVING count(*) > %s", [longer])  # noqa: S608 - our own
        for (kind,) in cursor.fetchall():
            cursor.execute(_FOLD.format(kind=kind))


def unwatch(using: str) -> None:
    """Take all of them away, before the table that they write to goes."""
    connection = connections[using]
    with connection.cursor() as cursor:
        for name, table in _laid(cursor, connection.vendor).items():
            _drop(cursor, connection.vendor, name, table)


def _laid(cursor: object, vendor: str) -> dict[str, str]:
    """Table by name of each trigger of ours that there is."""
    if vendor == "sqlite":
        cursor.execute("SELECT name, tbl_name FROM sqlite_master WHERE type = 'trigger'")
    else:
        cursor.execute("SELECT t.tgname, c.relname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
                       "WHERE NOT t.tgisinternal AND c.relnamespace = current_schema()::regnamespace")  # fmt: skip
    return {name: table for name, table in cursor.fetchall() if name.startswith(PREFIX)}


def _drop(cursor: object, vendor: str, name: str, table: str) -> None:
    cursor.execute(f"DROP TRIGGER {name}" + (f" ON {table}" if vendor == "postgresql" else ""))


def _name(one: Watch, event: str, what: str) -> str:
    return f"{PREFIX}{one.kind}_{event.lower()}_{sha256(f'{one.table} {what}'.encode()).hexdigest()[:8]}"


# In PostgreSQL each change adds a row, and now and then one puts the rows that it can lock into one, so that the table
# stays short and nobody waits: rows locked by others are left to be added up by readers. Sums do not change by it,
# whatever a reader sees. Not each time: rows that a transaction took away are read past until it ends, and a restore
# writes a hundred thousand in one.
FOLDED = 1 / 500  # of the changes, by chance
_COUNT = {
    "postgresql": f"INSERT INTO {TABLE} (kind, changes, mark) VALUES ('{{kind}}', 1, floor(random() * 1e9))",  # noqa: S608 - our own words
    # SQLite has one writer at a time, and so one row of each kind. No "or replace": the statement that sets off a
    # trigger says what becomes of conflicts in it.
    "sqlite": f"""
        INSERT INTO {TABLE} (kind, changes, mark)
        SELECT '{{kind}}', 0, 0 WHERE NOT EXISTS (SELECT 1 FROM {TABLE} WHERE kind = '{{kind}}');
        UPDATE {TABLE} SET changes = changes + 1, mark = mark + abs(random() % 1000000000) WHERE kind = '{{kind}}'""",  # noqa: S608 - our own words
}
_FOLD = f"""
    WITH held AS MATERIALIZED (SELECT id FROM {TABLE} WHERE kind = '{{kind}}' FOR UPDATE SKIP LOCKED),
    gone AS (DELETE FROM {TABLE} WHERE id IN (SELECT id FROM held) RETURNING changes, mark)
    INSERT INTO {TABLE} (kind, changes, mark)
    SELECT '{{kind}}', sum(changes), sum(mark) FROM gone HAVING count(*) > 0"""  # noqa: S608 - our own words
_FUNCTIONS = "\n".join(
    f"CREATE OR REPLACE FUNCTION {PREFIX}{kind}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
    f"{_COUNT['postgresql'].format(kind=kind)}; IF random() < {FOLDED} THEN {_FOLD.format(kind=kind)}; END IF; "
    "RETURN NULL; END $$;"
    for kind in KINDS
)


def _postgresql(one: Watch) -> list[tuple[str, str]]:
    """One trigger a statement where every row counts, else one a row that counts."""
    found = []
    for event in one.events if one.differs or one.only else (" OR ".join((*one.events, "TRUNCATE")),):
        whole = not (one.differs or one.only)
        does = f"EXECUTE FUNCTION {PREFIX}{one.kind}()"
        condition = _condition(one, event, "IS DISTINCT FROM")
        made = f"AFTER {event} ON {one.table} FOR EACH {'STATEMENT' if whole else 'ROW'} {condition} {does}"
        name = _name(one, event.partition(" ")[0], made)
        found.append((name, f"CREATE TRIGGER {name} {made}"))
    return found


def _sqlite(one: Watch) -> list[tuple[str, str]]:
    found = []
    for event in one.events:
        made = f"AFTER {event} ON {one.table} FOR EACH ROW {_condition(one, event, 'IS NOT')}"
        name = _name(one, event, made)
        found.append((name, f"CREATE TRIGGER {name} {made} BEGIN {_COUNT['sqlite'].format(kind=one.kind)}; END"))
    return found


def _condition(one: Watch, event: str, differs: str) -> str:
    """The WHEN of a trigger: which rows count."""
    asked = []
    if event == "UPDATE" and one.differs:
        asked.append("(" + " OR ".join(f"OLD.{name} {differs} NEW.{name}" for name in one.differs) + ")")
    if one.only:
        rows = {"INSERT": ("NEW",), "DELETE": ("OLD",), "UPDATE": ("OLD", "NEW")}[event]
        asked.append("(" + " OR ".join(one.only.replace("ROW.", f"{row}.") for row in rows) + ")")
    return f"WHEN ({' AND '.join(asked)})" if asked else ""
