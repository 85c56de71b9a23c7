"""Cost steps, the price by release size and the pallet as they are drawn, and who gets to see what."""

import re
from decimal import Decimal
from math import log10
from xml.etree import ElementTree

import pytest
from django.template.loader import render_to_string

from quoting.answering import answered
from quoting.contract import to_plain
from quoting.documents import price_shown
from quoting.documents.chart_shapes import LOOKS, WIDTH
from quoting.documents.pallet_drawing import pallet_drawing
from quoting.documents.plant_comparison import plant_rows
from quoting.documents.price_charts import price_curve, waterfall
from quoting.documents.price_shown import advice_for_customer, advice_for_rep, advice_shown
from quoting.documents.quote import quote_document
from quoting.documents.worksheet import worksheet_document
from quoting.intake.part import Secondary
from quoting.intake.reading_result import Reading
from tests.quoting.costing.shop import some_rates
from tests.quoting.routing.routing_catalog import TODAY, catalog, request

COST_WORDS = ("margin", "overhead", "regrind", "handling", "resin_price", "sheet_only", "hour")


def answer(**changes):
    asked = request(colour="stock", secondary=(Secondary("insert", 6),), **changes)
    return answered(Reading(asked, (), (), ()), catalog(rates=some_rates()), TODAY)


@pytest.fixture(scope="module")
def snapshot() -> dict:
    return to_plain(answer(target_price=Decimal("30.00")))


@pytest.fixture(scope="module")
def cost(snapshot) -> dict:
    return snapshot["chosen"]["cost"]


def boxes(chart: dict, *looks: str) -> list[dict]:
    return [one for one in chart["shapes"] if one["kind"] == "box" and one["look"] in [LOOKS[look] for look in looks]]


def texts(chart: dict) -> list[str]:
    return [one["words"] for one in chart["shapes"] if one["kind"] == "text"]


def of_release(cost: dict, number: int) -> dict:
    one = cost["breaks"][number]
    return waterfall([line for line in cost["lines"] if line["quantity"] == one["quantity"]], one)


@pytest.mark.parametrize("number", [0, 1, 2])
def test_steps_begin_where_the_last_one_ended_and_come_to_the_landed_price(cost, number):
    chart, one = of_release(cost, number), cost["breaks"][number]
    at = 8.0
    for bar in boxes(chart, "bar", "credit"):
        left, right = float(bar["x"]), float(bar["x"]) + float(bar["width"])
        start, end = (right, left) if bar["look"] is LOOKS["credit"] else (left, right)
        assert start == pytest.approx(at, abs=0.5)
        at = end
    unit, landed = boxes(chart, "pace")
    assert at == pytest.approx(float(landed["x"]) + float(landed["width"]), abs=0.5)
    ratio = float(unit["width"]) / float(landed["width"])
    assert ratio == pytest.approx(float(one["unit_price"]) / float(one["landed_unit_price"]), abs=0.002)


def test_a_credit_steps_back_and_says_so(cost):
    chart = of_release(cost, 2)
    assert len(boxes(chart, "credit")) == 1
    assert any(words.startswith("regrind credit −$") for words in texts(chart))


def test_the_curve_marks_each_size_asked_for_at_its_price(snapshot):
    release = snapshot["advice"]["release"]
    chart = price_curve(release)
    circles = [one for one in chart["shapes"] if one["kind"] == "dot" and one["look"] is LOOKS["dot"]]
    assert len(circles) == len(release["asked"])
    # equal ratios of size are equal distances: 100 to 300 against 300 to 1,200, by logarithms
    first, second, third = (float(one["x"]) for one in circles)
    assert (second - first) / (third - second) == pytest.approx(log10(3) / log10(4), rel=0.01)
    downs = [float(one["y"]) for one in circles]
    assert downs == sorted(downs)  # cheaper is lower
    assert f"cheapest in a year: {release['best']['quantity']:,}" in texts(chart)


def test_the_pallet_is_drawn_to_scale_under_its_limit(snapshot):
    load = snapshot["advice"]["pallet"]
    chart = pallet_drawing(load)
    deck, top = boxes(chart, "wall")
    scale = float(deck["width"]) / load["length"]
    assert float(deck["height"]) / scale == pytest.approx(load["deck"], rel=0.02)
    assert float(top["height"]) / scale == pytest.approx(load["width"], rel=0.02)
    limit = next(one for one in chart["shapes"] if one["kind"] == "path" and one["look"] is LOOKS["scorch"])
    line = float(re.match(r"M[\d.-]+ ([\d.]+)", limit["d"])[1])
    floor = float(deck["y"]) + float(deck["height"])
    assert (floor - line) / scale == pytest.approx(load["height_limit"], rel=0.02)
    assert len(boxes(chart, "face")) >= load["per_layer"]


def tiers(load: dict) -> dict:
    return load | {"nested": False, "pitch": load["part_height"] + 0.001, "per_column": 6}


def test_tiers_are_drawn_one_by_one(snapshot):
    load = tiers(snapshot["advice"]["pallet"])
    assert len(boxes(pallet_drawing(load), "face")) == 6 * min(load["along"], load["per_layer"]) + load["per_layer"]


def all_charts(snapshot, cost) -> list[dict]:
    load = snapshot["advice"]["pallet"]
    return [
        *(of_release(cost, number) for number in range(3)), price_curve(snapshot["advice"]["release"]),
        pallet_drawing(load), pallet_drawing(tiers(load)),
        price_curve(to_plain(answer(annual=60, releases=(60,)).advice.release)),
    ]  # fmt: skip


def test_every_chart_is_one_valid_picture_with_words_and_nothing_outside(snapshot, cost):
    for chart in all_charts(snapshot, cost):
        tree = ElementTree.fromstring(render_to_string("documents/chart_svg.html", {"chart": chart}))  # noqa: S314
        assert chart["told"] in tree.attrib["aria-label"]
        high = float(chart["height"])
        for one in chart["shapes"]:
            if one["kind"] == "box":
                assert float(one["x"]) >= -0.5 and float(one["x"]) + float(one["width"]) <= WIDTH + 0.5
                assert float(one["y"]) >= -0.5 and float(one["y"]) + float(one["height"]) <= high + 0.5
            elif one["kind"] == "text":
                assert 0 <= float(one["y"]) <= high


def test_plants_are_compared_by_their_best_route_and_one_that_cannot_says_why(snapshot):
    rows = plant_rows(snapshot)
    assert [row["chosen"] for row in rows].count(True) == 1
    assert rows[0]["chosen"]
    assert {row["plant"].partition("(")[2].rstrip(")") for row in rows} == {
        one["judged"]["planned"]["candidate"]["plant"]["code"] for one in snapshot["candidates"]
    }
    code = rows[-1]["plant"].partition("(")[2].rstrip(")")
    bare = [
        one | {"cost": None} if one["judged"]["planned"]["candidate"]["plant"]["code"] == code else one
        for one in snapshot["candidates"]
    ]
    refused = plant_rows(snapshot | {"candidates": bare})[-1]
    assert refused["why"]
    assert "landed" not in refused


def test_the_best_route_of_another_plant_is_the_cheapest_of_its_candidates(snapshot):
    row = plant_rows(snapshot)[1]
    code = row["plant"].partition("(")[2].rstrip(")")
    prices = [
        Decimal(one["cost"]["breaks"][-1]["landed_unit_price"])
        for one in snapshot["candidates"]
        if one["cost"] and one["judged"]["planned"]["candidate"]["plant"]["code"] == code
    ]
    assert row["landed"] == f"${min(prices):,.2f}"


def test_customer_and_rep_get_prices_and_no_word_of_cost(snapshot):
    for shown in (advice_for_customer(snapshot["advice"]), advice_for_rep(snapshot["advice"])):
        said = repr(shown).lower()
        assert not [word for word in COST_WORDS if word in said]
        assert shown["curve"]["name"] == "price-curve"


def test_the_customer_reads_why_a_part_load_is_packed_dearer(snapshot):
    (line,) = advice_for_customer(snapshot["advice"])["packs"]
    assert "part load (LTL)" in line
    assert "Foam between the parts" in line
    assert f"${snapshot['advice']['ltl_packs'][0]['in_price']}" in line


def test_a_release_that_no_other_beats_by_much_is_called_cheapest_of_those_asked(snapshot):
    release = snapshot["advice"]["release"]
    assert "no other size saves" in price_shown.release_shown(release | {"saving": "1.00"})["said"]
    assert "$5,000 a year less" in price_shown.release_shown(release | {"saving": "5000.00"})["said"]


def test_an_answer_stored_before_there_was_advice_shows_and_prints_none(snapshot):
    old = {key: one for key, one in snapshot.items() if key != "advice"}
    told = {"number": "Q-1", "revision": 1, "issued_on": TODAY, "valid_until": TODAY, "prepared_by": "Jo Marsh"}
    assert advice_shown(old) is None
    assert advice_for_rep(old.get("advice")) is None
    context = quote_document(old, **told)
    assert context["advice"] == {}
    assert "more than 3 %" in dict(context["terms"])["Sheet price"]
    made = worksheet_document(old, number="I-1", version=1, printed_on=TODAY, prepared_by="Jo Marsh")
    assert made["pallet"] is None


def test_the_term_on_sheet_points_to_the_clause_where_there_is_one(snapshot):
    told = {"number": "Q-1", "revision": 1, "issued_on": TODAY, "valid_until": TODAY, "prepared_by": "Jo Marsh"}
    context = quote_document(snapshot, **told)
    assert "condition on the resin index" in dict(context["terms"])["Sheet price"]
    assert any("subject to contract" in what for what, _ in context["conditions"])


def test_risks_are_told_with_their_reason_to_the_house(cost):
    risk = {"name": "custom colour", "adder": "0.01", "why": {"text": "lots differ", "figures": []}, "key": "k"}
    assert price_shown.risk_rows(cost | {"risks": [risk]}) == [
        {"name": "custom colour", "adder": "1.0 %", "why": "Lots differ."}
    ]
    assert price_shown.risk_rows({key: one for key, one in cost.items() if key != "risks"}) == []
