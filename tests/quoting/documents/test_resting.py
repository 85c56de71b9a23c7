"""A customer reads on what a limit rests in words that are honest and proper; how weak a page is stays in the house."""

import json
import re
from datetime import timedelta
from functools import cache

import pytest

from quoting.answering import answered
from quoting.contract import to_plain
from quoting.documents.letter import letter_document
from quoting.documents.quote import quote_document
from quoting.documents.resting import RESTS_ON, for_customer, rests_on
from quoting.documents.worksheet import worksheet_document
from quoting.intake.reading import read_inquiry
from quoting.routing.referral import WEIGHT
from quoting.routing.rules.detail import TEXTURE_BASIS
from tests.quoting.documents.test_pdf import printed_letter, text_of
from tests.quoting.repricing.demo import FIXTURES, ON, house, parsed

INSIDE = re.compile(r"from memory|unverified|no source\b(?! of ignition)|\bweak\b|aggregator", re.IGNORECASE)
QUOTES = ("02-textured-console", "04-pump-guard-for-steel")
LETTERS = ("10-texture-without-draft", "18-closed-water-tank")
WHO = {"number": "Q-7", "prepared_by": "Jo Marsh"}


@cache
def stored(name: str) -> str:
    names = tuple(polymer.name for polymer in house().polymers)
    raw = parsed(f"demo/inquiries/{name}.json")
    reading = read_inquiry(raw, on=ON, polymer_names=names, base_dir=FIXTURES / "demo/inquiries")
    return json.dumps(to_plain(answered(reading, house(), ON)))


def letter(name: str) -> dict:
    return letter_document(json.loads(stored(name)), revision=1, issued_on=ON, **WHO)


def test_every_rule_that_may_decide_tells_a_customer_on_what_its_limit_rests():
    assert set(RESTS_ON) == set(WEIGHT)
    assert not [said for said in RESTS_ON.values() if INSIDE.search(said) or '"' in said or "{" in said]


def test_the_letter_on_texture_names_a_rule_of_thumb_and_the_worksheet_its_weak_page():
    told = letter("10-texture-without-draft")

    assert (told["rule"], told["basis"]) == ("draft for texture", rests_on("draft for texture"))
    answer = json.loads(stored("10-texture-without-draft"))
    assert answer["deciding"]["basis"] == TEXTURE_BASIS  # for the estimator it stays as it is
    said = text_of(printed_letter(answer))
    assert "rule of thumb for texture and draft; the texturer decides" in said
    assert not INSIDE.search(said)


def test_a_letter_of_a_rule_that_is_no_longer_there_leaves_out_on_what_it_rested():
    answer = json.loads(stored("10-texture-without-draft"))
    answer["deciding"]["rule"] = "a rule of old"

    assert "Limit rests on" not in text_of(printed_letter(answer))


@pytest.mark.parametrize("name", LETTERS)
def test_nothing_in_a_letter_speaks_of_our_weak_sources(name):
    assert INSIDE.findall(repr(letter(name))) == []


@pytest.mark.parametrize("name", QUOTES)
def test_nothing_in_a_quote_speaks_of_our_weak_sources(name):
    until = ON + timedelta(days=30)
    context = quote_document(json.loads(stored(name)), revision=1, issued_on=ON, valid_until=until, **WHO)

    assert INSIDE.findall(repr(context)) == []
    if name == "04-pump-guard-for-steel":
        assert "(common practice in the trade)" in " ".join(context["metal"]["assumptions"])


@pytest.mark.parametrize("name", [*QUOTES, *LETTERS])
def test_no_reason_remedy_or_condition_speaks_of_our_weak_sources(name):
    verdicts = [one for priced in json.loads(stored(name))["candidates"] for one in priced["judged"]["verdicts"]]
    said = {one[part]["text"] for one in verdicts for part in ("reason", "remedy", "condition") if one[part]}

    assert said and not [text for text in said if INSIDE.search(text)]


def test_the_worksheet_keeps_the_source_of_every_limit():
    answer = json.loads(stored("02-textured-console"))
    rows = worksheet_document(answer, number="Q-7", version=1, printed_on=ON, prepared_by="Jo Marsh")["verdicts"]

    assert TEXTURE_BASIS in {row["basis"] for row in rows}


def test_words_without_a_mark_of_the_house_stay_as_they_are():
    assert for_customer("seams that leak are those of the skin") == "seams that leak are those of the skin"
