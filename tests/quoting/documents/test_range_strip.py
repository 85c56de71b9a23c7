"""The range of error as strips: what is drawn, what is said, and that the shop's worksheet shows no dollar of it."""

from io import BytesIO

import pytest
from pypdf import PdfReader

from quoting.contract import to_plain
from quoting.costing.cost_range import Band, CostRange, Effect, RangeInput, ReleaseRange, cost_range
from quoting.costing.landed import landed_cost
from quoting.documents.pdf import render_quote, render_worksheet
from quoting.documents.range_strip import range_shown, range_strip
from tests.quoting.costing.shop import TODAY, some_catalog, some_planned
from tests.quoting.costing.test_cost_range import ALL, spread
from tests.quoting.documents.conftest import ISSUED, SECRET, VALID


@pytest.fixture(scope="module")
def found() -> dict:
    planned, catalog = some_planned(), some_catalog()
    return to_plain(cost_range(planned, landed_cost(planned, catalog, TODAY), spread(catalog, *ALL)))


def moved(found: dict, **landed: str) -> dict:
    first, *others = found["releases"]
    return found | {"releases": [first | {"landed": first["landed"] | landed}, *others]}


def words(chart: dict) -> list[str]:
    return [one["words"] for one in chart["shapes"] if one["kind"] == "text"]


def test_each_release_has_a_bar_with_its_amounts_and_a_dot_at_the_estimate(found):
    chart = range_strip(found, in_dollars=True)
    kinds = [one["kind"] for one in chart["shapes"]]
    assert kinds.count("box") == kinds.count("dot") == len(found["releases"])
    for one in found["releases"]:
        for key in ("low", "likely", "high"):
            assert any(f"${one['landed'][key]}" in said for said in words(chart))
            assert one["landed"][key] in chart["told"]


def test_the_bar_is_to_scale(found):
    chart = range_strip(moved(found, low="90.00", likely="100.00", high="120.00"), in_dollars=True)
    bar = next(one for one in chart["shapes"] if one["kind"] == "box")
    dot = next(one for one in chart["shapes"] if one["kind"] == "dot")
    left, width = float(bar["x"]), float(bar["width"])
    assert (float(dot["x"]) - left) / width == pytest.approx(10 / 30, abs=0.01)


@pytest.mark.parametrize(
    "amounts", [("90.00", "100.00", "120.00"), ("1.00", "100.00", "900.00"), ("5.00", "5.00", "5.00")]
)
def test_everything_stays_inside_the_drawing(found, amounts):
    chart = range_strip(moved(found, **dict(zip(("low", "likely", "high"), amounts, strict=True))), in_dollars=True)
    for one in chart["shapes"]:
        if one["kind"] in ("box", "dot", "text"):
            assert 0 <= float(one["x"]) <= float(chart["width"])
            assert 0 <= float(one["y"]) <= float(chart["height"])


def test_in_shares_no_dollar_is_written(found):
    chart = range_strip(found, in_dollars=False)
    assert "$" not in chart["told"] + "".join(words(chart))
    assert any("%" in said for said in words(chart))


def test_the_three_inputs_named_are_those_with_the_largest_shares(found):
    for one in range_shown(found)["releases"]:
        shares = [effect["share"] for effect in one["effects"]]
        assert shares == sorted(shares, reverse=True)
        assert one["first"] == one["effects"][:3]


def test_an_input_that_moves_nothing_is_not_named():
    still = Effect("diesel", 0.0, 10, 10)
    release = ReleaseRange(5, Band(8, 8, 8), Band(10, 10, 10), Band(0, 0, 0), 10, 0.0, (still,))
    given = RangeInput("diesel", "price of diesel", "fuel", 0.9, 1.1, "assumption")
    plain = to_plain(CostRange((release,), (given,), (), "triangular", 4096, 1, 10, 90, ()))
    assert range_shown(plain)["releases"][0]["first"] == []


@pytest.mark.parametrize(
    ("landed", "word"),
    [({"likely": "1.00"}, "too low"), ({"likely": "9999.00"}, "too high")],
)
def test_an_estimate_outside_its_range_is_called_so(found, landed, word):
    assert word in range_shown(moved(found, **landed))["releases"][0]["outside"]
    assert range_shown(found)["releases"][0]["outside"] == ""


def test_without_a_range_nothing_is_shown():
    assert range_shown(None) is None


def test_the_worksheet_prints_the_range_in_shares_and_no_price(quoted, found):
    quoted["range"] = found
    read = PdfReader(
        BytesIO(render_worksheet(quoted, number="I-1", version=1, printed_on=ISSUED, prepared_by="Jo Marsh"))
    )
    said = " ".join(" ".join(page.extract_text() for page in read.pages).split())
    assert "Range of error" in said
    assert "of the estimate" in said
    for word in (SECRET, "margin", "overhead", "$"):
        assert word not in said, word


def test_the_customers_quote_is_byte_for_byte_the_same_with_and_without_a_range(quoted, found):
    told = {"number": "Q-1", "revision": 1, "issued_on": ISSUED, "valid_until": VALID, "prepared_by": "Jo Marsh"}
    assert render_quote(quoted | {"range": found}, **told) == render_quote(quoted | {"range": None}, **told)
