"""What is written to whom: the private link to the customer, word of a reply to the sales rep, and word of a decision.

Subjects are read by all who see the outbox and hold no figure; those who get a text may see what it says.
"""

from django.conf import settings

from quoting.quotes import outbox, selectors
from quoting.quotes.models import LETTER, OPENED, SENT_BACK, CustomerReply, Quote, Review

REPLIED = {
    "accepted": "accepted quote {quote}, {release:,} parts a release.",
    "change": "asks for a change of quote {quote}:\n\n{text}",
    "declined": "declined quote {quote}.\n\n{text}",
}


def subject_of(quote: Quote) -> str:
    about = quote.inquiry.part_name or quote.inquiry.reference
    kind = "Our answer" if quote.kind == LETTER else f"Quote {quote.number} revision {quote.revision}"
    return f"{kind}: {about}" if about else kind


def text_of(quote: Quote, address: str, by: object) -> str:
    """The mail that carries the private link."""
    customer, name = quote.inquiry.customer, _name(by)
    greeting = f"Dear {customer.contact},\n\n" if customer else ""
    what = "Our answer to your inquiry" if quote.kind == LETTER else "Our quote"
    return (
        f"{greeting}{what} {quote.number} is ready. You can read it, and download it as PDF, on this private page:\n\n"
        f"{address}\n\n"
        f"The link is yours alone and holds until {quote.valid_until:%d %b %Y}.\n\n"
        f"{name}\n{settings.COMPANY_NAME}\n"
    )


def reply_told(reply: CustomerReply) -> None:
    """Tell the sales rep who logged the inquiry what the customer replied; call it in the reply's transaction."""
    inquiry, quote = reply.quote.inquiry, reply.quote
    if reply.kind == OPENED or not inquiry.created_by.email:
        return
    words = REPLIED[reply.kind].format(quote=quote.number, release=reply.release or 0, text=reply.text)
    who = inquiry.customer.company if inquiry.customer else "The customer"
    outbox.mail_put(
        key=f"reply {reply.pk}", to=inquiry.created_by.email, inquiry=inquiry,
        subject=f"{inquiry.number}: reply to quote {quote.number}", text=f"{who} {words}\n",
    )  # fmt: skip


def waiting_told(review: Review) -> None:
    """Tell each manager who may be the second person that a quote waits; call it in the transaction of the review."""
    inquiry, who = review.inquiry, _name(review.by)
    why = "".join(f"- {reason}\n" for reason in review.reasons)
    note = f"\nNote of {who}: {review.note}\n" if review.note else ""
    for manager in selectors.second_persons(inquiry, review.by_id):
        if manager.email:
            outbox.mail_put(
                key=f"waits {review.pk} {manager.pk}", to=manager.email, inquiry=inquiry,
                subject=f"{inquiry.number} waits for a manager's approval",
                text=f"{who} reviewed the answer to {inquiry.number} ({_about(review)}) and would quote it. "
                f"It waits for a manager, because\n\n{why}{note}\nIt stands under \"Waiting for you\"; "
                "one manager's word is enough.\n",
            )  # fmt: skip


def decision_told(review: Review, reviewer: object, quote: Quote | None = None) -> None:
    """Tell the estimator who reviewed an answer what the manager decided; call it in the decision's transaction."""
    if not reviewer.email:
        return
    inquiry, who = review.inquiry, _name(review.by)
    back = review.kind == SENT_BACK
    outcome = "sent back" if back else "approved"
    what = f"sent {inquiry.number} ({_about(review)}) back to you" if back else (
        f"approved {inquiry.number} ({_about(review)}). It is quote {quote.number} revision {quote.revision} "
        "and can be sent"
    )  # fmt: skip
    note = f"\n\nNote: {review.note}" if review.note else ""
    outbox.mail_put(
        key=f"decided {review.pk}", to=reviewer.email, inquiry=inquiry,
        subject=f"{inquiry.number} was {outcome} by {who}", text=f"{who} {what}.{note}\n",
    )  # fmt: skip


def _about(review: Review) -> str:
    """Customer and part as far as they are known."""
    inquiry = review.inquiry
    known = (inquiry.customer.company if inquiry.customer else "", inquiry.part_name)
    return ", ".join(one for one in known if one) or "no name given"


def _name(person: object) -> str:
    return person.get_full_name() or person.get_username()
