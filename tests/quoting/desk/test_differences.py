"""What changed since an answer: in the forms' names and the reader's units, for approvals and letters alike."""

import re

import pytest
from django.urls import reverse

from machines.models import Machine
from quoting.contract import to_plain
from quoting.desk.differences_shown import kind_of, line_of
from quoting.quotes import master_data, models, selectors, services
from quoting.quotes.differences import BENEATH, DataLine, answer_lines, data_lines

from .conftest import NOT_A_FIT, answer_of

# Columns without a unit: degrees on the globe, people and shifts, plain factors.
BARE = {"latitude", "longitude", "least", "most"}


@pytest.fixture
def estimator(client, people):
    client.force_login(people["estimator"])
    return client


def test_every_kept_figure_has_its_kind_so_that_it_is_shown_with_its_unit(loaded, db):
    plain = to_plain(master_data.behind(selectors.catalog(services.today())))
    lines = data_lines({}, plain)

    bare = {line.keys[-1] for line in lines if isinstance(line.new, float) and not kind_of(line)}
    rates = {line.keys[-1] for line in lines if line.section == "Rates" and not kind_of(line)}

    assert len(lines) > 500
    assert bare <= BARE
    assert rates <= BARE | {"ltl_breaks"}
    assert all(line_of(line).what for line in lines)


# Values worked out by hand: 1 in = 0.0254 m, 1 lb = 0.45359237 kg, degF = K x 9/5 - 459.67 (NIST SP 811).
@pytest.mark.parametrize(
    ("line", "what", "new"),
    [
        (("Machines", ("T1",), ("oven", "clearance_below"), None, 0.3048),
         "T1: oven, clearance below", "12.00 in (305 mm)"),
        (("Machines", ("T1",), ("hour_rate",), None, "95.5"), "T1: hour rate", "$95.50"),
        (("Machines", ("T1",), ("oven", "upper", "highest_temperature"), None, 922.0388),
         "T1: oven, upper, highest temperature", "1200 °F (649 °C)"),
        (("Plants", ("P1", "R1"), ("trimmers", "twin_table"), None, True), "P1, R1: trimmers, twin table", "yes"),
        (("Polymers", ("ABS", "flame_v0"), ("needs", "expires"), None, "2027-01-31"),
         "ABS, flame class V-0: needs, expires", "31 Jan 2027"),
        (("Sheet offers", ("ABS black", "1"), ("tiers", "from_mass"), None, 453.59237),
         "ABS black, 1: tiers, from mass", "1000 lb (454 kg)"),
        (("Rates", (), ("price", "manager_limit"), None, "1000000"),
         "Price: manager limit (price.manager_limit)", "$1,000,000.00"),
        (("Rates", (), ("trim", "hole_time"), None, "2.5"), "Trim: hole time (trim.hole_time)", "2.5 s"),
        (("Rates", ("plug",), ("tooling", "reference_area"), None, 0.09290304),
         "Tooling, plug assist: reference area (tooling.plug.reference_area)", "1.00 ft² (0.093 m²)"),
        (("Rates", (), ("freight", "diesel_per_gallon"), None, "4.1234"),
         "Freight: diesel per gallon (freight.diesel_per_gallon)", "$4.1234"),
        (("Booked work", ("T1", "2026-11-23"), ("hours",), None, 10.0), "T1, week of 23 Nov 2026: hours", "10.0 h"),
    ],
)  # fmt: skip
def test_a_value_is_written_as_its_form_writes_it(line, what, new):
    shown = line_of(DataLine(*line))
    assert (shown.what, shown.old, shown.new) == (what, "–", new)


def test_a_change_that_rounding_would_hide_shows_all_its_digits():
    shown = line_of(DataLine("Machines", ("T1",), ("platen_length",), 1.8288, 1.82880001))
    assert shown.old != shown.new
    assert "1.82880001" in shown.new


def test_a_letter_is_not_written_on_an_answer_that_today_would_be_another_and_the_page_says_what_changed(
    estimator, kept, people
):
    inquiry = services.inquiry_answer(inquiry=kept(NOT_A_FIT), on=services.today(), by=people["estimator"])
    machine = Machine.objects.order_by("code").first()
    Machine.objects.filter(pk=machine.pk).update(load_time=machine.load_time + 30.0)
    data = {"reason": "too little draft", "version": inquiry.version}

    page = estimator.post(reverse("decline", args=[inquiry.number]), data)

    text = re.sub(r"<[^>]+>", " ", page.content.decode())
    assert page.status_code == 409
    assert "answer it again first" in text
    assert f"{machine.code}: load time" in text
    assert f"{machine.load_time + 30.0:.0f}" in text
    assert models.Quote.objects.count() == 0
    estimator.post(reverse("answer-again", args=[inquiry.number]), {"version": inquiry.version})
    inquiry.refresh_from_db()
    estimator.post(reverse("decline", args=[inquiry.number]), data | {"version": inquiry.version})
    assert models.Quote.objects.get().kind == models.LETTER


def test_of_two_letters_the_limit_that_moved_is_named():
    old = answer_of_not_a_fit()
    new = {**old, "candidates": [with_limit(one, 0.123) for one in old["candidates"]]}

    lines = answer_lines(old, new)

    assert lines
    assert all("against" in one.new for one in lines)
    assert answer_lines(old, old)[0].what == BENEATH


@pytest.fixture(autouse=True)
def _catalog(loaded, db):
    """Answers need plants and rates."""


def answer_of_not_a_fit() -> dict:
    return answer_of(NOT_A_FIT).snapshot


def with_limit(candidate: dict, limit: float) -> dict:
    verdicts = [one | {"limit": limit} if one["status"] == "fails" else one for one in candidate["judged"]["verdicts"]]
    return candidate | {"judged": candidate["judged"] | {"verdicts": verdicts}}
