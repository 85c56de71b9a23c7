"""What candidates have in common is worked out once in an answer, and that changes no figure of it."""

import json
from dataclasses import fields, is_dataclass, replace
from pathlib import Path

import pytest

from machines.machine import Booking
from materials.sheet import INCH
from quoting.answer import NEEDS_INFORMATION, NOT_A_FIT, QUOTE, Answer, PricedCandidate
from quoting.answering import answered, best_of_groups
from quoting.catalog import Catalog
from quoting.choosing import programme_cost
from quoting.contract import canonical, to_contract, to_plain
from quoting.costing.landed import joined, landed_cost
from quoting.documents.letter import letter_document
from quoting.documents.quote import quote_document
from quoting.intake.part import PartRequest
from quoting.intake.reading_result import Missing, Reading
from quoting.quotes.snapshots import packed, unpacked
from quoting.routing.candidates import candidates
from quoting.routing.judging import judged
from quoting.routing.plan import planned
from quoting.routing.recalled import Recalled
from quoting.routing.studying import forming_study
from tests.quoting.costing.shop import some_rates
from tests.quoting.routing.routing_catalog import TODAY, catalog, part, request, router

TEMPLATES = Path(__file__).resolve().parents[2] / "templates"
OWN_PAGES = ("documents/quote.html", "documents/letter.html")
CUSTOMER_PAGES = [*sorted((TEMPLATES / "customer").glob("*.html")), *(TEMPLATES / page for page in OWN_PAGES)]

SMALL = part(length=18 * INCH, width=12 * INCH, depth=4 * INCH, surface_area=456 * INCH**2)
REQUESTS = (
    request(),
    request(SMALL),
    request(SMALL, releases=(250,)),
    request(tooling="transfer", releases=(20, 4000)),
    request(replace(SMALL, enclosed=True), annual=4000),
)


def house():
    """With rates, and with work booked on one of its machines."""
    plain = catalog(rates=some_rates())
    busy = tuple(Booking(plain.machines[0].code, TODAY, hours, firm=True) for hours in (60.0, 45.0))
    return replace(plain, workload=busy)


def far_trim():
    """The home plant of one machine has no router, so its parts move to the sister plant."""
    plain = house()
    first, *others = plain.plants
    small = router(table_length=5 * INCH, table_width=5 * INCH)
    return replace(plain, plants=(replace(first, trimmers=(small,)), *others))


def fitting_of(asked, shop):
    groups = judged(planned(asked, candidates(asked, shop, TODAY), shop, TODAY))
    return [[one for one in group if one.fits] for group in groups if group[0].fits]


@pytest.mark.parametrize("shop", (house(), far_trim()), ids=("at home", "trimmed at a sister plant"))
@pytest.mark.parametrize("asked", REQUESTS)
def test_a_cost_worked_out_beside_others_is_the_cost_worked_out_alone(asked, shop):
    priced = [one for one in best_of_groups(asked, shop, TODAY) if one.cost]

    assert priced
    assert any(one.judged.planned.plan.trim.moves for one in priced) == (shop == far_trim())
    assert all(one.cost == landed_cost(one.judged.planned, shop, TODAY) for one in priced)


@pytest.mark.parametrize("asked", REQUESTS)
def test_the_layout_that_is_kept_is_the_cheapest_for_the_programme_of_all_that_fit(asked):
    shop = house()
    kept = {id_of(one.judged): one for one in best_of_groups(asked, shop, TODAY) if one.cost}

    for group in fitting_of(asked, shop):
        every = [PricedCandidate(one, landed_cost(one.planned, shop, TODAY), len(group)) for one in group]
        cheapest = min(every, key=lambda one: programme_cost(one, shop))
        assert programme_cost(kept[id_of(group[0])], shop) == programme_cost(cheapest, shop)
        assert kept[id_of(group[0])].layouts_compared == len(group)


def id_of(judged_one):
    one = judged_one.planned.candidate
    return one.process, one.machine.code, one.polymer.name, one.offer.name


def test_releases_priced_apart_and_joined_are_those_priced_together():
    shop = house()
    one = fitting_of(request(SMALL), shop)[0][0].planned
    recalled = Recalled()
    last = landed_cost(one, shop, TODAY, (1200,), recalled)

    assert last.ranking_price == landed_cost(one, shop, TODAY).ranking_price
    assert joined(landed_cost(one, shop, TODAY, (100, 300), recalled), last) == landed_cost(one, shop, TODAY)


def answer_to(asked: PartRequest, shop: Catalog | None = None) -> Answer:
    return answered(Reading(asked, (), (), ()), shop or house(), TODAY)


def nobody_can() -> PartRequest:
    return request(part(length=400 * INCH, width=300 * INCH))


@pytest.fixture(scope="module")
def quote() -> Answer:
    return answer_to(request())


@pytest.fixture(scope="module")
def stored(quote) -> dict:
    """The answer as the database gives it back."""
    return unpacked(packed(to_plain(quote)))


@pytest.mark.parametrize("asked", REQUESTS)
def test_a_quote_is_studied_and_the_study_is_of_the_chosen_candidate(asked):
    found = answer_to(asked)
    planned_one = found.chosen.judged.planned

    assert found.decision == QUOTE
    assert found.study == forming_study(planned_one)
    assert min(place.wall for place in found.study.walls) == planned_one.plan.thinning.thinnest_wall
    assert found.study.cooling_curve[-1].time == pytest.approx(planned_one.plan.cooling.time)


def test_a_refusal_and_a_question_back_have_no_study():
    refused = answer_to(nobody_can())
    asking = answered(Reading(None, (Missing("part.length", "no price without it"),), (), ()), house(), TODAY)

    assert (refused.decision, refused.study, refused.hazards) == (NOT_A_FIT, None, ())
    assert (asking.decision, asking.study, asking.hazards) == (NEEDS_INFORMATION, None, ())


def alike(value: object, plain: object) -> bool:
    """Whether a plain JSON value holds what a dataclass tree holds, to the last digit."""
    if is_dataclass(value):
        return all(alike(getattr(value, field.name), plain[field.name]) for field in fields(value))
    if isinstance(value, tuple):
        return len(value) == len(plain) and all(alike(*pair) for pair in zip(value, plain, strict=True))
    return type(value) is type(plain) and value == plain


def test_a_stored_study_is_the_study(quote, stored):
    assert alike(quote.study, stored["study"])
    assert stored["study"] == json.loads(json.dumps(to_plain(quote.study), allow_nan=False))


def test_the_same_inquiry_has_the_same_study_to_the_last_digit(quote):
    assert canonical(to_plain(answer_to(request()).study)) == canonical(to_plain(quote.study))


def test_what_the_customer_gets_is_the_same_without_the_study_and_the_hazards(quote, stored):
    told = {"number": "Q-1", "revision": 1, "issued_on": TODAY, "valid_until": TODAY, "prepared_by": "Jo Marsh"}
    bare = to_plain(replace(quote, study=None, hazards=()))

    assert quote_document(stored, **told) == quote_document(bare, **told)
    # the command line is for the house: it tells the hazards, but has no room for the study
    assert to_contract(quote) == to_contract(replace(quote, study=None))


def test_no_number_of_the_study_is_in_what_the_customer_gets(quote, stored):
    told = {"number": "Q-1", "revision": 1, "issued_on": TODAY, "valid_until": TODAY, "prepared_by": "Jo Marsh"}
    shown = repr(quote_document(stored, **told))
    internal = [one.formula for one in quote.study.numbers]
    internal += [one.tool for one in quote.study.tools] + [one.method for one in quote.study.methods if not one.used]
    assert not [text for text in internal if text in shown]


@pytest.mark.parametrize("page", CUSTOMER_PAGES, ids=lambda page: page.name)
def test_no_page_of_the_customer_knows_the_word_study(page):
    text = page.read_text(encoding="utf-8")
    assert "study" not in text
    assert "hazard" not in text


def test_a_letter_is_written_of_an_answer_without_study():
    refused = to_plain(answer_to(nobody_can()))
    told = {"number": "L-1", "revision": 1, "issued_on": TODAY, "prepared_by": "Jo Marsh"}
    assert "study" not in letter_document(refused, **told)
