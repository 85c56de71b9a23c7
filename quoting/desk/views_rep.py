"""Screens of the sales rep: my inquiries, the inquiry form, the answer without cost."""

import secrets
from contextlib import suppress

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.forms import MultipleChoiceField
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from materials import selectors as materials
from quoting.desk import answer_parts, form_fields, fragments, inquiry_text, navigation, pages, present
from quoting.desk.forms import MODEL, UPLOAD, InquiryForm
from quoting.desk.inquiry_lists import inquiry_table
from quoting.desk.model_page import model_section
from quoting.intake.model_asking import CHOICES, asked_of_inquiry
from quoting.intake.reading_result import InputErrors
from quoting.quotes import answers_to_come, models, once, policies, records, services
from quoting.quotes.answers import read_at_once
from quoting.quotes.drawings import drawing_keep
from quoting.quotes.given_numbers import NumbersBehindError

HOME_COUNTRY = "US"


@require_GET
def home(request: HttpRequest) -> HttpResponse:
    """Straight to the first page of the role."""
    address = navigation.start(request.user)
    return redirect(address) if address else render(request, "desk/no_role.html")


@require_GET
def inquiries(request: HttpRequest) -> HttpResponse:
    """The inquiries that this person may see, newest first."""
    pages.demand(policies.may(request.user, "see_inquiry"))
    context = inquiry_table(request, state=request.GET.get("state", ""), target="inquiry") | {
        "heading": "My inquiries",
        "lead": "Everything you logged, and where it stands.",
        "order": "newest first",
        "empty_heading": "No inquiries yet",
        "empty_text": "Log what the customer asks: size, material, quantities. The answer comes at once: prices, "
        "or what is missing, or why it is not a fit and where it belongs instead.",
    }
    return render(request, "desk/inquiry_list.html", context)


@require_http_methods(["GET", "POST"])
def inquiry_log(request: HttpRequest) -> HttpResponse:
    """Type a new inquiry; saving answers it at once, or as soon as its model is measured."""
    pages.demand(policies.may_log_inquiry(request.user))
    names = polymer_names()
    form = InquiryForm(typed_with_model(request), polymers=names, initial={"ship_to_country": HOME_COUNTRY})
    if request.method == "POST" and (is_readable(form, names, refused_model(request)) or only_model_refused(form)):
        if form.errors:
            messages.warning(request, f"The inquiry is kept without its CAD model. {form.errors[UPLOAD][0]}")
        kept = logged(request, form)
        if kept is not None:
            return redirect(reverse("inquiry", args=[kept.number]))
    return form_page(request, form, heading="Log inquiry")


def logged(request: HttpRequest, form: InquiryForm) -> models.Inquiry | None:
    """The inquiry that this form logs, answered; a form that comes again leads to the one that it logged before.

    None where it comes again with other values: then the form says so, under a new key.
    """
    key = request.POST.get("form", "")[:64]
    try:
        kept, is_new = once.inquiry_log_once(typed=form.raw(), by=request.user, form=key)
    except once.OtherWordsError as refused:
        form.add_error(None, refused.messages)
        form.is_spent = True
        return None
    except NumbersBehindError as refused:
        form.add_error(None, refused.messages)
        return None
    if is_new or kept.state == models.RECEIVED:  # or kept the first time, and then something broke
        with suppress(services.ConflictError, services.StateError):  # the same form, sent twice, answers it this moment
            answers_to_come.inquiry_answer_soon(inquiry=kept, on=records.today(), by=request.user)
    return kept


@require_http_methods(["GET", "POST"])
@pages.refusals_told
def inquiry_change(request: HttpRequest, number: str) -> HttpResponse:
    """Change a kept inquiry; saving answers it again. A change made by somebody else meanwhile is told, not lost."""
    inquiry = pages.inquiry_for(request, number)
    pages.demand(policies.may_change_inquiry(request.user, inquiry))
    names = polymer_names()
    if request.method == "GET":
        return form_page(request, InquiryForm.of(inquiry.typed, names), f"Change inquiry {number}", inquiry)
    form = InquiryForm(typed_with_model(request, inquiry.typed), polymers=names)
    if request.POST.get("version") != str(inquiry.version):
        form.is_valid()
        form.add_error(None, pages.changed_meanwhile(request, inquiry))
        tell_standing(form, inquiry)
    elif is_readable(form, names, refused_model(request) or standing_refusal(form, inquiry)):
        changed = services.inquiry_change(inquiry=inquiry, typed=form.raw(), by=request.user, version=inquiry.version)
        answers_to_come.inquiry_answer_soon(inquiry=changed, on=records.today(), by=request.user)
        return redirect(navigation.page_of(request.user, inquiry))
    return form_page(request, form, f"Change inquiry {number}", inquiry)


def tell_standing(form: InquiryForm, inquiry: models.Inquiry) -> None:
    """Beside each field that says something else than the inquiry by now: what stands there."""
    standing = inquiry_text.typed_from(inquiry.typed)
    for name, field in form.fields.items():
        if field.widget.is_hidden or name == UPLOAD:
            continue
        several = isinstance(field, MultipleChoiceField)
        typed = form.data.getlist(name) if several else form.data.get(name, "")
        stands = standing.get(name, [] if several else "")
        if (sorted(typed) if several else typed.strip()) != (sorted(stands) if several else stands):
            words = dict(getattr(field, "choices", ()))
            told = ", ".join(str(words.get(one, one)) for one in (stands if several else [stands]) if one)
            form.add_error(name, f"Stands there now: {told or 'nothing'}")


def polymer_names() -> tuple[str, ...]:
    return tuple(polymer.name for polymer in materials.polymers())


def typed_with_model(request: HttpRequest, kept: object = None) -> QueryDict | None:
    """What was posted, with the name under which an uploaded model is kept; a refused upload names none.

    What was confirmed of the model before and left alone in the form is not taken for the new one.
    """
    if request.method != "POST":
        return None
    typed, upload = request.POST.copy(), request.FILES.get(UPLOAD)
    if upload is None:
        return typed
    try:
        typed["part_model"] = drawing_keep(upload=upload)
    except ValidationError as refused:
        typed["part_model"] = ""
        request.refused_model = refused.messages[0]
    for key in CHOICES:
        before = inquiry_text.at(kept, key)
        if before is not None and typed.get(form_fields.control_name(key)) == str(before):
            typed[form_fields.control_name(key)] = ""
    return typed


def refused_model(request: HttpRequest) -> str:
    return getattr(request, "refused_model", "")


def standing_refusal(form: InquiryForm, inquiry: models.Inquiry) -> str:
    """Why the model was refused when the inquiry was answered, if the same is asked of the same model again."""
    raw = form.raw()
    same = asked_of_inquiry(raw) == asked_of_inquiry(inquiry.typed) and inquiry_text.at(raw, MODEL) == inquiry_text.at(
        inquiry.typed, MODEL
    )
    return next((one["message"] for one in inquiry.errors if same and one["field"] == MODEL), "")


def only_model_refused(form: InquiryForm) -> bool:
    """Whether all but the model can be read: then the inquiry is kept without it."""
    return set(form.errors) == {UPLOAD}


def is_readable(form: InquiryForm, names: tuple[str, ...], refused: str = "") -> bool:
    """Whether the reader takes what was typed; if not, its errors stand beside their fields.

    A model that cannot be used is let go, with the reason beside its field; all that was typed stays. One that has to
    be measured is not waited for: what is found out then is told on the inquiry's page.
    """
    form.is_valid()  # choices that are not on the list
    if refused:
        form.add_error(UPLOAD, refused)
    if not form.raw():
        form.add_error(None, "Nothing was filled in. Type at least who asks or what the part is called.")
    try:
        read_at_once(form.raw(), on=records.today(), polymer_names=names)
    except InputErrors as errors:
        form.take(errors.errors)
    if UPLOAD in form.errors:
        form.data["part_model"] = ""
    return not form.errors


def form_page(
    request: HttpRequest, form: InquiryForm, heading: str, kept: models.Inquiry | None = None
) -> HttpResponse:
    context = {"form": form, "heading": heading, "inquiry": kept, "summary": form.summary() if form.is_bound else []}
    context["form_key"] = (not form.is_spent and request.POST.get("form")) or secrets.token_hex(16)
    return render(request, "desk/inquiry_form.html", context, status=422 if context["summary"] else 200)


@require_GET
def inquiry(request: HttpRequest, number: str) -> HttpResponse:
    """The answer as the sales rep sees it: no cost line, no rate, no margin."""
    return answer_page(request, pages.looked_at(request, number, "page"))


def answer_page(request: HttpRequest, found: models.Inquiry, refused: dict | None = None) -> HttpResponse:
    """The same of an inquiry that is found; with a choice of its model that was refused, to be put right."""
    front = found.stored_front
    shown = answer_parts.shown_to_rep(front, draft=found.state == models.ANSWERED) if front else None
    context = page_of(request, found, shown)
    if refused:
        context["model"]["refused"] = refused
    return render(request, "desk/inquiry.html", context, status=422 if refused else 200)


def page_of(request: HttpRequest, kept: models.Inquiry, shown: answer_parts.Shown | None) -> dict:
    """Context of the page of an inquiry around what is shown of its answer."""
    answer, overrides = shown.facts if shown else None, pages.overrides_of(kept)
    return facts_of(request, kept, overrides) | {
        "answer": answer,
        "markup": shown.markup if shown else {},
        "typed_markup": typed_markup(kept, overrides),
        **questions(kept, answer),
    }


def typed_markup(kept: models.Inquiry, overrides: list[models.Override]) -> str:
    """The inquiry as typed, with what overrides it."""
    content = {"typed": kept.typed, "overridden": pages.in_force(overrides)}
    return fragments.kept("typed", content, typed_written)


def typed_written(content: dict) -> str:
    rows = pages.typed_rows(content["typed"], content["overridden"])
    return render_to_string("desk/parts/typed.html", {"typed": rows})


def inquiry_page(request: HttpRequest, kept: models.Inquiry) -> dict:
    """What the pages of deeds show of an inquiry: its answer for them to write, and where it stands."""
    front = kept.first_view
    answer = present.answer_for_rep(front) if front else None
    return facts_of(request, kept, pages.overrides_of(kept)) | {"answer": answer, **questions(kept, answer)}


def facts_of(request: HttpRequest, kept: models.Inquiry, overrides: list[models.Override]) -> dict:
    """Where an inquiry stands and what this person may do to it."""
    documents = pages.documents_of(kept)
    document = documents[0] if documents else None
    can = pages.granted(request.user, kept, document)
    return {
        "inquiry": kept,
        "overrides": overrides,
        "documents": documents,
        "quote": document,
        "can": can,
        "replies": pages.replies_to(document),
        "mails": pages.mails_of(kept),
        "next_step": next_step(kept, can),
        "link_alive": can["revoke"],
        "private_link": request.session.pop(f"link {kept.number}", ""),
        "history": pages.history_rows(kept, request.user, documents=documents),
        "may_export_history": policies.may_read_audit(request.user),
        "model": model_section(request.user, kept, overrides),
        "work_address": reverse("work", args=[kept.number]) if policies.may_see_cost(request.user, kept) else "",
    }


def questions(kept: models.Inquiry, answer: dict | None) -> dict:
    """The ready text that asks the customer for what is missing."""
    if not answer or not answer["missing"]:
        return {}
    text = present.questions_text(answer["missing"], form_fields.LABELS, kept.part_name)
    return {
        "questions": text,
        "questions_rows": text.count("\n") + 2 + len(answer["missing"]),  # each line may wrap once on a telephone
        "mail_address": pages.questions_mail(kept, text),
    }


NEXT_STEPS = {
    models.NEEDS_INFORMATION: "ask the customer for what is missing, then complete the inquiry.",
    models.ANSWERED: "an estimator reviews the answer and approves the quote. Figures are a draft until then.",
    models.WAITS_FOR_MANAGER: "a manager decides: the margin or the value of a year asks for a second person.",
    models.APPROVED: "send the quote: make a private link for the customer.",
    models.SENT: "follow up with the customer, then record whether the quote was won or lost.",
}


def next_step(kept: models.Inquiry, can: dict[str, bool]) -> dict:
    """What comes next, in words, and which button stands out."""
    text = NEXT_STEPS.get(kept.state, "")
    if kept.state == models.ANSWERED and kept.decision == "not_a_fit":
        text = "an estimator reviews the answer and declines with a letter. Until then, check what would change it."
    if kept.errors:
        text = "put right what could not be read, then save the inquiry again."
    primary = "send" if kept.state == models.APPROVED else "win" if kept.state == models.SENT else ""
    if kept.state in (models.NEEDS_INFORMATION, models.RECEIVED):
        primary = "change"
    return {"text": text, "primary": primary if can.get(primary) else ""}
