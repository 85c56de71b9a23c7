"""The pages of what-if plans: asked, followed, read, and decided move by move; who may look and who may decide."""

import re
from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from machines.models import Booking, TimeWindow
from machines.selectors import plants
from quoting.planning.models import Job, PlanRun
from quoting.planning.selectors import free_hours
from quoting.quotes import balancing_work
from quoting.quotes.models import RateRow
from quoting.quotes.records import today
from quoting.quotes.workers import DEAD_AFTER, beat
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


def test_work_that_stays_has_a_section_of_its_own_and_a_button(client, people, machines):
    first, *_ = machines
    job("Q-1", first, 20, 3, booked={0: 20})
    manager = at_desk(client, people["manager"])

    run = done(manager, first)

    page = shown(manager, run)
    assert "Nothing needs to move" in page and "Work that stays, in other weeks" in page
    assert f"{first.code} would have 20.0 h of 0.0 h in the week of" in page
    reply = manager.post(reverse("move-accept", args=[run.pk, 1]), {"version": run.version}, follow=True)
    assert "Line 1 is made: Q-1 is booked in the weeks of the plan." in reply.content.decode()


def test_what_stands_in_the_way_is_said_in_plain_words(client, people, machines):
    first, _, _ = machines
    job("Q-1", first, 9000, 0, booked={0: 100})
    run = done(at_desk(client, people["manager"]), first)

    page = shown(client, run)
    assert "No plan exists" in page and f"{first.code} lacks" in page and "what asks for them: Q-1" in page


def test_work_of_a_retired_machine_that_can_run_nowhere_else_is_told_so(client, people, machines):
    first, _, _ = machines
    job("Q-1", first, 20, 0)
    first.retired_on = today()
    first.save()
    manager = at_desk(client, people["manager"])
    posted(manager, kind="as_it_is")
    beat("w")
    balancing_work.work_off(PlanRun.objects.get().pk, "w")

    page = shown(manager, PlanRun.objects.get())
    assert f"{first.code} has no hours in" in page and "retired, down or closed" in page and "20.0 h: Q-1" in page


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


def test_that_no_worker_lives_is_told_once_one_had_time_to_start(client, people, machines):
    job("Q-1", machines[0], 20, 0)
    manager = at_desk(client, people["manager"])
    posted(manager, kind="as_it_is")
    run = PlanRun.objects.get()

    assert "No worker gives a sign of life" not in shown(manager, run)
    PlanRun.objects.update(at=run.at - 2 * DEAD_AFTER)
    assert "No worker gives a sign of life" in shown(manager, run)
    beat("w")
    assert "No worker gives a sign of life" not in shown(manager, run)


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


def test_overtime_and_its_premium_are_proposed_by_the_rates_and_a_plants_own_goes_first(client, people, machines):
    first, _, away = machines
    RateRow.objects.create(
        key=f"overtime.premium.{away.plant.code}", value="75 %", valid_from=date(2026, 1, 1), source="test"
    )
    page = at_desk(client, people["manager"]).get(reverse("plan-ask"))

    form = page.context["form"]
    assert form["overtime"].value() == "8"
    assert (form[f"premium_{first.plant.code}"].value(), form[f"premium_{away.plant.code}"].value()) == (50, 75)
    text = page.content.decode()
    assert "Rate overtime.hours: 8 h from 1 Jan 2026" in text
    assert f"Rate overtime.premium.{away.plant.code}: 75 %" in text


@pytest.mark.parametrize(
    ("typed", "kept"), [({}, "0.5"), ({"premium": ""}, "0.5"), ({"premium": "62.5"}, "0.625"), ({"premium": "0"}, "0")]
)
def test_a_premium_that_is_typed_counts_and_one_left_empty_is_the_rate(client, people, machines, typed, kept):
    plant = machines[0].plant.code
    given = {f"{name}_{plant}": value for name, value in typed.items()}

    posted(at_desk(client, people["manager"]), kind="as_it_is", **given)

    assert Decimal(PlanRun.objects.get().premiums[plant]) == Decimal(kept)


@pytest.mark.parametrize("wrong", ["-1", "301", "5.555", "half", "nan"])
def test_a_premium_that_cannot_be_is_told_by_its_plant_and_stays_as_typed(client, people, machines, wrong):
    plant = machines[0].plant

    page = posted(at_desk(client, people["manager"]), kind="as_it_is", **{f"premium_{plant.code}": wrong})

    text = page.content.decode()
    assert f"Premium at {plant.code}: accepted is a number from 0 to 300" in text and f'value="{wrong}"' in text
    assert not PlanRun.objects.exists()


def test_overtime_is_worked_before_anything_is_paid_for_moving_and_the_page_tells_its_premium(client, people, machines):
    first, mate, _ = machines
    hours = float(free_hours(first, next_monday(), 1, "")[0])
    job("Q-1", first, hours + 4, 0, [(mate, hours, 5000)])
    manager = at_desk(client, people["manager"])

    posted(manager, kind="as_it_is", overtime="8")
    run = PlanRun.objects.get()
    beat("w")
    balancing_work.work_off(run.pk, "w")

    run.refresh_from_db()
    premium = Decimal(run.best["premium"])
    labour = next(one.labour_rate for one in plants(today()) if one.code == first.plant.code)
    assert premium == pytest.approx(Decimal(str(4 * first.crew)) * labour / 2, abs=Decimal("0.02"))  # half the rate
    assert run.best["cost"] == "0" and [one["name"] for one in run.stages] == ["lateness", "cost", "overtime"]
    page = shown(manager, run)
    assert f"4.0 ${premium:,.2f}" in page and f"50 % at {first.plant.code}" in page


def test_the_down_time_of_a_plan_is_entered_by_one_button_and_pressing_it_twice_does_it_once(client, people, machines):
    first, mate, _ = machines
    job("Q-1", first, 20, 0, [(mate, 22, 300)])
    manager = at_desk(client, people["manager"])
    run = done(manager, first)
    button, address = f"Enter as maintenance of {first.code}", reverse("plan-down", args=[run.pk])
    assert button in shown(manager, run) and "still count its hours" in shown(manager, run)

    for _ in range(2):
        reply = manager.post(address, {"version": run.version}, follow=True).content.decode()
        assert f"The down time is maintenance of {first.code} now" in reply

    assert TimeWindow.objects.filter(reason=f"down, plan {run.pk}").count() == 1
    page = shown(manager, run)
    assert "was entered as maintenance by" in page and button not in page and "Accept" in page
    estimator = at_desk(client, people["estimator"])
    assert estimator.post(address, {"version": run.version}).status_code == 403
