"""Terms, exclusions and freight wording of a quote. Common practice, no source; counsel must approve the final text."""

from quoting.documents import labels
from quoting.documents.figures import day

TOOL_WITH_ORDER, TOOL_AT_FIRST_ARTICLE, TOOL_AT_APPROVAL = 50, 40, 10  # %: common practice, no source
NET_DAYS = 30  # days to pay for parts: common practice, no source
SHEET_MOVE = 3  # % by which the mill's price may move before ours follows: common practice, no source
RUN_ALLOWANCE = 5  # % over or under a release: common practice, no source
BLANKET_MONTHS, FINISHED_GOODS_WEEKS = 12, 8  # common practice, no source
STORAGE_DAYS = 30  # days of free storage of finished parts: common practice, no source

LEAD_TIME = (
    "Lead time runs from the day we hold your order, any tooling payment due with it and a released drawing, to the "
    "day the release leaves our dock, as our machines are booked on the day of this quote. Where a tool is made or "
    "moved it includes that work and the first article; days that a sample or a question waits for you are added."
)
FREIGHT = (
    "Prices are FOB our dock. Freight is our estimate at the density class shown and is not a carrier's quotation: "
    "the carrier's rating, fuel surcharge and extra services on the day of shipping decide what is paid."
)
EXCLUSIONS = (
    "Taxes, duties, liftgate and inside delivery, detention, insurance of goods on the road.",
    f"Storage of finished parts beyond {STORAGE_DAYS} days; storage and insurance of tools not in use.",
    "Engineering changes after order; repair of a tool after its stated life or after a transfer.",
    "Hardware and other items you furnish, paint, printing, assembly and packaging not listed in this quote.",
    "Colour drift between lots, witness marks of the tool, thinning within the tolerance stated, and fading outdoors "
    "of sheet without a UV cap.",
    "Search for or defence against patents on your design.",
    "Dust control, guarding and ventilation where you machine, heat or regrind the parts yourself.",
)


def terms(valid_until: str, transferred: bool, amortised: bool = False, clause: bool = False) -> list[tuple[str, str]]:
    """Heading and text of each term.

    Parameters
    ----------
    valid_until : str
        ISO day to which the quote holds [-].
    transferred : bool
        The tool comes from the customer [-].
    amortised : bool
        The tooling is paid through the part price [-].
    clause : bool
        The quote has a condition on the resin price, which then says how prices follow [-].

    Returns
    -------
    terms : list of (str, str)
        [-]
    """
    return [
        (
            "Basis",
            "The prices rest on the facts, assumptions and conditions in this quote and on the drawing revision named "
            "in it. Where one of them proves different, price and lead time are quoted again.",
        ),
        (
            "Validity",
            f"This quote may be accepted until {day(valid_until)}. A change makes a new revision; only the latest one "
            "may be accepted.",
        ),
        ("Tooling", _tooling(transferred, amortised)),
        ("Payment for parts", f"Net {NET_DAYS} days from shipment, on credit approval."),
        (
            "Sheet price",
            SHEET_BY_CONDITION
            if clause
            else f"Prices follow the mill: where its price moves by more than {SHEET_MOVE} %, the difference per pound "
            "times the pounds bought for each part shipped is added or taken off.",
        ),
        ("Quantity", f"A release may be shipped {RUN_ALLOWANCE} % over or under and is billed as shipped."),
        (
            "Blanket orders",
            f"Run at most {BLANKET_MONTHS} months. Finished goods for up to {FINISHED_GOODS_WEEKS} weeks and sheet "
            "bought in a custom colour, gauge or size are taken or paid for by the buyer.",
        ),
        (
            "Inspection",
            "One first-article report and the sheet maker's certificate are included. Further reports, capability "
            "studies and approvals are quoted when asked.",
        ),
        (
            "Fitness",
            "You confirm material, design, loads, safety factor and end use. We form to print. Use in structures, "
            "pressure equipment, lifting, implants, drinking water or aircraft needs our consent in writing. This "
            "quote is not engineering advice; local codes and licensed practice apply where the part is used.",
        ),
        ("Drawings", "We treat drawings and models as confidential and return or delete them when asked."),
    ]


SHEET_BY_CONDITION = "Prices follow resin as the condition on the resin index in this quote says."


def _tooling(transferred: bool, amortised: bool) -> str:
    if not amortised:
        return TRANSFERRED if transferred else NEW_TOOL
    return f"{STAYS_YOURS} {IN_THE_PRICE}" if transferred else IN_THE_PRICE


IN_THE_PRICE = (
    "The tooling listed is paid through the unit price of the first parts, as stated with it. It becomes the buyer's "
    "once it is paid in full; what is not paid by then is billed under the condition stated. We keep and maintain it "
    "for normal wear while it runs with us."
)
STAYS_YOURS = (
    "The tool remains yours; part prices hold once inspection on arrival shows that it runs as described, and repairs "
    "are quoted separately before any work."
)
NEW_TOOL = (
    f"Tools are paid for and owned by the buyer: {TOOL_WITH_ORDER} % with order, {TOOL_AT_FIRST_ARTICLE} % at first "
    f"article, {TOOL_AT_APPROVAL} % at approval. We keep and maintain them for normal wear while they run with us."
)
TRANSFERRED = (
    "The tool remains yours. The prices here cover receipt, inspection, sampling and the fixtures listed; part prices "
    "hold once inspection on arrival shows that it runs as described. Repairs and missing items are quoted separately "
    "before any work."
)


def freight_words(request: dict) -> str:
    """Where the freight estimate ends."""
    to = request["ship_to"]
    place = f"{to['place']} " if to.get("place") else ""
    return f"to {place}{to['postal_code']}, {to['country']}"


def mode_words(packing: dict) -> str:
    """How a release travels."""
    return labels.said(packing["mode"], labels.MODES)
