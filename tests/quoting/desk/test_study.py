"""The route page with what lies behind the route: charts, walls, tools, numbers that open, and the worksheet."""

from html import unescape
from io import BytesIO

import pytest
from django.urls import reverse
from pypdf import PdfReader

from quoting.contract import to_plain
from tests.quoting.documents.study_sample import study

from .conftest import NOT_A_FIT


@pytest.fixture
def estimator(client, people):
    client.force_login(people["estimator"])
    return client


@pytest.fixture
def studied(kept):
    """An inquiry whose stored answer holds a study."""
    inquiry = kept()
    inquiry.snapshot = inquiry.snapshot | {"study": to_plain(study(20.0))}
    inquiry.save()
    return inquiry


@pytest.fixture
def bare(kept):
    """An inquiry whose stored answer is from before there were studies."""
    inquiry = kept()
    inquiry.snapshot = {key: one for key, one in inquiry.snapshot.items() if key != "study"}
    inquiry.save()
    return inquiry


def route_page(client, inquiry) -> str:
    return unescape(client.get(reverse("work", args=[inquiry.number])).content.decode())


def test_the_route_page_shows_the_charts_with_their_words(estimator, studied):
    page = route_page(estimator, studied)
    for title in (
        "Sheet temperature over time", "Temperature through the thickness", "Time at each station",
        "Predicted walls on a half section of the part", "Cooling of the wall that governs",
    ):  # fmt: skip
        assert page.count(f"<title>{title}</title>") == 1, title


def test_methods_tools_and_sags_stand_in_tables_with_the_used_one_marked(estimator, studied):
    page = route_page(estimator, studied)
    assert page.count("▶ used") == 2
    assert "never cool enough" in page
    assert "The machine has no air cushion under the sheet" in page
    assert "not possible" in page


def test_each_number_opens_to_formula_inputs_and_source(estimator, studied):
    page = route_page(estimator, studied)
    for one in study().numbers:
        assert one.formula in page
        assert one.source in page
        assert all(given.source in page for given in one.inputs)


def test_an_older_answer_shows_its_plan_without_charts(estimator, bare):
    page = route_page(estimator, bare)
    assert "Heating and sag" in page
    assert "Thinnest wall" in page
    assert "Sheet temperature over time" not in page
    assert "Each number opens" not in page


def test_a_candidate_that_was_not_chosen_shows_no_study_of_another(estimator, studied):
    chosen = studied.snapshot["chosen"]["judged"]["planned"]["candidate"]
    shown = {}
    for place, priced in enumerate(studied.snapshot["candidates"]):
        is_chosen = priced["judged"]["planned"]["candidate"] == chosen
        if is_chosen not in shown:
            address = reverse("candidate", args=[studied.number, place])
            shown[is_chosen] = "Sheet temperature over time" in estimator.get(address).content.decode()
    assert shown == {True: True, False: False}


def test_the_worksheet_opens_from_the_route_page_as_a_pdf_that_is_not_kept(estimator, studied):
    address = reverse("worksheet", args=[studied.number])
    assert f'href="{address}"' in route_page(estimator, studied)

    response = estimator.get(address)

    assert response["Content-Type"] == "application/pdf"
    assert "no-store" in response["Cache-Control"]
    assert f"{studied.number}-forming-worksheet-{studied.version}.pdf" in response["Content-Disposition"]
    assert studied.number in PdfReader(BytesIO(response.content)).pages[0].extract_text()


@pytest.mark.parametrize(
    ("who", "status"), [("rep", 403), ("other_rep", 403), ("estimator", 200), ("manager", 200), ("nobody", 403)]
)
def test_the_worksheet_opens_only_for_those_who_may_see_cost(client, people, bare, who, status):
    client.force_login(people[who])
    assert client.get(reverse("worksheet", args=[bare.number])).status_code == status


def test_a_part_that_does_not_fit_has_no_worksheet(estimator, kept):
    inquiry = kept(NOT_A_FIT)
    assert estimator.get(reverse("worksheet", args=[inquiry.number])).status_code == 404
    assert "Forming worksheet" not in route_page(estimator, inquiry)


def test_the_reps_page_shows_nothing_of_the_study(client, people, studied):
    client.force_login(people["rep"])
    page = client.get(reverse("inquiry", args=[studied.number])).content.decode()
    assert "Sheet temperature" not in page
    assert "Biot" not in page
