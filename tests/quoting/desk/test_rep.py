"""The sales rep: typing, errors, the answer without cost, what is missing, where else it belongs."""

import pytest
from django.urls import reverse

from quoting.desk import inquiry_lists
from quoting.desk.inquiry_text import typed_from
from quoting.documents.plant_comparison import AT_THE_PRESS
from quoting.quotes import models

from .conftest import INCOMPLETE, NOT_A_FIT, QUOTED, typed

COST_WORDS = ("margin", "overhead", "regrind credit", "material handling", "rounding to the cent", "setup_per_part")


@pytest.fixture
def rep(client, people):
    client.force_login(people["rep"])
    return client


def form_data(name: str = QUOTED, **changes: object) -> dict:
    return {key: value for key, value in typed_from(typed(name)).items() if value} | changes


def test_saving_answers_at_once(rep):
    response = rep.post(reverse("inquiry-log"), form_data(), follow=True)

    assert response.status_code == 200
    inquiry = models.Inquiry.objects.get()
    assert inquiry.typed == typed(QUOTED)
    assert inquiry.state == models.ANSWERED
    assert "We can make it" in response.content.decode()


def test_a_part_over_a_male_tool_is_said_to_be_formed_so_and_on_the_form_again(rep):
    page = rep.post(reverse("inquiry-log"), form_data(part_tool_side="male"), follow=True).content.decode()
    inquiry = models.Inquiry.objects.get()
    again = rep.get(reverse("inquiry-change", args=[inquiry.number])).content.decode()

    assert inquiry.typed["part"]["tool_side"] == "male"
    assert "over a male tool</dd>" in page
    assert '<option value="male" selected>' in again


def test_a_wrong_size_is_shown_beside_its_field_and_in_the_linked_summary(rep):
    page = rep.post(reverse("inquiry-log"), form_data(part_length="48")).content.decode()

    assert page.count("Write a length with its unit") == 2
    assert 'href="#id_part_length"' in page
    assert 'id="id_part_length"' in page
    assert models.Inquiry.objects.count() == 0


def test_everything_typed_stays_after_an_error(rep):
    data = form_data(part_length="48", material_needs=["impact"], secondary_insert="six", part_show_side="tool")

    page = rep.post(reverse("inquiry-log"), data).content.decode()

    for text in ('value="48"', 'value="six"', f'value="{data["customer_company"]}"', f'value="{data["part_width"]}"'):
        assert text in page
    assert '<option value="tool" selected>' in page
    assert page.count("checked") >= 1


def test_a_thousands_comma_in_a_release_is_asked_about_not_split(rep):
    response = rep.post(reverse("inquiry-log"), form_data(quantities_releases="100, 1,200"))

    assert response.status_code == 422
    assert "1,200" in response.content.decode()
    assert models.Inquiry.objects.count() == 0


@pytest.mark.parametrize("name", [QUOTED, NOT_A_FIT])
def test_the_rep_never_sees_a_cost_line(rep, kept, name):
    inquiry = kept(name)
    for line in (inquiry.snapshot["chosen"] or {"cost": {"lines": []}})["cost"]["lines"]:
        line["basis"] = "SENTINEL-BASIS"
        if line["name"] not in AT_THE_PRESS:  # which the comparison of plants looks for
            line["name"] = "SENTINEL-NAME"
    inquiry.save()

    page = rep.get(reverse("inquiry", args=[inquiry.number])).content.decode().lower()

    assert "sentinel" not in page
    assert not [word for word in COST_WORDS if word in page]


def test_the_rep_sees_price_breaks_and_draft_standing(rep, kept):
    inquiry = kept()
    first = inquiry.snapshot["chosen"]["cost"]["breaks"][0]

    page = rep.get(reverse("inquiry", args=[inquiry.number])).content.decode()

    assert f"${first['landed_unit_price']}" in page
    assert "draft, not yet approved" in page


def test_what_is_missing_comes_with_questions_ready_to_send(rep, kept):
    inquiry = kept(INCOMPLETE)

    page = rep.get(reverse("inquiry", args=[inquiry.number])).content.decode()

    assert "What is missing" in page
    assert "<textarea" in page
    assert f"mailto:{inquiry.typed['customer']['email']}" in page
    assert "Complete the inquiry" in page


def test_a_refusal_names_measured_limit_remedy_and_referral(rep, kept):
    inquiry = kept(NOT_A_FIT)
    page = rep.get(reverse("inquiry", args=[inquiry.number])).content.decode()

    assert "What stands in the way" in page
    assert "1.0 deg" in page  # the draft typed
    assert "6.0 deg" in page  # the draft its texture needs
    assert f"instead: {inquiry.snapshot['referral']['process'].replace('_', ' ')}" in page


def test_typed_sizes_are_echoed_in_the_other_system(rep, kept):
    page = rep.get(reverse("inquiry", args=[kept().number])).content.decode()

    assert "40.0 in (1016 mm)" in page


def test_a_change_made_by_another_is_told_and_nothing_is_lost(rep, kept):
    inquiry = kept()

    response = rep.post(
        reverse("inquiry-change", args=[inquiry.number]), form_data(part_name="new name", version=inquiry.version + 1)
    )

    assert response.status_code == 422
    page = response.content.decode()
    assert "changed while this page was open" in page
    assert 'value="new name"' in page
    assert f"Stands there now: {inquiry.part_name}" in page
    assert page.count("Stands there now") == 2  # beside the one field that differs, and in the summary above
    assert models.Inquiry.objects.get().part_name != "new name"


def test_the_list_finds_by_company_and_state(rep, kept):
    kept(), kept(INCOMPLETE)
    company = typed(QUOTED)["customer"]["company"]

    rows = rep.get(reverse("inquiries"), {"search": company}).context["page"].object_list
    waiting = rep.get(reverse("inquiries"), {"state": models.NEEDS_INFORMATION}).context["page"].object_list

    assert [row.customer__company for row in rows] == [company]
    assert [row.state for row in waiting] == [models.NEEDS_INFORMATION]


def test_an_empty_list_teaches_the_first_step(rep):
    page = rep.get(reverse("inquiries")).content.decode()

    assert "No inquiries yet" in page
    assert "Log your first inquiry" in page


def test_the_list_needs_few_queries_however_long(rep, kept, django_assert_max_num_queries):
    for _ in range(5):
        kept(INCOMPLETE)
    with django_assert_max_num_queries(5):
        rep.get(reverse("inquiries"))
    with django_assert_max_num_queries(4):  # nothing has changed: session, person, whether anything has, rows
        rep.get(reverse("inquiries"))
    with django_assert_max_num_queries(4):  # so few that they need no counting
        rep.get(reverse("inquiries"), {"search": "kiosk"})


def test_hits_of_a_search_are_counted_also_beyond_its_first_page(rep, kept, monkeypatch):
    for _ in range(3):
        kept(INCOMPLETE)
    monkeypatch.setattr(inquiry_lists, "PAGE_SIZE", 2)
    company = typed(INCOMPLETE)["customer"]["company"]

    first, second = (rep.get(reverse("inquiries"), {"search": company, "page": one}) for one in (1, 2))

    assert [len(page.context["page"].object_list) for page in (first, second)] == [2, 1]
    assert "3 inquiries, page 1 of 2" in first.content.decode()
    assert "3 inquiries, page 2 of 2" in second.content.decode()


def test_what_was_typed_in_place_of_a_part_makes_no_list_fail(rep, kept):
    inquiry = kept(INCOMPLETE)
    for part in ("text", ["list"], {"name": 5}, {"name": {"a": 1}}, None):
        inquiry.typed = inquiry.typed | {"part": part}
        inquiry.save()
        assert '<td class="wide">–<' in rep.get(reverse("inquiries")).content.decode(), part


def test_text_typed_by_a_person_is_escaped(rep, kept):
    inquiry = kept(INCOMPLETE)
    inquiry.typed = inquiry.typed | {"part": {"name": "<script>alert(1)</script>"}}
    inquiry.save()

    assert "<script" not in rep.get(reverse("inquiry", args=[inquiry.number])).content.decode()


def test_the_lead_time_of_every_release_is_drawn_step_by_step(rep, kept):
    inquiry = kept()
    breaks = inquiry.snapshot["chosen"]["cost"]["breaks"]

    page = rep.get(reverse("inquiry", args=[inquiry.number])).content.decode()

    section = page[page.index("Lead time by steps") : page.index("The inquiry as typed")]
    assert section.count("<svg") == len(breaks)
    for step in ("Tool made or moved", "Sheet from the mill", "Forming", "Trimming", "On the road to the customer"):
        assert step in section
    assert "sets the date" in section


@pytest.mark.parametrize(("name", "words"), [(NOT_A_FIT, "No lead time is given"), (INCOMPLETE, "Nor can a lead time")])
def test_an_answer_without_a_price_says_why_it_has_no_date(rep, kept, name, words):
    assert words in rep.get(reverse("inquiry", args=[kept(name).number])).content.decode()
