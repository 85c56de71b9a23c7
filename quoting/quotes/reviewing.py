"""Review before commitment: what must be confirmed of an answer, and when a manager must decide.

In the spirit of ISO 9001:2015 clause 8.2, read through guides and not in the standard's own text: requirements are
defined and can be met, differences are resolved, unwritten ones are confirmed, and the result is kept.
"""

from dataclasses import dataclass
from decimal import Decimal

from quoting.catalog import PriceRates
from quoting.documents.figures import phrase
from quoting.documents.labels import NEEDS, said
from quoting.intake.fields import BY_KEY

KEYS = ("requirements", "overrides", "assumptions", "doubts", "conditions", "drawing", "dates", "tool", "legal")


@dataclass(frozen=True)
class Item:
    """One thing to confirm: its key, the sentence beside the box, and what it is about, line by line."""

    key: str
    text: str
    about: tuple[str, ...] = ()


def review_items(snapshot: dict, overrides: list[tuple[str, str]]) -> tuple[Item, ...]:
    """What a person must confirm of a stored answer before it is approved; only what applies to it is asked."""
    request = snapshot.get("request") or {}
    found = [Item("requirements", "Sizes, material, quantities and needs are those that the customer asked for.")]
    if overrides:
        changed = tuple(f"{_label(field)}: {reason}" for field, reason in overrides)
        text = "Values put in place of the customer's are agreed or told to the customer."
        found.append(Item("overrides", text, changed))
    found += _told(snapshot)
    if not request.get("reference"):
        found.append(Item("drawing", "No drawing is named: a price from these sizes alone is what is wanted."))
    found.append(_dates(snapshot, request))
    if request.get("tooling") == "transfer":
        found.append(Item("tool", "Who owns the tool, and what happens at its arrival inspection, is agreed."))
    if request.get("needs"):
        needs = ", ".join(said(need, NEEDS) for need in request["needs"])
        found.append(Item("legal", f"The mill's papers on {needs} are at hand for this sheet and this use."))
    return tuple(found)


def _label(field: str) -> str:
    return BY_KEY[field].label if field in BY_KEY else field


def _told(snapshot: dict) -> list[Item]:
    listed = {
        "assumptions": (
            "What was assumed is right, or the customer will read it on the quote.",
            tuple(f"{phrase(one['value'])}: {one['why']}" for one in snapshot.get("assumptions", ())),
        ),
        "doubts": (
            "Each doubt about a typed value was looked into.",
            tuple(phrase(one["text"]) for one in snapshot.get("doubts", ())),
        ),
        "conditions": (
            "Each condition can be kept by us and is told to the customer.",
            tuple(phrase(one["what"]) for one in snapshot.get("conditions", ())),
        ),
    }
    return [Item(key, text, about) for key, (text, about) in listed.items() if about]


def _dates(snapshot: dict, request: dict) -> Item:
    breaks = ((snapshot.get("chosen") or {}).get("cost") or {}).get("breaks") or [{}]
    weeks = [one["lead_time_weeks"] for one in breaks if "lead_time_weeks" in one]
    ends = dict.fromkeys(f"{end(weeks):.1f}" for end in (min, max)) if weeks else ()
    about = (f"lead time {' to '.join(ends)} weeks",) if weeks else ()
    wanted = request.get("needed_by")
    about += (f"wanted by {wanted}",) if wanted else ("no date was asked for",)
    return Item("dates", "Lead time and date can be kept with the work already booked.", about)


def value_a_year(snapshot: dict) -> Decimal:
    """Landed value of a year's parts at the largest release [$], from a stored answer."""
    landed = Decimal(snapshot["chosen"]["cost"]["breaks"][-1]["landed_unit_price"])
    return landed * snapshot["request"]["annual"]


def least_margin(snapshot: dict) -> tuple[Decimal, int, bool] | None:
    """The least margin of any release [share of price], its release, and whether it is the low end of the range.

    None where the answer holds no margin.
    """
    ranges = (snapshot.get("range") or {}).get("releases", ())
    if ranges:
        ends = ((end, end == "low") for end in ("low", "likely"))
        return min((Decimal(one["margin"][end]), one["quantity"], low) for end, low in ends for one in ranges)
    found: list[tuple[Decimal, int, bool]] = []
    cost = snapshot["chosen"]["cost"]
    prices = {one["quantity"]: Decimal(one["unit_price"]) for one in cost["breaks"] if "unit_price" in one}
    for line in cost.get("lines", ()):
        if line["name"] == "margin" and prices.get(line["quantity"]):
            found.append((Decimal(line["per_part"]) / prices[line["quantity"]], line["quantity"], False))
    return min(found) if found else None


def manager_reasons(snapshot: dict, price: PriceRates) -> tuple[str, ...]:
    """Why a manager must decide, each with measured and limit; empty where the estimator may commit alone."""
    reasons = []
    least = least_margin(snapshot)
    if least is not None and least[0] < price.margin_floor:
        margin, quantity, low_end = least
        end = "at the low end of its range the margin" if low_end else "the margin"
        floor = f"the floor is {price.margin_floor:.1%}"
        reasons.append(f"{end} of the release of {quantity:,} is {margin:.1%} of the price, and {floor}")
    value = value_a_year(snapshot)
    if value > price.manager_limit:
        reasons.append(f"a year's parts come to ${value:,.2f} landed, and the limit is ${price.manager_limit:,.2f}")
    return tuple(reasons)
