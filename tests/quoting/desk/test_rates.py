"""The pages of rates: in force on a day, history, files, and an import looked through before it is confirmed."""

import re
from datetime import date

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import NoReverseMatch, reverse

from quoting.desk import views_rates
from quoting.quotes import models, services, steps
from quoting.quotes.rates import imports
from quoting.quotes.reviewing import KEYS
from tests.quoting.quotes.rate_files import as_csv

THEN = "2026-12-15"
ROW = ("price.overhead", "13 %", "", "board of December")
PAGES = ("rates", "rates-imports")
FOR_EDITORS = ("rates-import",)


@pytest.fixture
def manager(client, people):
    client.force_login(people["manager"])
    return client


def send(client, content, table="overhead", effective=THEN, name="rates.csv"):
    data = {"table": table, "effective": effective, "file": SimpleUploadedFile(name, content)}
    return client.post(reverse("rates-import"), data)


def confirm(client, address, rows="all"):
    page = client.get(address).content.decode()
    shown = re.search(r'name="fingerprint" value="([0-9a-f]+)"', page)[1]
    return client.post(address, {"fingerprint": shown, "rows": rows}, follow=True)


@pytest.mark.parametrize("who", ["rep", "estimator", "manager", "nobody"])
def test_estimator_and_manager_read_and_only_the_manager_imports(client, people, who):
    client.force_login(people[who])
    reads = 200 if who in ("estimator", "manager") else 403
    edits = 200 if who == "manager" else 403
    exported = reverse("rates-export", args=["labour", "csv"])
    assert [client.get(reverse(name)).status_code for name in PAGES] == [reads] * 2
    assert client.get(exported).status_code == reads
    assert client.get(reverse("rates-import")).status_code == edits
    assert send(client, as_csv("overhead", ROW)).status_code == (302 if who == "manager" else 403)
    if reads == 200:
        assert ("Import a table" in client.get(reverse("rates")).content.decode()) == (who == "manager")


def test_the_table_is_that_of_the_chosen_day(manager, people):
    labour = as_csv("labour", ("ALDER", "labour", "", "41.25", THEN, "agreement"))
    imports.rates_import(
        table="labour", file_name="a.csv", content=labour, effective=None, good_only=False, by=people["manager"]
    )
    pages = {
        day: manager.get(reverse("rates"), {"table": "labour", "on": day, "find": "alder labour"}).content.decode()
        for day in ("2026-12-14", THEN)
    }
    assert "36.00 $/h" in pages["2026-12-14"]
    assert "changes 15 Dec 2026" in pages["2026-12-14"]
    assert "41.25 $/h" in pages[THEN]
    assert "QUARRY, labour" not in pages[THEN]


def test_a_wrong_day_is_told_and_today_is_shown(manager):
    response = manager.get(reverse("rates"), {"on": "1/2/2026"})
    assert response.status_code == 422
    assert "got 1/2/2026; accepted is a date as YYYY-MM-DD" in response.content.decode()


@pytest.mark.parametrize(
    "address", ["/rates/?table=wages", "/rates/history/?table=labour&of=nobody", "/rates/labour.pdf", "/rates/x.csv"]
)
def test_what_is_not_there_is_not_found(manager, address):
    assert manager.get(address).status_code == 404


def test_a_file_is_looked_through_confirmed_recorded_and_opened_to_its_history(manager):
    response = send(manager, as_csv("overhead", ROW))
    page = manager.get(response.url).content.decode()
    assert "12 %" in page
    assert "+8.3 %" in page
    assert not models.RateImport.objects.exists()

    done = confirm(manager, response.url)

    record = models.RateImport.objects.get()
    assert done.redirect_chain[-1][0] == reverse("rates-imported", args=[record.number])
    page = done.content.decode()
    assert record.file_digest in page
    assert "from 15 Dec 2026" in page
    history = manager.get(reverse("rates-history"), {"table": "overhead", "of": "price.overhead"}).content.decode()
    assert "board of December" in history
    assert record.number in history
    assert record.number in manager.get(reverse("rates-imports")).content.decode()


def test_wrong_rows_are_shown_with_row_column_given_and_accepted_and_good_ones_offered(manager):
    response = send(manager, as_csv("overhead", ROW, ("price.margin", "25", "", ""), ("=1+1", "2", "", "")))
    page = manager.get(response.url).content.decode()
    assert '<td>Value</td><td class="rate-given">&quot;25&quot;</td>' in page
    assert "a share" in page
    assert "=1+1" in page
    assert "Import all" not in page
    refused = manager.post(response.url, {"fingerprint": re.search(r'value="([0-9a-f]{64})"', page)[1], "rows": "all"})
    assert refused.status_code == 422
    assert not models.RateImport.objects.exists()
    assert confirm(manager, response.url, rows="good").status_code == 200
    assert models.RateImport.objects.get().counts["wrong"] == 2


def test_what_changed_since_the_look_is_told_and_nothing_imported(manager, people):
    address = send(manager, as_csv("overhead", ROW)).url
    shown = re.search(r'value="([0-9a-f]{64})"', manager.get(address).content.decode())[1]
    other = as_csv("overhead", ("price.overhead", "20 %", THEN, ""))
    imports.rates_import(
        table="overhead", file_name="b.csv", content=other, effective=None, good_only=False, by=people["manager"]
    )
    response = manager.post(address, {"fingerprint": shown, "rows": "all"})
    assert response.status_code == 409
    assert "The rates have changed since you looked: R-" in response.content.decode()
    assert models.RateImport.objects.count() == 1


def test_the_same_file_again_says_that_nothing_changes(manager):
    confirm(manager, send(manager, as_csv("overhead", ROW)).url)
    page = manager.get(send(manager, as_csv("overhead", ROW)).url).content.decode()
    assert "Nothing changes" in page
    assert "fingerprint" not in page


def test_a_confirmed_or_strange_table_leads_to_the_list(manager):
    address = send(manager, as_csv("overhead", ROW)).url
    confirm(manager, address)
    assert manager.get(address, follow=True).redirect_chain[-1][0] == reverse("rates-imports")
    assert manager.get(reverse("rates-preview", args=["nothing"])).status_code == 302


def test_a_table_put_aside_is_gone(manager):
    address = send(manager, as_csv("overhead", ROW)).url
    assert manager.post(f"{address}put-aside/").status_code == 302
    assert not models.RateUpload.objects.exists()


@pytest.mark.parametrize(
    ("content", "name", "said"),
    [
        (b"PK\x03\x04", "a.xlsx", "an archive that cannot be read"),
        (b"a,b\n1,2\n", "a.csv", "the headings Rate, Value, Valid from, Source"),
        (b"x" * (5 * 2**20 + 1), "a.csv", "at most 5 MB"),
        (b"", "a.csv", "empty"),
    ],
)
def test_a_file_that_is_no_table_is_told_at_its_field(manager, content, name, said):
    response = send(manager, content, name=name)
    assert response.status_code == 422
    assert said in response.content.decode()
    assert not models.RateUpload.objects.exists()


def test_an_ambiguous_effective_date_is_refused_and_the_rest_kept(manager):
    response = send(manager, as_csv("overhead", ROW), effective="12/01/2026")
    page = response.content.decode()
    assert response.status_code == 422
    assert "Accepted is a date as YYYY-MM-DD" in page
    assert '<option value="overhead" selected>' in page


def test_an_exported_file_is_an_attachment_named_by_table_and_day(manager):
    response = manager.get(reverse("rates-export", args=["freight", "xlsx"]), {"on": THEN})
    assert response["Content-Disposition"] == f'attachment; filename="rates-freight-{THEN}.xlsx"'
    assert response.content.startswith(b"PK")


def test_names_are_shown_as_text_whatever_they_hold(manager):
    address = send(manager, as_csv("overhead", ROW), name="<b>x</b>.csv").url
    assert "&lt;b&gt;x" in manager.get(address).content.decode() or "b&gt;.csv" in manager.get(address).content.decode()
    assert "<b>x" not in manager.get(address).content.decode()


def test_repricing_is_offered_only_where_that_page_exists(manager):
    page = confirm(manager, send(manager, as_csv("overhead", ROW)).url).content.decode()
    try:
        address = reverse("repricing-start")
    except NoReverseMatch:
        assert "Re-price the open book" not in page
    else:
        assert address in page


# --- what was issued stays, what was only answered is told ------------------------------------------------------------


@pytest.mark.parametrize(
    ("table", "row"),
    [
        ("overhead", ("price.overhead", "19 %", "", "")),
        ("labour", ("ALDER", "labour", "", "55.00", "", "")),
        ("labour", ("QUARRY", "machine", "QUARRY-T1", "99.00", "", "")),
        ("resin", ("Stonefield ABS stock", "0 lb", "9.99", "0", "500 lb", "0.45", "", "")),
    ],
)
def test_an_import_leaves_an_issued_quote_and_stops_the_approval_of_an_older_answer(kept, sent, people, table, row):
    quote, _ = sent
    before = models.Quote.objects.values().get(pk=quote.pk)
    waiting = kept()
    steps.require_same_answer(waiting, services.today())

    imports.rates_import(
        table=table, file_name="r.csv", content=as_csv(table, row), effective=services.today(), good_only=False,
        by=people["manager"],
    )  # fmt: skip

    after = models.Quote.objects.values().get(pk=quote.pk)
    assert (bytes(after.pop("pdf")), after) == (bytes(before.pop("pdf")), before)
    assert models.Quote.objects.get(pk=quote.pk).is_intact()
    with pytest.raises(steps.ConflictError):
        services.quote_approve(inquiry=waiting, confirmed=KEYS, by=people["estimator"])


def test_a_rate_that_begins_later_does_not_stop_an_approval_today(kept, people):
    waiting = kept()
    row = ("ALDER", "labour", "", "55.00", "", "")
    imports.rates_import(
        table="labour", file_name="r.csv", content=as_csv("labour", row), effective=date(2099, 1, 1), good_only=False,
        by=people["manager"],
    )  # fmt: skip
    assert services.quote_approve(inquiry=waiting, confirmed=KEYS, by=people["estimator"]).pk


def test_the_day_of_a_page_is_today_unless_asked_otherwise(rf):
    assert views_rates.day_of(rf.get("/")) == (services.today(), "")
