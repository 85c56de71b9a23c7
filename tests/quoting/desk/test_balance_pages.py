"""The pages of what-if plans: asked, followed, read, and decided move by move; who may look and who may decide."""

import re

import pytest
from django.urls import reverse

from machines.models import Booking
from quoting.planning.models import Job, PlanRun
from quoting.quotes import balancing_work
from quoting.quotes.workers import beat
from tests.quoting.planning.won_work import job, next_monday, two_of_one_plant


@pytest.fixture
def machines(people, settings):
    settings.BACKGROUND = "workers"
    Booking.objects.all().delete()
    return two_of_one_plant()


def at_desk(client, person):
    client.force_login(person)
    return client


def posted(client, **typed):
    return client.post(reverse("plan-ask"), {"overtime": "0", **typed})


def done(client, machine, weeks=2):
    page = posted(client, kind="machine_down", machine=machine.code, down_from=next_monday(), down_weeks=weeks)
    run = PlanRun.objects.first()
    assert page.headers["Location"] == reverse("plan", args=[run.pk])
    beat("w")
    balancing_work.work_off(run.pk, "w")
    return PlanRun.objects.get(pk=run.pk)


def shown(client, run):
    return " ".join(re.sub(r"<[^>]+>", " ", client.get(reverse("plan", args=[run.pk])).content.decode()).split())


def test_a_manager_asks_follows_reads_the_reason_and_accepts(client, people, machines):
    first, mate, _ = machines
    job("Q-1", first, 20, 0, [(mate, 22, 300)])
    manager = at_desk(client, people["manager"])
    posted(manager, kind="as_it_is")
    waiting = manager.get(reverse("plan", args=[PlanRun.objects.get().pk])).content.decode()
    assert 'http-equiv="refresh"' in waiting and "waiting for a worker" in waiting and "Look again" in waiting

    run = done(manager, first)
    page = shown(manager, run)
    assert f"{first.code} is down for 2 weeks" in page and "Without it, work would be 2 weeks later" in page
    assert "As booked, nothing moved 2" in page and "This plan 0 $300.00" in page and "proven least" in page
    assert "1 of 1" in manager.get(reverse("plans")).content.decode()

    reply = manager.post(reverse("move-accept", args=[run.pk, 1]), {"version": run.version}, follow=True)
    assert "Move 1 is made" in reply.content.decode() and "accepted" in shown(manager, run)
    assert Job.objects.get().machine == mate


def test_a_move_is_refused_by_a_button_and_an_old_page_is_told_so(client, people, machines):
    first, mate, _ = machines
    job("Q-1", first, 20, 0, [(mate, 22, 300)])
    manager = at_desk(client, people["manager"])
    run = done(manager, first)

    old = manager.post(reverse("move-refuse", args=[run.pk, 1]), {"version": run.version - 1}, follow=True)
    assert "was changed while the page was open" in old.content.decode()
    manager.post(reverse("move-refuse", args=[run.pk, 1]), {"version": run.version})
    assert run.moves.get().state == "refused" and Job.objects.get().machine == first


def test_the_page_says_which_data_changed_and_offers_no_move_any_longer(client, people, machines):
    first, mate, _ = machines
    job("Q-1", first, 20, 0, [(mate, 22, 300)])
    manager = at_desk(client, people["manager"])
    run = done(manager, first)
    job("Q-8", mate, 10, 0)

    page = manager.get(reverse("plan", args=[run.pk])).content.decode()
    assert "job Q-8 is new" in page and "Accept move" not in page


def test_what_stands_in_the_way_is_said_in_plain_words(client, people, machines):
    first, _, _ = machines
    job("Q-1", first, 9000, 0, booked={0: 100})
    run = done(at_desk(client, people["manager"]), first)

    page = shown(client, run)
    assert "No plan exists" in page and f"{first.code} lacks" in page and "what asks for them: Q-1" in page


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"kind": "machine_down"}, "Machine: nothing was given"),
        ({"kind": "machine_down", "down_from": "soon"}, "accepted is a date such as"),
        ({"kind": "quote_won"}, "Quote: nothing was given"),
        ({"kind": "tool_moves"}, "Tool: nothing was given"),
        ({"kind": "as_it_is", "overtime": ""}, "Overtime allowed: nothing was given"),
        ({"kind": "as_it_is", "overtime": "nan"}, "Overtime allowed"),
        ({"kind": ""}, "What if: nothing was chosen"),
    ],
)
def test_a_question_without_what_it_needs_names_the_field_and_keeps_what_was_typed(
    client, people, machines, typed, told
):
    page = posted(at_desk(client, people["manager"]), down_weeks="7", **typed).content.decode()

    assert told in page and 'value="7"' in page and not PlanRun.objects.exists()


def test_an_estimator_looks_and_decides_nothing_and_a_rep_sees_none(client, people, machines):
    first, mate, _ = machines
    job("Q-1", first, 20, 0, [(mate, 22, 300)])
    run = done(at_desk(client, people["manager"]), first)

    estimator = at_desk(client, people["estimator"])
    assert "Accept move" not in estimator.get(reverse("plan", args=[run.pk])).content.decode()
    assert estimator.post(reverse("move-accept", args=[run.pk, 1]), {"version": run.version}).status_code == 403
    assert estimator.get(reverse("plan-ask")).status_code == 403
    assert at_desk(client, people["rep"]).get(reverse("plans")).status_code == 403
    assert Job.objects.get().machine == first


def test_a_cancelled_plan_can_be_begun_again(client, people, machines):
    job("Q-1", machines[0], 20, 0)
    manager = at_desk(client, people["manager"])
    posted(manager, kind="as_it_is")
    run = PlanRun.objects.get()

    manager.post(reverse("plan-cancel", args=[run.pk]), {"version": run.version})
    run.refresh_from_db()
    assert run.state == "cancelled" and "Begin again" in shown(manager, run)
    manager.post(reverse("plan-again", args=[run.pk]), {"version": run.version})
    run.refresh_from_db()
    assert run.state == "waiting"
