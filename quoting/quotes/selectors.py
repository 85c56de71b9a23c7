"""What screens and services read, each in a fixed number of queries."""

from collections.abc import Iterable
from datetime import date

from django.contrib.auth import get_user_model
from django.db import connection
from django.db.models import BooleanField, Count, Exists, Model, OuterRef, Q, QuerySet, TextField
from django.db.models.expressions import RawSQL
from django.db.models.functions import Cast

from machines import models as machine_tables
from machines import selectors as machines
from materials import selectors as materials
from quoting.catalog import Catalog, PlantCalendar, Rates
from quoting.intake.catalog_file import read_rates
from quoting.intake.planning_rates import PlanningRates, read_planning_rates
from quoting.planning.beside import won_hours
from quoting.planning.selectors import corrections_of, factors_in_force
from quoting.quotes import kept_figures, policies
from quoting.quotes.bookings import monday
from quoting.quotes.links import hashed
from quoting.quotes.models import (
    LETTER,
    REVIEWED,
    STATES,
    WAITS_FOR_MANAGER,
    AuditEntry,
    Inquiry,
    OutgoingMail,
    Override,
    Quote,
    RateRow,
    Review,
)
from quoting.quotes.records import SAW, looks, now
from quoting.quotes.watched import STATES as STATES_CHANGED


def rates(on: date) -> Rates:
    """Every rate in force on that day; one query. Raises InputErrors naming a rate that is missing."""
    rows = RateRow.objects.order_by("key", "valid_from").values_list("key", "value", "valid_from", "source")
    listed = [
        {"key": key, "value": value, "valid_from": begins.isoformat(), "source": source}
        for key, value, begins, source in rows
    ]
    return read_rates({"rates": listed}, on)


def planning_rates(on: date) -> PlanningRates:
    """What planning rests on on that day; one query. Raises InputErrors naming a value that is none."""
    rows = RateRow.objects.filter(Q(key__startswith="winning.") | Q(key__startswith="overtime."))
    return read_planning_rates(rows.order_by("key").values_list("key", "value", "valid_from", "source"), on)


def catalog(on: date) -> Catalog:
    """All that the house knows on that day, in twenty queries at most however much it is."""
    return Catalog(
        plants=machines.plants(on),
        machines=machines.machines(on),
        polymers=materials.polymers(),
        offers=materials.offers(on),
        rates=rates(on),
        workload=machines.bookings(since=monday(on)),
        calendars=tuple(PlantCalendar(code, one) for code, one in sorted(machines.calendars().items())),
        corrections=corrections_of(factors_in_force(on)),
        beside=won_hours(since=monday(on)),
    )


def has_catalog() -> bool:
    return machine_tables.Machine.objects.exists()


def inquiry_list(*, person: object, state: str = "", text: str = "") -> QuerySet[Inquiry]:
    """Inquiries a person may see, newest first, by state and by a piece of number, reference, company or part name."""
    allowed = policies.seen_by(person)
    if allowed is None:
        return Inquiry.objects.none()
    found = Inquiry.objects.filter(**allowed).select_related("customer", "created_by")
    found = found.defer("snapshot", "front", "errors", "search_text")
    if state in STATES:
        found = found.filter(state=state)
    words = text.replace("\x00", " ").encode("utf-8", "ignore").decode().lower().split()  # no database takes the others
    return found.filter(_holding(words)) if words else found


# Of each inquiry of a list what its row shows: whole rows of three tables took most of a list's time.
LISTED = (
    "number", "state", "customer__company", "typed__part__name", "reference", "decision",
    "created_by__first_name", "created_by__last_name", "created_by__username", "created_at",
)  # fmt: skip


def listed(found: QuerySet[Inquiry]) -> QuerySet:
    """What a list shows of each inquiry found, as tuples with the names of ``LISTED``."""
    return found.values_list(*LISTED, named=True)


def _holding(words: list[str]) -> Q:
    """Each word stands somewhere in what a search looks through."""
    condition = Q()
    for word in words:
        condition &= Q(search_text__contains=word)
    if connection.vendor == "sqlite":  # the narrow index alone is read, not the rows with their answers
        return Q(pk__in=Inquiry.objects.filter(condition).order_by().values("pk"))
    return condition


counts_kept = kept_figures.Kept(most=200)  # by whose inquiries


def state_counts(*, person: object) -> dict[str, int]:
    """How many inquiries of those a person may see stand in each state; every state is a key. Two queries at most.

    Counting a hundred thousand rows for each page would be most of the page's work, so they
    are kept until an inquiry comes, goes, or changes its state.
    """
    allowed = policies.seen_by(person)
    if allowed is None:
        return dict.fromkeys(STATES, 0)
    name = ("states", *sorted(allowed.items()))
    return dict(counts_kept.get(name, kept_figures.stamps(), (STATES_CHANGED,), lambda: _counts(allowed)))


def _counts(allowed: dict[str, object]) -> dict[str, int]:
    rows = Inquiry.objects.filter(**allowed).order_by().values_list("state").annotate(count=Count("pk"))
    return dict.fromkeys(STATES, 0) | dict(rows)


def inquiry_get(*, person: object, number: str) -> Inquiry:
    """One inquiry. DoesNotExist also where the person may not see it, so that nothing is told.

    Its whole answer is read once somebody asks for it; pages show its ``first_view``.
    """
    allowed = policies.seen_by(person)
    if allowed is None:
        raise Inquiry.DoesNotExist
    return Inquiry.objects.select_related("customer", "created_by").defer("snapshot").get(number=number, **allowed)


def inquiry_look(*, person: object, number: str, what: str) -> Inquiry:
    """The same for its page, which mostly has little: what hangs on the inquiry is asked for only where it is there.

    ``seen`` says whether this person's look at ``what`` is on record; ``front_text`` is the front as it is stored.
    """
    allowed = policies.seen_by(person)
    if allowed is None:
        raise Inquiry.DoesNotExist
    found = Inquiry.objects.select_related("customer", "created_by").defer("snapshot", "front", "search_text")
    return found.annotate(
        front_text=Cast("front", TextField()),
        has_quotes=_hangs(Quote),
        has_overrides=_hangs(Override),
        has_mails=_hangs(OutgoingMail),
        seen=Exists(looks(what, by=person).filter(inquiry=OuterRef("pk"), quote=None)),
    ).get(number=number, **allowed)


def _hangs(table: type[Model]) -> RawSQL:
    """Whether rows of that table name the inquiry. In SQL, since Django takes longer to write it than the database to
    answer."""
    row, inquiry = table._meta.db_table, Inquiry._meta.db_table
    asked = f"EXISTS(SELECT 1 FROM {row} WHERE {row}.inquiry_id = {inquiry}.id)"  # noqa: S608 - names of our tables
    return RawSQL(asked, (), BooleanField())  # noqa: S611 - the same


def quotes_of(inquiry: Inquiry) -> QuerySet[Quote]:
    """Issued documents of an inquiry, newest first, without their bytes."""
    later = Quote.objects.filter(number=OuterRef("number"), revision__gt=OuterRef("revision"))
    return inquiry.quotes.defer("pdf", "snapshot", "record").annotate(superseded=Exists(later))


def quote_get(*, person: object, number: str, revision: int) -> Quote:
    """One issued document. DoesNotExist also where the person may not see it."""
    allowed = policies.seen_by(person)
    if allowed is None:
        raise Quote.DoesNotExist
    own = {f"inquiry__{key}": value for key, value in allowed.items()}
    return _documents().get(number=number, revision=revision, **own)


def _documents() -> QuerySet[Quote]:
    """Issued documents with their inquiry but without its answer: each shows the answer that it was issued with."""
    found = Quote.objects.select_related("inquiry", "issued_by")
    return found.defer("inquiry__snapshot", "inquiry__front", "inquiry__errors")


def latest_quote(inquiry: Inquiry) -> Quote | None:
    return inquiry.quotes.exclude(kind=LETTER).order_by("-revision").first()


def quote_by_token(token: str) -> Quote:
    """The document of a private link, its answer and bytes read only where somebody asks for them.

    DoesNotExist for an unknown, expired or revoked link alike.
    """
    return (
        _documents()
        .defer("snapshot", "pdf")
        .get(link_hash=hashed(token), link_expires__gt=now(), link_revoked_at__isnull=True)
    )


def history(inquiry: Inquiry, issued: Iterable[int] | None = None) -> QuerySet[AuditEntry]:
    """What happened to an inquiry and its quotes, newest first; ``issued`` are their keys where they are known."""
    if issued is None:  # with numbers PostgreSQL takes both indexes, no scan
        issued = inquiry.quotes.values_list("pk", flat=True)
    found = AuditEntry.objects.filter(Q(inquiry=inquiry) | Q(quote__in=list(issued))).select_related("by", "quote")
    return found.defer("quote__snapshot", "quote__pdf", "quote__record")


def waiting_for_manager() -> list[tuple[Inquiry, Review | None]]:
    """Inquiries that wait for a manager with the review that led there, the longest waiting first; two queries."""
    found = Inquiry.objects.filter(state=WAITS_FOR_MANAGER).select_related("customer", "created_by").defer("snapshot")
    last: dict[int, Review] = {}
    for review in Review.objects.filter(inquiry__in=found, kind=REVIEWED).select_related("by").order_by("pk"):
        last[review.inquiry_id] = review
    rows = [(one, last.get(one.pk)) for one in found]
    return sorted(rows, key=lambda row: row[1].at if row[1] else row[0].created_at)


def second_persons(inquiry: Inquiry, reviewer_id: int) -> list:
    """Those who may approve an answer that this person reviewed, by name of account."""
    people = get_user_model().objects.filter(is_active=True, groups__name=policies.MANAGER).order_by("username")
    return [
        one
        for one in people
        if policies.permitted(one, "second", inquiry) and policies.is_second_person(one, inquiry, reviewer_id)
    ]


def changes(inquiry: Inquiry, issued: Iterable[int] | None = None) -> QuerySet[AuditEntry]:
    """The same without those who only looked."""
    return history(inquiry, issued).exclude(action__startswith=SAW)
