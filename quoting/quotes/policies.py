"""Who may do what. Two tables, read by services, screens and tests alike; nothing else decides."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.core.exceptions import PermissionDenied

from quoting.quotes.models import (
    ANSWERED,
    APPROVED,
    DECLINED,
    LOST,
    NEEDS_INFORMATION,
    RECEIVED,
    SENT,
    WAITS_FOR_MANAGER,
    WON,
    Inquiry,
    Quote,
)

REP, ESTIMATOR, MANAGER, ADMINISTRATOR = "sales rep", "estimator", "manager", "administrator"
GROUPS = (REP, ESTIMATOR, MANAGER)  # the administrator is Django's superuser and no group
OWN, ALL = "own", "all"

# An estimator may not approve an inquiry logged by themselves above this landed value a year [$];
# common practice (a second pair of eyes on large commitments), no source.
OWN_APPROVAL_LIMIT = Decimal(500_000)


@dataclass(frozen=True)
class Act:
    """A deed on an inquiry: who may do it, and from which state it leads to which."""

    who: dict[str, str]
    moves: dict[str, tuple[str, ...]]
    words: str  # "... this inquiry"


_SALES = {REP: OWN, ESTIMATOR: ALL}
_OPEN = (RECEIVED, NEEDS_INFORMATION, ANSWERED, WAITS_FOR_MANAGER)

ACTS: dict[str, Act] = {
    "change": Act(_SALES, dict.fromkeys(_OPEN, (RECEIVED,)), "change"),
    "answer": Act(_SALES, dict.fromkeys(_OPEN, (NEEDS_INFORMATION, ANSWERED)), "answer"),
    "override": Act({ESTIMATOR: ALL}, dict.fromkeys(_OPEN, (NEEDS_INFORMATION, ANSWERED)), "override a value of"),
    # Where the margin floor or the manager's limit asks for a second person, the first approval only leads to waiting.
    "approve": Act({ESTIMATOR: ALL}, {ANSWERED: (APPROVED, WAITS_FOR_MANAGER)}, "approve"),
    "second": Act({MANAGER: ALL}, {WAITS_FOR_MANAGER: (APPROVED,)}, "approve as the second person"),
    "send_back": Act({MANAGER: ALL}, {WAITS_FOR_MANAGER: (ANSWERED,)}, "send back"),
    "decline": Act({ESTIMATOR: ALL}, {ANSWERED: (DECLINED,)}, "decline"),
    "send": Act(_SALES, {APPROVED: (SENT,), SENT: (SENT,), DECLINED: (DECLINED,)}, "send the document of"),
    "revise": Act({ESTIMATOR: ALL}, dict.fromkeys((APPROVED, SENT, DECLINED), (RECEIVED,)), "revise"),
    "win": Act(_SALES, {SENT: (WON,)}, "record the order for"),
    "lose": Act(_SALES, dict.fromkeys((APPROVED, SENT), (LOST,)), "record the loss of"),
    "revoke_link": Act(
        {**_SALES, ADMINISTRATOR: ALL},
        {state: (state,) for state in (APPROVED, SENT, WON, LOST, DECLINED, *_OPEN)},
        "revoke the private link of",
    ),
}

VIEWS: dict[str, dict[str, str]] = {
    "log_inquiry": _SALES,
    "see_inquiry": {REP: OWN, ESTIMATOR: ALL, MANAGER: ALL},
    "measure_model": _SALES,
    "see_price": {REP: OWN, ESTIMATOR: ALL, MANAGER: ALL},
    "see_document": {REP: OWN, ESTIMATOR: ALL, MANAGER: ALL},
    "export": {REP: OWN, ESTIMATOR: ALL, MANAGER: ALL},
    "see_cost": {ESTIMATOR: ALL, MANAGER: ALL},
    "see_candidates": {ESTIMATOR: ALL, MANAGER: ALL},
    "see_loading": {ESTIMATOR: ALL, MANAGER: ALL},
    "move_work": {MANAGER: ALL},
    "read_audit": {ESTIMATOR: ALL, MANAGER: ALL, ADMINISTRATOR: ALL},
    "see_rates": {ESTIMATOR: ALL, MANAGER: ALL, ADMINISTRATOR: ALL},
    "export_audit": {MANAGER: ALL, ADMINISTRATOR: ALL},
    "edit_rates": {MANAGER: ALL, ADMINISTRATOR: ALL},
    "reprice": {MANAGER: ALL, ADMINISTRATOR: ALL},
    "see_repricing": {ESTIMATOR: ALL, MANAGER: ALL, ADMINISTRATOR: ALL},
    "see_runs": {ESTIMATOR: ALL, MANAGER: ALL},
    "record_runs": {ESTIMATOR: ALL, MANAGER: ALL},
    "decide_factors": {ESTIMATOR: ALL, MANAGER: ALL},
    "manage_people": {ADMINISTRATOR: ALL},
    "manage_mail": {ADMINISTRATOR: ALL},
    "raise_numbers": {ADMINISTRATOR: ALL},
}


def roles(person: object) -> frozenset[str]:
    """The roles of a person; nobody's and a disabled account's are none, a superuser is the administrator only."""
    if not getattr(person, "is_active", False):
        return frozenset()
    if person.is_superuser:
        return frozenset({ADMINISTRATOR})
    if not hasattr(person, "_role_names"):
        roles_found(person, person.groups.values_list("name", flat=True))
    return person._role_names


def roles_found(person: object, groups: Iterable[str | None]) -> None:
    """What is known of a person for as long as a request has them at hand: which groups they are in."""
    person._role_names = frozenset(groups) & frozenset(GROUPS)


def grants_of(action: str) -> dict[str, str]:
    """Role -> OWN or ALL, for an act or a view."""
    return ACTS[action].who if action in ACTS else VIEWS[action]


def permitted(person: object, action: str, obj: Inquiry | Quote | None = None) -> bool:
    """Does the table grant this action on this object, whatever its state?"""
    table = grants_of(action)
    grants = {table[role] for role in roles(person) if role in table}
    return ALL in grants or (OWN in grants and (obj is None or _owns(person, obj)))


def may(person: object, action: str, obj: Inquiry | Quote | None = None) -> bool:
    """Is the action granted, and does the inquiry stand where it can be done? For buttons; services check again."""
    if not permitted(person, action, obj):
        return False
    return action not in ACTS or obj is None or _inquiry(obj).state in ACTS[action].moves


def require(person: object, action: str, obj: Inquiry | Quote | None = None) -> None:
    """Raise PermissionDenied, saying who may, unless the table grants it."""
    if permitted(person, action, obj):
        return
    table = grants_of(action)
    who = " or ".join(f"the {role} who logged it" if grant == OWN else f"the {role}" for role, grant in table.items())
    words = f"{ACTS[action].words} this inquiry" if action in ACTS else f"do this ({action.replace('_', ' ')})"
    raise PermissionDenied(f"Only {who} may {words}.")


def seen_by(person: object) -> dict[str, object] | None:
    """Filter for the inquiries a person may see: {} for all, None for none."""
    if permitted(person, "see_inquiry") and roles(person) & {ESTIMATOR, MANAGER}:
        return {}
    return {"created_by_id": person.pk} if permitted(person, "see_inquiry") else None


def _inquiry(obj: Inquiry | Quote) -> Inquiry:
    return obj.inquiry if isinstance(obj, Quote) else obj


def _owns(person: object, obj: Inquiry | Quote) -> bool:
    return _inquiry(obj).created_by_id == person.pk


def approves_alone(person: object, inquiry: Inquiry, value_a_year: Decimal) -> bool:
    """May this estimator approve without a second person?"""
    return inquiry.created_by_id != person.pk or value_a_year <= OWN_APPROVAL_LIMIT


def is_second_person(person: object, inquiry: Inquiry, reviewer_id: int | None) -> bool:
    """Neither who logged the inquiry nor who reviewed its answer can be the second pair of eyes."""
    return person.pk not in (inquiry.created_by_id, reviewer_id)


def may_log_inquiry(person: object) -> bool:
    return may(person, "log_inquiry")


def may_see_inquiry(person: object, inquiry: Inquiry) -> bool:
    return may(person, "see_inquiry", inquiry)


def may_measure_model(person: object, inquiry: Inquiry) -> bool:
    return may(person, "measure_model", inquiry)


def may_choose_of_model(person: object, inquiry: Inquiry) -> bool:
    return may(person, "override", inquiry) or may(person, "change", inquiry)


def may_change_inquiry(person: object, inquiry: Inquiry) -> bool:
    return may(person, "change", inquiry) or may(person, "revise", inquiry)


def may_answer(person: object, inquiry: Inquiry) -> bool:
    return may(person, "answer", inquiry)


def may_override(person: object, inquiry: Inquiry) -> bool:
    return may(person, "override", inquiry)


def may_approve(person: object, inquiry: Inquiry) -> bool:
    return inquiry.decision == "quote" and may(person, "approve", inquiry)


def may_second(person: object, inquiry: Inquiry) -> bool:
    return may(person, "second", inquiry)


def may_decline(person: object, inquiry: Inquiry) -> bool:
    return inquiry.decision == "not_a_fit" and may(person, "decline", inquiry)


def may_send(person: object, quote: Quote) -> bool:
    return may(person, "send", quote) and not quote.is_superseded


def may_revoke_link(person: object, quote: Quote) -> bool:
    return may(person, "revoke_link", quote) and quote.link_hash is not None and quote.link_revoked_at is None


def may_record_win(person: object, quote: Quote) -> bool:
    return may(person, "win", quote) and not quote.is_superseded


def may_record_loss(person: object, quote: Quote) -> bool:
    return may(person, "lose", quote) and not quote.is_superseded


def may_see_document(person: object, quote: Quote) -> bool:
    return may(person, "see_document", quote)


def may_see_cost(person: object, obj: Inquiry | Quote | None = None) -> bool:
    return may(person, "see_cost", obj)


def plants_of(person: object) -> frozenset[int]:
    """The plants to which a person is tied; empty where they serve them all."""
    if not hasattr(person, "_plant_ids"):
        person._plant_ids = frozenset(person.plant_ties.values_list("plant_id", flat=True))
    return person._plant_ids


def serves(person: object, *plants: object) -> bool:
    """Whether all of these plants are a person's own; one who is tied to none serves them all."""
    own = plants_of(person)
    return not own or all(plant.pk in own for plant in plants)


def may_move_work(person: object, *plants: object) -> bool:
    """May this person change what is booked at these plants? Name both where work goes from one to the other."""
    return may(person, "move_work") and serves(person, *plants)


def may_see_loading(person: object) -> bool:
    return may(person, "see_loading")


def may_read_audit(person: object) -> bool:
    return may(person, "read_audit")


def may_edit_rates(person: object) -> bool:
    return may(person, "edit_rates")


def may_see_rates(person: object) -> bool:
    return may(person, "see_rates")


def may_reprice(person: object) -> bool:
    return may(person, "reprice")


def may_see_repricing(person: object) -> bool:
    return may(person, "see_repricing")


def may_see_runs(person: object) -> bool:
    return may(person, "see_runs")


def may_record_runs(person: object) -> bool:
    return may(person, "record_runs")


def may_decide_factors(person: object) -> bool:
    return may(person, "decide_factors")
