"""The answer to one inquiry, as values."""

from dataclasses import dataclass
from datetime import date

from quoting.conversion import MetalComparison
from quoting.costing.advice import PriceAdvice
from quoting.costing.cost_range import CostRange
from quoting.costing.lines import LandedCost
from quoting.costing.pace import Pace
from quoting.intake.part import PartRequest
from quoting.intake.reading_result import Assumption, Doubt, Missing
from quoting.routing.candidate import JudgedCandidate
from quoting.routing.referral import Referral
from quoting.routing.study import FormingStudy
from quoting.routing.verdict import Verdict
from quoting.words import Words

QUOTE, NOT_A_FIT, NEEDS_INFORMATION = "quote", "not_a_fit", "needs_information"


@dataclass(frozen=True)
class PricedCandidate:
    """``cost`` is None where the candidate does not fit. ``layouts`` counts the blank layouts compared for it."""

    judged: JudgedCandidate
    cost: LandedCost | None
    layouts_compared: int


@dataclass(frozen=True)
class Condition:
    what: Words
    why: Words


@dataclass(frozen=True)
class Answer:
    decision: str
    summary: Words
    answered_on: date
    request: PartRequest | None
    chosen: PricedCandidate | None
    candidates: tuple[PricedCandidate, ...]
    referral: Referral | None
    metal_comparison: MetalComparison | None
    conditions: tuple[Condition, ...]
    missing: tuple[Missing, ...]
    assumptions: tuple[Assumption, ...]
    doubts: tuple[Doubt, ...]
    cautions: tuple[str, ...]
    deciding: Verdict | None  # what decided that it is not a fit
    study: FormingStudy | None = None  # of the chosen candidate
    range: CostRange | None = None  # of the chosen candidate; as internal as its cost lines
    pace: Pace | None = None  # of the chosen candidate
    advice: PriceAdvice | None = None  # on the price of the chosen candidate
    hazards: tuple[Words, ...] = ()  # cautions with their numbers, for those who set up the job; not for the customer
