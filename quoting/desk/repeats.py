"""A form that arrives again after it was carried out leads to what it did, instead of to a refusal."""

from django.http import HttpRequest

from quoting.quotes import models, selectors

# Route -> deeds that it may have done, and the field of its form whose words the record keeps under that name.
DEEDS = {
    "approve": (("quote_approve", "quote_wait"), "note", "note"),
    "decline": (("inquiry_decline",), "reason", "reason"),
    "send": (("quote_send",), "", ""),
    "won": (("quote_won",), "reason", "evidence"),
    "lost": (("quote_lost",), "reason", "reason"),
}
SECOND = {"approve": (("quote_second",), "note", "note")}
SENT_BACK = (("quote_send_back",), "note", "reason")


def is_repeat(request: HttpRequest, inquiry: models.Inquiry) -> bool:
    """Whether this very form was carried out: by this person, from the version that it names, with the same words.

    The version is the form's key. What anybody did since makes it another matter, and is told as a conflict.
    """
    deed = _deed(request)
    if request.method != "POST" or deed is None:
        return False
    actions, field, kept_as = deed
    last = selectors.changes(inquiry).first()
    if last is None or last.by_id != request.user.pk or last.action not in actions:
        return False
    if request.POST.get("version", "") != str(inquiry.version - 1):
        return False
    same_words = not field or last.detail.get(kept_as, "") == request.POST.get(field, "").strip()
    return same_words and ("release" not in last.detail or str(last.detail["release"]) == request.POST.get("release"))


def _deed(request: HttpRequest) -> tuple[tuple[str, ...], str, str] | None:
    route = request.resolver_match.url_name if request.resolver_match else ""
    if route == "second":
        return SECOND.get(request.POST.get("decision", ""), SENT_BACK)
    return DEEDS.get(route)
