"""Pages of recorded runs: entry by form and file, estimate and actual side by side, accuracy over time."""

from datetime import date

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from machines.models import Machine
from quoting.planning.models import WON, Job, RunRecord, RunUpload
from quoting.quotes.runs.reading import HEADINGS, LIMITS

DAY = date(2026, 11, 2)


@pytest.fixture
def job(sent):
    """A job of the quote that was sent."""
    quote, _ = sent
    planned = quote.snapshot["chosen"]["judged"]["planned"]["candidate"]
    machine = Machine.objects.get(code=planned["machine"]["code"])
    told = {
        "part": "<b>cover</b>", "state": WON, "machine": machine, "process": planned["process"],
        "polymer": planned["polymer"]["name"], "quantity": 100, "hours": 9.0, "since": DAY, "ready": DAY, "due": DAY,
        "value": 1000, "margin": 0.2,
    }  # fmt: skip
    return Job.objects.update_or_create(quote=quote.number, defaults=told)[0]


@pytest.fixture
def desk(client, people):
    def enter(role):
        client.force_login(people[role])
        return client

    return enter


def cells(ran, **other):
    return {
        "job": ran.quote, "machine": ran.machine.code, "started": "2026-11-02", "ended": "2026-11-03",
        "parts_good": "300", "parts_scrapped": "11", "heats": "163", "index_time": "104 s", "setup_hours": "3.5 h",
        "run_hours": "", "sheet_used": "3350 lb", "trim_time": "", "parts_per_pallet": "", "delivered": "", "note": "",
    } | other  # fmt: skip


def text(response):
    return response.content.decode()


def test_a_run_is_entered_and_seen_beside_its_estimate_on_its_page_and_the_inquirys(desk, job, sent):
    page = desk("estimator").post(reverse("shop-run-new"), cells(job), follow=True)
    found = RunRecord.objects.get()
    assert page.redirect_chain[0][0] == reverse("shop-run", args=[found.pk])
    estimated = found.estimated["index_time"]
    assert f"{100 * (104 / estimated - 1):.1f} % over" in text(page) and "&lt;b&gt;cover" in text(page)
    work = text(desk("estimator").get(reverse("work", args=[sent[0].inquiry.number])))
    assert reverse("shop-run", args=[found.pk]) in work and "3.5 h" in work
    assert job.quote in text(desk("manager").get(reverse("shop-runs")))


def test_a_wrong_run_loses_nothing_typed(desk, job):
    page = desk("estimator").post(reverse("shop-run-new"), cells(job, job="Q-1999-0001", heats="lots"))
    assert page.status_code == 422 and not RunRecord.objects.exists()
    assert 'value="lots"' in text(page) and 'value="104 s"' in text(page)
    assert "a job that was ordered" in text(page) and "a whole number in digits" in text(page)


def test_sent_twice_it_is_recorded_once(desk, job):
    desk("estimator").post(reverse("shop-run-new"), cells(job))
    page = desk("estimator").post(reverse("shop-run-new"), cells(job))
    assert page.status_code == 422 and "recorded already" in text(page) and RunRecord.objects.count() == 1


def test_a_correction_starts_from_every_digit_kept_and_asks_why(desk, job):
    desk("estimator").post(reverse("shop-run-new"), cells(job))
    first = RunRecord.objects.get()
    address = reverse("shop-run-correct", args=[first.pk])
    assert "104 s" in text(desk("estimator").get(address))
    assert desk("estimator").post(address, cells(job, heats="170")).status_code == 422
    page = desk("estimator").post(address, cells(job, heats="170", reason="misread"), follow=True)
    assert "Before the correction" in text(page) and "163" in text(page) and "170" in text(page)
    again = desk("manager").post(address, cells(job, heats="171", reason="again"))
    assert again.status_code == 409 and RunRecord.objects.count() == 2


def test_a_run_is_withdrawn_with_a_reason_and_leaves_the_lists(desk, job):
    desk("estimator").post(reverse("shop-run-new"), cells(job))
    first = RunRecord.objects.get()
    address = reverse("shop-run-withdraw", args=[first.pk])
    refused = desk("estimator").post(address, {"reason": " "})
    assert refused.status_code == 422 and "Say why" in text(refused) and RunRecord.objects.count() == 1
    page = desk("estimator").post(address, {"reason": "of <b>another</b> job"}, follow=True)
    assert (
        "Withdrawn: there was no such run" in text(page)
        and "of &lt;b&gt;another&lt;/b&gt; job" in page.content.decode()
    )
    assert "Correct this record" not in text(page)
    assert job.quote not in text(desk("estimator").get(reverse("shop-runs")))
    assert desk("manager").post(address, {"reason": "again"}).status_code == 409


def test_a_file_is_shown_first_and_its_good_rows_are_kept_once(desk, job):
    lines = [cells(job, started=f"2026-10-0{day}", ended=f"2026-10-0{day}") for day in (1, 2)]
    lines += [cells(job, job="=cmd|' /C calc'!A0"), cells(job, index_time="<script>alert(1)</script>")]
    content = "\n".join([",".join(HEADINGS), *(",".join(one.values()) for one in lines)])
    client = desk("estimator")
    page = client.post(
        reverse("shop-runs-import"), {"file": SimpleUploadedFile("runs.csv", content.encode())}, follow=True
    )
    upload = RunUpload.objects.get()
    address = reverse("shop-runs-preview", args=[upload.token])
    assert page.redirect_chain[0][0] == address and not RunRecord.objects.exists()
    assert "<strong>2</strong> wrong rows" in text(page) and "<script>alert" not in text(page)
    shown = text(page).partition('name="fingerprint" value="')[2].partition('"')[0]
    assert client.post(address, {"fingerprint": "other", "rows": "good"}).status_code == 409
    for _ in range(2):
        client.post(address, {"fingerprint": shown, "rows": "good"})
    assert RunRecord.objects.count() == 2 and not RunUpload.objects.exists()


def test_a_file_above_the_limit_is_refused_unread(desk, job):
    large = SimpleUploadedFile("runs.csv", b"x" * (LIMITS.file + 1))
    page = desk("estimator").post(reverse("shop-runs-import"), {"file": large})
    assert page.status_code == 422 and "not read" in text(page) and not RunUpload.objects.exists()


def test_another_persons_file_is_not_theirs_to_confirm(desk, job):
    content = ",".join(HEADINGS) + "\n" + ",".join(cells(job).values())
    desk("estimator").post(reverse("shop-runs-import"), {"file": SimpleUploadedFile("a.csv", content.encode())})
    address = reverse("shop-runs-preview", args=[RunUpload.objects.get().token])
    assert desk("manager").post(address, {"rows": "all"}).status_code == 302 and not RunRecord.objects.exists()


def test_accuracy_shows_each_measure_as_chart_and_table_and_exports_it(desk, job):
    desk("estimator").post(reverse("shop-run-new"), cells(job))
    page = text(desk("manager").get(reverse("shop-runs-accuracy")))
    ratio = 104 / RunRecord.objects.get().estimated["index_time"]
    assert f"Nov 2026 {ratio:.2f} as worked out of 1" in page and f"{ratio:.3f}" in page and 'role="img"' in page
    assert "No run with an estimate" in text(desk("manager").get(reverse("shop-runs-accuracy"), {"process": "none"}))
    exported = text(desk("manager").get(reverse("shop-runs-accuracy-csv")))
    assert job.quote in exported and f"{ratio:.4g}" in exported


def test_what_runs_teach_is_shown_with_its_runs_and_applied_nowhere_unasked(desk, job):
    for day in (1, 2, 3):
        desk("estimator").post(reverse("shop-run-new"), cells(job, started=f"2026-10-0{day}", ended=f"2026-10-0{day}"))
    page = text(desk("estimator").get(reverse("shop-runs-factors")))
    ratio = 104 / RunRecord.objects.first().estimated["index_time"]
    assert f"{ratio:.3f}" in page and job.machine.code in page and "3 runs; a range of error takes 10" in page
    assert "No estimate is changed" in page


@pytest.mark.parametrize("name", ["shop-runs", "shop-run-new", "shop-runs-import", "shop-runs-accuracy-csv"])
def test_a_rep_sees_none_of_it(desk, people, name):
    assert desk("rep").get(reverse(name)).status_code == 403
    assert reverse("shop-runs") not in text(desk("rep").get(reverse("inquiries")))
