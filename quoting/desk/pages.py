"""What several screens share: finding an inquiry for a person, its history, what was typed, and what comes next."""

import logging
import re
from collections.abc import Callable
from functools import wraps
from urllib.parse import quote

from django.conf import settings
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import OperationalError
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render

from quoting import units
from quoting.desk import differences_shown, form_fields, inquiry_text, labels, navigation, repeats
from quoting.desk.full_disk import is_full
from quoting.desk.templatetags.desk import field_label, plain_value
from quoting.intake.fields import BY_KEY
from quoting.intake.reading import RIVALS
from quoting.quotes import models, policies, records, selectors, services
from quoting.quotes.differences import what_changed
from quoting.quotes.records import SAW

log = logging.getLogger("quoting.security")
MAILS_SHOWN = 5
KINDS_WITH_ECHO = {"length": "m", "area": "m2", "temperature": "K", "angle": "rad", "mass": "kg"}


def demand(granted: bool) -> None:
    """Refuse with a page that says who may, unless granted."""
    if not granted:
        raise PermissionDenied


def inquiry_for(request: HttpRequest, number: str, act: str = "") -> models.Inquiry:
    """The inquiry, or the same 404 whether it does not exist or belongs to somebody else.

    With an act named, also for those who may do that to an inquiry which they do not see.
    """
    if act:
        found = models.Inquiry.objects.filter(number=number).first()
        if found is None or not policies.permitted(request.user, act, found):
            raise Http404
        return found
    try:
        return selectors.inquiry_get(person=request.user, number=number)
    except models.Inquiry.DoesNotExist:
        raise Http404 from None


def looked_at(request: HttpRequest, number: str, what: str) -> models.Inquiry:
    """The inquiry for its own page, or 404; that this person looked is recorded. ``what`` is page or cost."""
    try:
        found = selectors.inquiry_look(person=request.user, number=number, what=what)
    except models.Inquiry.DoesNotExist:
        raise Http404 from None
    if not found.seen:
        saw(what, by=request.user, inquiry=found)
    return found


def saw(what: str, *, by: object, inquiry: models.Inquiry, quote: models.Quote | None = None) -> None:
    """Record that a person looked, as ``records.saw``; where the disk is full, in the log alone, so that people read
    on."""
    try:
        records.saw(what, by=by, inquiry=inquiry, quote=quote)
    except OperationalError as fault:
        if not is_full(fault):
            raise
        log.error("not recorded, for want of room: person %s saw %s of %s", by.pk, what, inquiry.number)


def typed_rows(typed: dict, overridden: dict[str, object]) -> list[dict]:
    """Each field as typed, its size in the other unit system, and the value that overrides it."""
    rows = []
    for key in form_fields.KEYS:
        value = inquiry_text.at(typed, key)
        if value is None and key not in overridden:
            continue
        rows.append(
            {
                "label": form_fields.LABELS[key],
                "text": value_text(key, value),
                "echo": echo(value, BY_KEY[key].kind),
                "override": plain_value(overridden[key]) if key in overridden else "",
                "aside": aside(key, overridden),
            }
        )
    return rows


def aside(key: str, overridden: dict[str, object]) -> str:
    """The field whose override takes the place of this one, as a gauge that of a thinnest wall; else empty."""
    rival = RIVALS.get(key, "")
    return form_fields.LABELS[rival] if overridden.get(rival) and key not in overridden else ""


def value_text(key: str, value: object) -> str:
    """A typed value in the form's words: choices as the form says them, texts as they are."""
    words = form_fields.WORDS_OF.get(key, {})
    if isinstance(value, str):
        return words.get(value, value)
    return plain_value(value)


def echo(value: object, kind: str) -> str:
    """A typed size as we read it, in both systems, so that inches taken for millimetres are seen at once."""
    if value is None or kind not in KINDS_WITH_ECHO:
        return ""
    try:
        return units.show(units.read(value, kind), KINDS_WITH_ECHO[kind], "both")
    except units.UnitError:
        return "not read"


def overrides_of(inquiry: models.Inquiry) -> list[models.Override]:
    return list(inquiry.overrides.select_related("by", "withdrawn_by")) if has(inquiry, "overrides") else []


def has(inquiry: models.Inquiry, what: str) -> bool:
    """Whether it has any of these; where that was not read together with the inquiry it may have."""
    return getattr(inquiry, f"has_{what}", True)


def in_force(overrides: list[models.Override]) -> dict[str, object]:
    return {one.field: one.new for one in overrides if one.withdrawn_at is None}


def history_rows(
    inquiry: models.Inquiry, person: object, *, looks: bool = True, documents: list[models.Quote] | None = None
) -> list[dict]:
    """What happened, newest first; the words of a deed for everyone, its details for those who may read the audit.

    Who looked is told to those alone, and left out where ``looks`` is false. ``documents`` where they are known.
    """
    detailed = policies.may_read_audit(person)
    issued = None if documents is None else [one.pk for one in documents]
    found = selectors.history(inquiry, issued) if looks and detailed else selectors.changes(inquiry, issued)
    rows = found.values_list("action", "detail", "at", "by__username", "by__first_name", "by__last_name")
    return [
        {
            "what": labels.DEEDS.get(action, labels.said(action)),
            "note": detail_text(detail) if detailed else "",
            "when": at,
            "look": action.startswith(SAW),
            "who": "the customer" if username is None else f"{first} {last}".strip() or username,
        }
        for action, detail, at, username, first, last in rows
    ]


def detail_text(detail: dict) -> str:
    """Details of a deed as one line; fingerprints and whole inquiries are the audit log's, not this line's."""
    shown = {key: value for key, value in detail.items() if not key.endswith("digest") and not isinstance(value, dict)}
    return ", ".join(
        f"{labels.said(key)} {field_label(value).lower() if key == 'field' else plain_value(value)}"
        for key, value in shown.items()
        if value not in (None, "", [])
    )


def questions_mail(inquiry: models.Inquiry, text: str) -> str:
    """A mailto address that opens an e-mail to the customer with the questions in it."""
    email = inquiry_text.at(inquiry.typed, "customer.email")
    if not isinstance(email, str) or "@" not in email:
        return ""
    subject = f"Questions on your inquiry {inquiry.reference or inquiry.part_name}".strip()
    return f"mailto:{quote(email, safe='@')}?subject={quote(subject)}&body={quote(text)}"


def documents_of(inquiry: models.Inquiry) -> list[models.Quote]:
    """Issued quotes and letters, newest first, without their bytes."""
    return list(selectors.quotes_of(inquiry)) if has(inquiry, "quotes") else []


def latest_document(inquiry: models.Inquiry) -> models.Quote | None:
    """The newest issued quote or letter, without its bytes."""
    return selectors.quotes_of(inquiry).first()


def replies_to(document: models.Quote | None) -> list[models.CustomerReply]:
    """What the customer answered on the private page, newest first."""
    return list(document.replies.exclude(kind=models.OPENED)) if document else []


def mailable(person: object, document: models.Quote) -> bool:
    """May this person send the document, and does this office send e-mail at all?"""
    return settings.MAIL != "off" and policies.may_send(person, document)


def mails_of(inquiry: models.Inquiry) -> list[models.OutgoingMail]:
    """E-mails about an inquiry, newest first, without their text: it may hold the secret of a link."""
    return list(inquiry.mails.defer("text")[:MAILS_SHOWN]) if has(inquiry, "mails") else []


def granted(person: object, inquiry: models.Inquiry, document: models.Quote | None) -> dict[str, bool]:
    """Which deeds this person may do now: one flag for each button."""
    return {
        "change": policies.may_change_inquiry(person, inquiry),
        "answer": policies.may_answer(person, inquiry),
        "override": policies.may_override(person, inquiry),
        "approve": policies.may_approve(person, inquiry),
        "second": policies.may_second(person, inquiry),
        "decline": policies.may_decline(person, inquiry),
        "send": document is not None and policies.may_send(person, document),
        "mail": document is not None and mailable(person, document),
        "revoke": document is not None and policies.may_revoke_link(person, document),
        "win": document is not None and policies.may_record_win(person, document),
        "lose": document is not None and policies.may_record_loss(person, document),
    }


def told_version(request: HttpRequest) -> str:
    """The version of the inquiry that stood on the page when its form was made."""
    return request.POST.get("version", "")


def is_same_version(request: HttpRequest, inquiry: models.Inquiry, form: Form) -> bool:
    """Whether nobody changed the inquiry since the form was made; else the form says what and keeps what was typed."""
    if told_version(request) != str(inquiry.version):
        form.add_error(None, changed_meanwhile(request, inquiry))
    return not form.errors


def demand_same_version(request: HttpRequest, inquiry: models.Inquiry) -> None:
    """The same for a button without text: the conflict page says what changed."""
    if told_version(request) != str(inquiry.version):
        raise services.ConflictError(changed_meanwhile(request, inquiry, typed=False))


def changed_meanwhile(request: HttpRequest, inquiry: models.Inquiry, *, typed: bool = True) -> str:
    """What others did since the page was opened, each with who and when; nothing was saved."""
    since = int(told_version(request)) if re.fullmatch("[0-9]{1,9}", told_version(request)) else 0
    rows = history_rows(inquiry, request.user, looks=False)[: max(1, min(3, inquiry.version - since))]
    told = "; ".join(
        f"{one['what'].lower()}{': ' + one['note'] if one['note'] else ''} by {one['who']} at {one['when']:%H:%M}"
        for one in rows
    )
    kept = "Your text is below and nothing was saved; look at the inquiry, then save again to replace it."
    return (
        f"This inquiry was changed while this page was open. Last: {told}. "
        f"{kept if typed else 'Nothing was done; look at it as it is now.'}"
    )


def conflict(request: HttpRequest, inquiry: models.Inquiry, why: str, *, data_changed: bool = False) -> HttpResponse:
    """The page that says why a deed was not carried out, how the inquiry stands now, and which data changed.

    A form that was carried out already and came again leads to what it did.
    """
    inquiry.refresh_from_db()
    if repeats.is_repeat(request, inquiry):
        return redirect(navigation.page_of(request.user, inquiry))
    rows = history_rows(inquiry, request.user, looks=False)
    context = {
        "inquiry": inquiry,
        "why": why,
        "last": rows[0] if rows else None,
        "changed": differences_shown.shown(what_changed(inquiry, records.today())) if data_changed else None,
        "back": navigation.page_of(request.user, inquiry),
    }
    return render(request, "desk/conflict.html", context, status=409)


def refusals_told(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """A deed that a service refuses (wrong state, changed meanwhile, newer data) ends on a page that says why."""

    @wraps(view)
    def guarded(request: HttpRequest, number: str, **more: object) -> HttpResponse:
        try:
            return view(request, number, **more)
        except ValidationError as refused:
            data_changed = isinstance(refused, services.DataChangedError)
            inquiry = inquiry_for(request, number)
            data_changed = data_changed and policies.may_see_cost(request.user, inquiry)
            return conflict(request, inquiry, " ".join(refused.messages), data_changed=data_changed)

    return guarded


def wanted(request: HttpRequest, name: str, longest: int) -> str:
    """A word that a list is narrowed by, from the address; without null characters, which no database takes."""
    return request.GET.get(name, "").replace("\x00", "").strip()[:longest]


def demand_reason(reason: str, longest: int) -> None:
    """ValidationError for a reason that cannot be kept; what else a reason must be, its service says."""
    if len(reason) > longest:
        raise ValidationError(f"Reason: got {len(reason)} characters; accepted are {longest} at most.")
    if "\x00" in reason:
        raise ValidationError("Reason: got a null character; accepted is text without.")


def posted(request: HttpRequest) -> QueryDict | None:
    """What was posted, for a form to bind to even when it is empty; None for a mere visit."""
    return request.POST if request.method == "POST" else None
