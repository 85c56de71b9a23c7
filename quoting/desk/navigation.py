"""Where each role starts and which pages its bar offers; only what the policies grant."""

from django.urls import reverse

from quoting.quotes import policies
from quoting.quotes.models import Inquiry

# Of each entry of the bar: the name of its group, empty where it stands by itself.
ALONE, PLANTS, PRICES, HOUSE = "", "Plants", "Prices", "House"
_GRANTED: dict[tuple[frozenset[str], bool], tuple[tuple[str, str, str], ...]] = {}  # by roles and staff


def links(person: object, path: str = "") -> list[dict]:
    """The bar of this person, entry by entry: a page, or a group of pages. A group of one page is that page."""
    entries: dict[str, list[dict]] = {}
    for group, label, address in _granted(person):
        entries.setdefault(group or label, []).append({"label": label, "address": address, "here": path == address})
    return [
        many[0] if len(many) == 1 else {"label": name, "pages": many, "here": any(one["here"] for one in many)}
        for name, many in entries.items()
    ]


def _granted(person: object) -> tuple[tuple[str, str, str], ...]:
    """Group, label and address of each page that this person may open; the same for all of the same roles."""
    held = (policies.roles(person), bool(person.is_staff))
    if held not in _GRANTED:
        _GRANTED[held] = tuple(entry[:3] for entry in _offered(person) if entry[3])
    return _GRANTED[held]


def _offered(person: object) -> list[tuple[str, str, str, bool]]:
    """Group, label and address of each page of the bar, and whether this person may open it."""
    return [
        (ALONE, "Inquiries", reverse("inquiries"),
         policies.may(person, "see_inquiry") and not policies.may_see_cost(person)),
        (ALONE, "Review queue", reverse("review"), policies.may_see_cost(person)),
        (ALONE, "Waiting for you", reverse("waiting"), policies.permitted(person, "second")),
        (ALONE, "Log inquiry", reverse("inquiry-log"), policies.may_log_inquiry(person)),
        (PLANTS, "Plant loading", reverse("loading"), policies.may_see_loading(person)),
        (PLANTS, "What-if plans", reverse("plans"), policies.may_see_loading(person)),
        (PLANTS, "Recorded runs", reverse("shop-runs"), policies.may_see_runs(person)),
        (PRICES, "Rates", reverse("rates"), policies.may_see_rates(person)),
        (PRICES, "Re-pricing", reverse("repricing"), policies.may_see_repricing(person)),
        (HOUSE, "Plants and data", reverse("admin:index"), policies.may_edit_rates(person) and person.is_staff),
        (HOUSE, "People", reverse("admin:auth_user_changelist"),
         policies.may(person, "manage_people") and person.is_staff),
        (HOUSE, "Record of deeds", reverse("audit-period"), policies.may(person, "export_audit")),
    ]  # fmt: skip


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
