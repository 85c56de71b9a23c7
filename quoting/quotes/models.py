"""What people did with an answer: inquiry, override, issued quote, customer's reply, and the record of all of it."""

from hashlib import sha256

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from quoting.contract import digest
from quoting.intake.catalog_values import RefusedError, read_value
from quoting.intake.rates_file import rate_kind
from quoting.quotes.change_models import CountedChange
from quoting.quotes.fronts import StoredFront, front_of, stored
from quoting.quotes.mail_model import OutgoingMail
from quoting.quotes.people_models import Misses, PersonPlant
from quoting.quotes.rate_import_models import RateImport, RateImportChange, RateUpload
from quoting.quotes.record_models import AppendOnly, FrozenError, person
from quoting.quotes.repricing_models import AnswerBasis, RepricingPart, RepricingResult, RepricingRun, WorkerBeat
from quoting.quotes.seal_models import AuditSeal
from quoting.quotes.snapshots import CanonicalField, SnapshotField

__all__ = [
    "AnswerBasis", "AppendOnly", "AuditSeal", "CountedChange", "FrozenError", "Misses", "OutgoingMail", "PersonPlant",
    "RateImport", "RateImportChange", "RateUpload", "RepricingPart", "RepricingResult", "RepricingRun", "WorkerBeat",
    "person",
]  # fmt: skip

RECEIVED, NEEDS_INFORMATION, ANSWERED, APPROVED = "received", "needs_information", "answered", "approved"
WAITS_FOR_MANAGER = "waits_for_manager"
SENT, WON, LOST, DECLINED = "sent", "won", "lost", "declined"
STATES = (RECEIVED, NEEDS_INFORMATION, ANSWERED, WAITS_FOR_MANAGER, APPROVED, SENT, WON, LOST, DECLINED)
QUOTE, LETTER = "quote", "letter"
OPENED, ACCEPTED, CHANGE, DECLINED_BY_CUSTOMER = "opened", "accepted", "change", "declined"
REPLIES = (OPENED, ACCEPTED, CHANGE, DECLINED_BY_CUSTOMER)
REVIEWED, SECONDED, SENT_BACK = "reviewed", "seconded", "sent_back"
REVIEWS = (REVIEWED, SECONDED, SENT_BACK)
WAITING, READY, REFUSED = "waiting", "ready", "refused"


def _choices(names: tuple[str, ...]) -> list[tuple[str, str]]:
    return [(name, name.replace("_", " ")) for name in names]


class RateRow(models.Model):
    """One rate from a day on; the newest row that has begun is in force. ``value`` is text with its unit."""

    key = models.CharField(max_length=80)
    value = models.CharField(max_length=60)
    valid_from = models.DateField()
    source = models.CharField(max_length=300)

    class Meta:
        verbose_name = "rate"
        ordering = ["key", "-valid_from"]
        constraints = [models.UniqueConstraint(fields=["key", "valid_from"], name="rate_once_a_day")]

    def __str__(self) -> str:
        return f"{self.key} from {self.valid_from}"

    def clean(self) -> None:
        kind = rate_kind(self.key)
        if kind is None:
            raise ValidationError({"key": f"got {self.key}; accepted is the key of a rate, such as trim.hole_time"})
        try:
            read_value(self.value, kind)
        except RefusedError as refused:
            raise ValidationError({"value": f"got {self.value}; accepted is {refused.accepted}"}) from refused


class Customer(models.Model):
    company = models.CharField(max_length=200)
    contact = models.CharField(max_length=200)
    email = models.EmailField()

    class Meta:
        ordering = ["company", "contact"]
        constraints = [models.UniqueConstraint(fields=["company", "contact", "email"], name="customer_once")]

    def __str__(self) -> str:
        return f"{self.company}, {self.contact}"


class Counter(models.Model):
    """The last number given out in a series and year; its row is locked by the act that takes the next one."""

    series = models.CharField(max_length=4)
    year = models.PositiveSmallIntegerField()
    last = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["series", "year"], name="counter_once")]

    def __str__(self) -> str:
        return f"{self.series}-{self.year}-{self.last:04d}"


class Inquiry(models.Model):
    """One inquiry. ``typed`` is kept exactly as typed; ``snapshot`` is the latest answer; ``version`` counts changes.

    ``errors`` are the wrong fields of the last attempt to answer, each with field, given, accepted and message.
    ``data_digest`` is the SHA-256 of the canonical JSON of ``snapshot``: equal digests, equal answer.
    ``catalog_digest`` is that of the plants, sheet, rates and won work behind it: equal ones need no second look.
    ``front`` is the snapshot without its candidates and ``search_text`` what a search looks through, in small letters;
    both are derived whenever the row is saved and are never set by hand.
    """

    number = models.CharField(max_length=20, unique=True)
    reference = models.CharField(max_length=200, blank=True)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, null=True, blank=True, related_name="inquiries")
    typed = models.JSONField()
    state = models.CharField(max_length=20, choices=_choices(STATES), default=RECEIVED, db_index=True)
    version = models.PositiveIntegerField(default=1)
    created_by = person("inquiries")
    created_at = models.DateTimeField()
    snapshot = SnapshotField(null=True, blank=True)
    decision = models.CharField(max_length=20, blank=True)
    errors = models.JSONField(default=list, blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    answered_on = models.DateField(null=True, blank=True)
    data_digest = models.CharField(max_length=64, blank=True)
    catalog_digest = models.CharField(max_length=64, blank=True)
    front = SnapshotField(null=True, blank=True, editable=False)
    search_text = models.TextField(default="", blank=True, editable=False)

    class Meta:
        verbose_name_plural = "inquiries"
        ordering = ["-created_at", "-pk"]
        constraints = [models.CheckConstraint(condition=Q(state__in=STATES), name="inquiry_state_known")]
        indexes = [  # the lists: of all or of one rep, in one state or in any, newest first; and what waits the longest
            models.Index(fields=["-created_at", "-id"], name="inquiry_newest"),
            models.Index(fields=["state", "-created_at", "-id"], name="inquiry_newest_in_state"),
            models.Index(fields=["created_by", "-created_at", "-id"], name="inquiry_newest_of_rep"),
            models.Index(fields=["created_by", "state", "-created_at", "-id"], name="inquiry_newest_of_rep_in_state"),
            models.Index(fields=["state", "answered_at"], name="inquiry_waiting"),
        ]

    def __str__(self) -> str:
        return self.number

    @property
    def part_name(self) -> str:
        part = self.typed.get("part") if isinstance(self.typed, dict) else None
        name = part.get("name") if isinstance(part, dict) else None
        return name if isinstance(name, str) else ""

    @property
    def first_view(self) -> dict | None:
        """The answer without its candidates; of an answer that was kept before there were fronts it is made now."""
        return self.front if self.front is not None else front_of(self.snapshot)

    @property
    def stored_front(self) -> StoredFront | None:
        """The same as text, for pages that know what they wrote of it; ``selectors.inquiry_look`` reads it as such."""
        text = vars(self).get("front_text")
        if text is None and self.first_view is not None:
            return stored(self.first_view)
        return None if text is None else StoredFront(text)

    def derive_search_text(self) -> None:
        """Number, reference, customer, part and the numbers of issued documents, one a line."""
        customer = (self.customer.company, self.customer.contact) if self.customer else ()
        issued = sorted(set(self.quotes.values_list("number", flat=True))) if self.pk else ()
        self.search_text = "\n".join((self.number, self.reference, *customer, self.part_name, *issued)).lower()

    def save(self, *args: object, **kwargs: object) -> None:
        if kwargs.get("update_fields") is None:
            self.derive_search_text()
            if "snapshot" not in self.get_deferred_fields():
                self.front = front_of(self.snapshot)
        super().save(*args, **kwargs)


class MasterData(AppendOnly):
    """Plants, machines, polymers, sheet, rates and won work behind answers, kept once under its digest.

    ``content`` is the canonical JSON, packed by zlib: some 13 kB, and as many answers share it as were given on it.
    """

    digest = models.CharField(max_length=64, unique=True)
    content = models.BinaryField()
    kept_at = models.DateTimeField()

    class Meta:
        verbose_name_plural = "master data"
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.digest[:12]


class Review(AppendOnly):
    """What somebody confirmed before an answer was committed to, or why it was sent back.

    ``confirmed`` lists what was ticked, each with its key and the words that stood beside it. ``data_digest`` and
    ``version`` say which answer was looked at; ``reasons`` why a manager had to decide, as told at that time.
    """

    inquiry = models.ForeignKey(Inquiry, on_delete=models.PROTECT, related_name="reviews")
    version = models.PositiveIntegerField()
    data_digest = models.CharField(max_length=64)
    kind = models.CharField(max_length=20, choices=_choices(REVIEWS))
    confirmed = models.JSONField(default=list, blank=True)
    reasons = models.JSONField(default=list, blank=True)
    note = models.CharField(max_length=500, blank=True)
    by = person("reviews")
    at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=REVIEWS), name="review_kind_known"),
            models.CheckConstraint(condition=~Q(kind=SENT_BACK) | ~Q(note=""), name="sent_back_says_why"),
        ]

    def __str__(self) -> str:
        return f"{self.inquiry_id} {self.kind}"


class ModelReport(models.Model):
    """What is shown of the CAD model of an inquiry, in the same unit, body and draw as its answer.

    ``file_name`` is the name under which the model is kept, ``asked`` the options with which it was looked at.
    ``token`` names the folder of its pictures and changes with each asking, so that late work is known and let go.
    ``wished`` is another way of forming that the wall map shows in place of the answer's; empty where nobody asked.
    ``fine_state`` is that of the finer wall map, which is worked out once the report is ready; empty where nobody does.
    ``fine`` holds its figures and names its picture.
    """

    inquiry = models.ForeignKey(Inquiry, on_delete=models.PROTECT, related_name="model_reports")
    file_name = models.CharField(max_length=60)
    asked = models.JSONField(default=dict, blank=True)
    state = models.CharField(max_length=10, choices=_choices((WAITING, READY, REFUSED)), default=WAITING)
    report = models.JSONField(null=True, blank=True)
    reason = models.CharField(max_length=400, blank=True)
    token = models.CharField(max_length=32, unique=True)
    asked_at = models.DateTimeField()
    made_at = models.DateTimeField(null=True, blank=True)
    wished = models.JSONField(default=dict, blank=True)
    fine_state = models.CharField(max_length=10, choices=_choices((WAITING, READY, REFUSED)), blank=True)
    fine = models.JSONField(null=True, blank=True)
    fine_reason = models.CharField(max_length=400, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["inquiry", "file_name"], name="model_report_once"),
            models.CheckConstraint(condition=Q(state__in=(WAITING, READY, REFUSED)), name="model_report_state_known"),
            models.CheckConstraint(
                condition=Q(fine_state__in=("", WAITING, READY, REFUSED)), name="model_report_fine_state_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.inquiry_id} {self.file_name} {self.state}"


class Override(models.Model):
    """A value the estimator put in place of a typed one, with the reason. In force until withdrawn."""

    inquiry = models.ForeignKey(Inquiry, on_delete=models.PROTECT, related_name="overrides")
    field = models.CharField(max_length=80)
    old = models.JSONField(null=True, blank=True)  # nothing where nothing was typed
    new = models.JSONField(null=True, blank=True)  # empty text takes the value away
    reason = models.CharField(max_length=500)
    by = person()
    at = models.DateTimeField()
    withdrawn_by = person(null=True, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [models.CheckConstraint(condition=~Q(reason=""), name="override_has_reason")]

    def __str__(self) -> str:
        return f"{self.inquiry_id} {self.field}"


class Quote(models.Model):
    """An issued document: a quote or a not-a-fit letter. All but the link is frozen, here and by the database.

    ``record`` is everything that the document rests on (`issue_record`): it names the digests of ``snapshot`` and of
    the master data, so that ``record_digest`` covers them; it is empty on documents issued before records were kept.
    """

    FROZEN = (
        "number", "revision", "inquiry_id", "kind", "snapshot", "digest", "pdf", "pdf_digest", "issued_by_id",
        "issued_at", "valid_until", "record", "record_digest", "supersedes_id",
    )  # fmt: skip

    number = models.CharField(max_length=20)
    revision = models.PositiveSmallIntegerField(default=1)
    inquiry = models.ForeignKey(Inquiry, on_delete=models.PROTECT, related_name="quotes")
    kind = models.CharField(max_length=10, choices=_choices((QUOTE, LETTER)))
    snapshot = SnapshotField()
    digest = models.CharField(max_length=64)
    pdf = models.BinaryField()
    pdf_digest = models.CharField(max_length=64)
    issued_by = person("issued_quotes")
    issued_at = models.DateTimeField()
    valid_until = models.DateField()
    record = CanonicalField(null=True, blank=True)
    record_digest = models.CharField(max_length=64, blank=True)
    supersedes = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by"
    )
    link_hash = models.CharField(max_length=64, unique=True, null=True, blank=True)
    link_expires = models.DateTimeField(null=True, blank=True)
    link_revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-issued_at", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["number", "revision"], name="quote_number_once"),
            models.CheckConstraint(condition=Q(revision__gte=1), name="quote_revision_from_1"),
            models.CheckConstraint(condition=Q(kind__in=(QUOTE, LETTER)), name="quote_kind_known"),
        ]

    def __str__(self) -> str:
        return f"{self.number} revision {self.revision}"

    @property
    def is_superseded(self) -> bool:
        """A later revision has been issued."""
        if "superseded" in vars(self):  # read together with the row, for pages that ask several times
            return self.superseded
        return Quote.objects.filter(number=self.number, revision__gt=self.revision).exists()

    def is_intact(self) -> bool:
        """The stored answer, record and PDF are still those of the digests."""
        return not self.faults()

    def faults(self) -> list[str]:
        """Which stored part is no longer that of its digest."""
        found = {
            "the answer": digest(self.snapshot) != self.digest,
            "the PDF": sha256(bytes(self.pdf)).hexdigest() != self.pdf_digest,
            "the record": self.record is not None and digest(self.record) != self.record_digest,
            "the answer that the record names": self.record is not None and self.record["answer_digest"] != self.digest,
        }
        return [part for part, wrong in found.items() if wrong]

    def save(self, *args: object, **kwargs: object) -> None:
        if self.pk is not None:
            named = kwargs.get("update_fields")
            frozen = [name for name in self.FROZEN if named is None or name in named]
            kept = Quote.objects.filter(pk=self.pk).values(*frozen).first() if frozen else {}
            changed = [name for name, value in (kept or {}).items() if _plain(value) != _plain(getattr(self, name))]
            if changed:
                raise FrozenError(f"{self} is issued; {', '.join(changed)} can no longer change. Issue a new revision.")
        super().save(*args, **kwargs)

    def delete(self, *args: object, **kwargs: object) -> None:
        raise FrozenError(f"{self} is issued and cannot be deleted.")


def _plain(value: object) -> object:
    return bytes(value) if isinstance(value, memoryview) else value


class CustomerReply(AppendOnly):
    """What the customer did on the private page. ``release`` is the order quantity an acceptance names.

    ``key`` is that of the form: the same form posted twice is one reply. ``address`` and ``agent`` say from where.
    """

    quote = models.ForeignKey(Quote, on_delete=models.PROTECT, related_name="replies")
    kind = models.CharField(max_length=10, choices=_choices(REPLIES))
    text = models.CharField(max_length=2000, blank=True)
    release = models.PositiveIntegerField(null=True, blank=True)
    at = models.DateTimeField()
    key = models.CharField(max_length=64, blank=True)
    address = models.CharField(max_length=45, blank=True)
    agent = models.CharField(max_length=200, blank=True)

    class Meta:
        verbose_name_plural = "customer replies"
        ordering = ["-at", "-pk"]
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=REPLIES), name="reply_kind_known"),
            models.CheckConstraint(
                condition=~Q(kind=ACCEPTED) | Q(release__isnull=False), name="acceptance_has_release"
            ),
            models.UniqueConstraint(fields=["quote"], condition=Q(kind=ACCEPTED), name="quote_accepted_once"),
            models.UniqueConstraint(fields=["quote", "key"], condition=~Q(key=""), name="reply_form_once"),
        ]

    def __str__(self) -> str:
        return f"{self.quote_id} {self.kind}"


class AuditEntry(AppendOnly):
    """Who did what, when, to which inquiry or quote. ``by`` is empty where the customer acted by the private link."""

    at = models.DateTimeField(db_index=True)
    by = person(null=True, blank=True)
    action = models.CharField(max_length=40, db_index=True)
    inquiry = models.ForeignKey(Inquiry, on_delete=models.PROTECT, null=True, blank=True, related_name="audit")
    quote = models.ForeignKey(Quote, on_delete=models.PROTECT, null=True, blank=True, related_name="audit")
    detail = models.JSONField(default=dict, blank=True)

    class Meta:
        verbose_name_plural = "audit entries"
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.action}"
