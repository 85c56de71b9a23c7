"""Where each role starts and which pages its bar offers; only what the policies grant."""

from django.urls import reverse

from quoting.quotes import policies
from quoting.quotes.models import Inquiry


def links(person: object, path: str = "") -> list[dict]:
    """Label and address of each page that this person may open from the bar."""
    offered = [
        ("Inquiries", reverse("inquiries"), policies.may(person, "see_inquiry") and not policies.may_see_cost(person)),
        ("Review queue", reverse("review"), policies.may_see_cost(person)),
        ("Waiting for you", reverse("waiting"), policies.permitted(person, "second")),
        ("Log inquiry", reverse("inquiry-log"), policies.may_log_inquiry(person)),
        ("Plant loading", reverse("loading"), policies.may_see_loading(person)),
        ("Recorded runs", reverse("shop-runs"), policies.may_see_runs(person)),
        ("What-if plans", reverse("plans"), policies.may_see_loading(person)),
        ("Rates", reverse("rates"), policies.may_see_rates(person)),
        ("Plants and data", reverse("admin:index"), policies.may_edit_rates(person) and person.is_staff),
        ("Re-pricing", reverse("repricing"), policies.may_see_repricing(person)),
        ("People", reverse("admin:auth_user_changelist"), policies.may(person, "manage_people") and person.is_staff),
        ("Record of deeds", reverse("audit-period"), policies.may(person, "export_audit")),
    ]
    return [
        {"label": label, "address": address, "here": path == address} for label, address, granted in offered if granted
    ]


def start(person: object) -> str | None:
    """Address of a person's first page; None without a role."""
    held = policies.roles(person)
    if policies.ADMINISTRATOR in held:
        return reverse("admin:index")
    if policies.MANAGER in held:
        return reverse("loading")
    if policies.ESTIMATOR in held:
        return reverse("review")
    return reverse("inquiries") if policies.REP in held else None


def page_of(person: object, inquiry: Inquiry) -> str:
    """The page of an inquiry for this person: route and costs where the role may see them."""
    return reverse("work" if policies.may_see_cost(person, inquiry) else "inquiry", args=[inquiry.number])
