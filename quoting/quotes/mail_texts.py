"""What is written to whom: the private link to the customer, and word of a customer's reply to the sales rep."""

from django.conf import settings

from quoting.quotes import outbox
from quoting.quotes.models import LETTER, OPENED, CustomerReply, Quote

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
    customer, name = quote.inquiry.customer, by.get_full_name() or by.get_username()
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
