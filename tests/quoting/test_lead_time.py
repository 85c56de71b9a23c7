"""Lead time in a whole answer: full machines, holidays, night shifts, and what the date asked for decides."""

import json
from dataclasses import replace
from datetime import date, time, timedelta
from functools import cache
from io import BytesIO
from zoneinfo import ZoneInfo

import pytest
from pypdf import PdfReader

from machines.board import resource_code
from machines.calendar import Shift, WorkCalendar, calendar_of_hours, hours_by_day
from machines.critical_path import Task, stepped
from machines.machine import Booking
from machines.promise import NoFreeHoursError, Placed, Timing, Waits, steps_of
from quoting import choosing
from quoting.answer import Answer
from quoting.answering import answered, judged_groups
from quoting.catalog import Catalog, PlantCalendar
from quoting.contract import canonical, digest, to_contract, to_plain
from quoting.costing.landed import landed_cost
from quoting.documents.lead_chart import earlier, lead_shown
from quoting.documents.pdf import render_quote
from quoting.intake.reading_result import Reading
from quoting.quotes.master_data import reopened
from quoting.routing.recalled import Recalled
from tests.quoting.repricing.demo import ON, house, requests

MONDAY = date(2026, 11, 23)
TIMBER = ZoneInfo("America/Chicago")
FIVE_DAYS = (0, 1, 2, 3, 4)


@cache
def asked():
    """An inquiry of the demo that more than one plant can make, its tool transferred so that machines set the date."""
    return next(one for name, one in requests().items() if one.tooling != "transfer" and len(plants_of(name)) > 1)


@cache
def plants_of(name: str) -> frozenset[str]:
    found = answer_to(requests()[name], house())
    return frozenset(one.judged.planned.candidate.plant.code for one in found.candidates if one.cost)


def answer_to(request, shop: Catalog) -> Answer:
    return answered(Reading(request, (), (), ()), shop, ON)


def chosen_of(answer: Answer) -> tuple[str, str]:
    candidate = answer.chosen.judged.planned.candidate
    return candidate.plant.code, candidate.machine.code


def full(plant: str, first: date, weeks: int) -> tuple[Booking, ...]:
    """Every machine of a plant booked round the clock."""
    return tuple(
        Booking(machine.code, first + timedelta(weeks=week), 168.0, True)
        for machine in house().machines
        if machine.plant == plant
        for week in range(weeks)
    )


def with_calendars(calendar: WorkCalendar) -> Catalog:
    return replace(house(), calendars=tuple(PlantCalendar(one.code, calendar) for one in house().plants))


def timing_of(answer: Answer, shop: Catalog) -> Timing:
    return landed_cost(answer.chosen.judged.planned, shop, ON).breaks[0].timing


def test_a_plant_that_is_full_for_six_weeks_when_the_tool_is_there_loses_to_another_where_a_date_is_asked_for():
    free = answer_to(asked(), house())
    plant, _ = chosen_of(free)
    first = free.chosen.cost.breaks[0]
    ready = ON + timedelta(days=int(first.timing.ready))
    # a week each of 168 h on a plant of fewer hours carries over, so that it is full for at least six weeks
    busy = replace(house(), workload=full(plant, ready - timedelta(days=ready.weekday()), 6))
    dated = replace(asked(), needed_by=first.arrives + timedelta(days=21))

    indifferent, urgent = answer_to(asked(), busy), answer_to(dated, busy)

    assert chosen_of(indifferent) == chosen_of(free)
    assert indifferent.chosen.cost.breaks[0].arrives >= first.arrives + timedelta(weeks=5)
    assert chosen_of(urgent)[0] != plant
    assert urgent.chosen.cost.breaks[0].arrives <= dated.needed_by
    assert not any("cannot be met" in one.what.text for one in urgent.conditions)


def test_a_date_that_nobody_meets_is_a_condition_that_names_the_earliest_of_all():
    hurried = replace(asked(), needed_by=ON + timedelta(days=3))

    answer = answer_to(hurried, house())

    earliest = min(one.cost.breaks[0].arrives for one in answer.candidates if one.cost)
    assert answer.chosen.cost.breaks[0].arrives == earliest
    assert any(earliest.isoformat() in one.what.text for one in answer.conditions)


def test_the_pdf_of_a_quote_with_conditions_tells_the_earliest_date_and_the_steps_to_it():
    answer = answer_to(replace(asked(), needed_by=ON + timedelta(days=3)), house())
    arrives = answer.chosen.cost.breaks[0].arrives

    printed = PdfReader(BytesIO(render_quote(
        json.loads(canonical(to_plain(answer))), number="Q-1", revision=1, issued_on=ON,
        valid_until=ON + timedelta(days=30), prepared_by="Pat Example",
    )))  # fmt: skip

    said = " ".join(" ".join(page.extract_text() for page in printed.pages).split())
    assert f"the earliest for the first release is {arrives.isoformat()}" in said
    assert "Steps to the first release" in said
    assert f"be with you by {arrives:%B} {arrives.day}, {arrives.year}" in said


def test_a_closed_week_when_forming_would_begin_moves_the_date_by_a_week():
    calendar = WorkCalendar(TIMBER, (Shift(FIVE_DAYS, time(6), 16.0),))
    usual = with_calendars(calendar)
    answer = answer_to(asked(), usual)
    timing = timing_of(answer, usual)
    start = ON + timedelta(days=int(timing.ready + timing.placed[0].queue))
    closed = tuple(start - timedelta(days=start.weekday()) + timedelta(days=day) for day in range(7))
    shut = with_calendars(replace(calendar, closed=closed))

    later = timing_of(answer, shut)

    # from where forming would begin to the Monday after; the rest of the way is the same but for the day of the week
    monday = closed[-1] + timedelta(days=1)
    waited = later.ready + later.placed[0].queue
    assert ON + timedelta(days=int(waited)) == monday
    assert later.arrives > timing.arrives


def test_a_night_shift_brings_the_hours_of_a_run_nearer_by_its_share():
    day = WorkCalendar(TIMBER, (Shift(FIVE_DAYS, time(6), 8.0),))
    both = WorkCalendar(TIMBER, (Shift(FIVE_DAYS, time(6), 8.0), Shift(FIVE_DAYS, time(22), 8.0)))
    usual, more = with_calendars(day), with_calendars(both)
    answer = answer_to(asked(), usual)

    slow, quick = timing_of(answer, usual).placed[0], timing_of(answer, more).placed[0]

    assert slow.hours == quick.hours
    assert hours_by_day(both, "x", MONDAY, 5).sum() == 2 * hours_by_day(day, "x", MONDAY, 5).sum()
    assert quick.run <= slow.run / 2 + 1e-6 if slow.run < 5 else quick.run < slow.run


def for_ever(*codes: str) -> tuple[Booking, ...]:
    """More hours than twenty years have."""
    return tuple(Booking(code, ON - timedelta(days=ON.weekday()), 1e7, True) for code in codes)


def test_a_machine_without_a_free_hour_is_refused_and_the_others_are_still_quoted():
    free = answer_to(asked(), house())
    _, machine = chosen_of(free)

    answer = answer_to(asked(), replace(house(), workload=for_ever(machine)))

    assert answer.decision == "quote" and chosen_of(answer)[1] != machine
    planned = [one for one in answer.candidates if one.judged.planned.plan]
    refused = [one for one in planned if one.judged.planned.candidate.machine.code == machine]
    told = [one.judged.verdicts[-1] for one in refused if not any(not v.passed for v in one.judged.verdicts[:-1])]
    assert told and all((one.rule, one.unit, one.passed) == ("free hours", "h", False) for one in told)
    assert all(one.measured == 0 < one.limit for one in told)
    plain = next(
        one
        for one in to_contract(answer)["candidates"]
        if one["machine"] == machine and one["verdicts"][-1]["rule"] == "free hours"
    )
    assert not plain["fits"] and plain["landed_unit_price"] is None
    assert machine in plain["verdicts"][-1]["reason"] and "1040 weeks" in plain["verdicts"][-1]["reason"]


def test_where_the_cheapest_layout_lacks_hours_the_next_is_taken_and_none_is_refused_before_all_were_asked(monkeypatch):
    groups = judged_groups(asked(), house(), ON)
    group = next(one for one in groups if one[0].fits and len(one) > 2)
    lacking: list = []

    def without_hours(planned, *more, **others):
        if planned.candidate.layout in lacking:
            raise NoFreeHoursError(
                50.0, 10.0, "1040 weeks", "forming", f"layout {lacking.index(planned.candidate.layout)}"
            )
        return landed_cost(planned, *more, **others)

    monkeypatch.setattr(choosing, "landed_cost", without_hours)
    prices = []
    for _ in group:
        best = choosing.best_layout(group, house(), ON, Recalled())
        assert best.cost is not None and best.judged.planned.candidate.layout not in lacking
        again = choosing.cheapest_with_hours(group, house(), ON, Recalled())  # as when an open book is priced again
        assert again.judged == best.judged
        prices.append(choosing.programme_cost(best, house())[0])
        lacking.append(best.judged.planned.candidate.layout)

    assert prices == sorted(prices)
    refused = choosing.best_layout(group, house(), ON, Recalled())
    assert refused.cost is None and "layout 0" in refused.judged.verdicts[-1].reason.text  # told of the cheapest


def test_where_no_machine_has_a_free_hour_the_answer_is_not_a_fit_and_names_the_hours():
    everything = for_ever(*(machine.code for machine in house().machines))

    answer = answer_to(asked(), replace(house(), workload=everything))

    assert answer.decision == "not_a_fit"
    assert answer.deciding.rule == "free hours"
    assert "free hours" in answer.referral.process
    assert json.loads(canonical(to_contract(answer)))["decision"] == "not_a_fit"


@pytest.mark.parametrize("kind", ["router", "assembly", "tool_room"])
def test_a_trimmer_bench_or_tool_room_without_hours_refuses_the_candidates_that_need_it(kind):
    free = answer_to(asked(), house())
    planned = free.chosen.judged.planned
    code = planned.plan.trim.trimmer.code if kind == "router" else ""
    name = resource_code(planned.plan.trim.plant, kind, code)

    answer = answer_to(asked(), replace(house(), beside=for_ever(name)))

    assert answer.decision == "quote"
    assert any(one.judged.verdicts[-1].rule == "free hours" for one in answer.candidates)
    assert all(one.judged.fits == (one.cost is not None) for one in answer.candidates)


def test_won_hours_beside_the_formers_are_in_the_digest_and_come_back_from_kept_master_data():
    booked = replace(house(), beside=(Booking("ALDER/tool room", MONDAY, 30.0, True),))

    assert digest(to_plain(booked)) != digest(to_plain(house()))
    assert "beside" not in to_plain(house())  # digests of catalogs without them stay as they were
    assert reopened(json.loads(canonical(to_plain(booked)))) == booked


def test_the_tool_room_is_a_step_between_tool_and_first_article():
    answer = answer_to(asked(), house())

    steps = {step["name"]: step for step in to_contract(answer)["lead_times"][0]["steps"]}
    room = to_contract(answer)["tool_room"]

    assert room["hours"] == pytest.approx(sum(one["hours"] for one in room["lines"])) and room["hours"] > 0
    weeks = max(one["lead_time_weeks"] for one in to_contract(answer)["tooling"])
    assert steps["tool room"]["finish_days"] == pytest.approx(7 * weeks)
    assert steps["first article"]["start_days"] == steps["tool room"]["finish_days"]
    assert sum(one["tool_room_hours"] for one in to_contract(answer)["tooling"]) == pytest.approx(room["hours"])


def test_steps_of_an_answer_are_one_chain_of_which_the_ends_are_its_lead_time_and_its_arrival():
    answer = answer_to(asked(), house())

    plain = to_contract(answer)

    for one, told in zip(answer.chosen.cost.breaks, plain["lead_times"], strict=True):
        steps = {step["name"]: step for step in told["steps"]}
        assert steps["pack"]["finish_days"] <= 7 * one.lead_time_weeks + 1e-9
        assert told["leaves_after_days"] == pytest.approx(7 * one.lead_time_weeks)
        assert steps["transit"]["start_days"] == pytest.approx(told["leaves_after_days"])
        assert steps["transit"]["sets_the_date"]
        assert told["arrives"] == one.arrives.isoformat()
    assert json.loads(canonical(plain)) == plain


def test_a_calendar_is_in_the_digest_and_comes_back_from_kept_master_data():
    calendar = WorkCalendar(TIMBER, (Shift(FIVE_DAYS, time(6), 8.0, 0.5),), closed=(MONDAY,))
    one, other = with_calendars(calendar), with_calendars(calendar_of_hours(8.0, 5))

    assert len({digest(to_plain(shop)) for shop in (house(), one, other)}) == 3
    for shop in (house(), one, other):
        assert reopened(json.loads(canonical(to_plain(shop)))) == shop


TIMING = Timing(
    Waits(56.0, 7.0, 14.0, 0.0, 3.0, 0.0, 4.2),
    (
        Placed("forming", "F1", 20.0, 2.0, 2.5),
        Placed("trim", "R1", 8.0, 0.0, 1.0),
        Placed("packing", "bench", 2, 0, 0.3),
    ),
)


def test_leaving_and_arriving_are_the_ends_of_the_steps():
    moved = replace(TIMING, waits=replace(TIMING.waits, move=5.0))
    for timing in (TIMING, moved, replace(TIMING, waits=replace(TIMING.waits, sheet=90.0))):
        steps = {step.name: step for step in steps_of(timing)}
        assert timing.arrives == pytest.approx(steps["transit"].finish)
        assert timing.leaves == pytest.approx(steps["transit"].start)
    # by hand: 56 + 7 + 2 + 2.5 = 67.5; then 4.2 at the least, or 5 + 1 + .3 where the parts move first
    assert TIMING.leaves == pytest.approx(71.7)
    assert moved.leaves == pytest.approx(73.8)


def shown(inside: bool) -> dict:
    stored = {"quantity": 300, "timing": to_plain(TIMING)}
    return lead_shown([stored, {"quantity": 9}], "2026-06-01", inside=inside)[0]


def test_the_chart_says_in_words_and_stripes_which_steps_set_the_date():
    one = shown(True)

    setting = [row["name"] for row in one["rows"] if row["critical"]]
    assert setting == [
        "Tool made or moved", "First article", "Waiting for forming", "Forming", "Cool, check and pack, at the least",
        "On the road to the customer",
    ]  # fmt: skip
    assert "Tool made or moved 1 Jun 2026 to 27 Jul 2026, sets the date" in one["chart"]["told"]
    assert "Sheet from the mill 1 Jun 2026 to 15 Jun 2026, has slack" in one["chart"]["told"]
    words = [shape["words"] for shape in one["chart"]["shapes"] if shape["kind"] == "text"]
    assert "▶ Tool made or moved, 8.0 weeks" in words
    assert "Sheet from the mill, 2.0 weeks" in words
    assert next(row["slack"] for row in one["rows"] if row["name"] == "Sheet from the mill") == "49.0"


def test_the_customer_hears_of_stages_without_queue_hours_and_codes():
    one = shown(False)

    said = json.dumps(one)
    assert [row["name"] for row in one["rows"]] == [
        "Tool made or moved", "First article", "Sheet from the mill", "Forming to packing, as booked",
        "On the road to you",
    ]  # fmt: skip
    assert not any(word in said for word in ("Waiting", "F1", "R1", "bench", " h at "))


def test_to_a_customer_what_our_tool_room_does_is_part_of_making_the_tool():
    fitted = replace(
        TIMING, waits=replace(TIMING.waits, tool=40.0), tool_room=Placed("tool room", "P/tool room", 30, 6, 10)
    )
    stored = [{"quantity": 300, "timing": to_plain(fitted)}]

    outside, inside = (lead_shown(stored, "2026-06-01", inside=one)[0] for one in (False, True))

    assert [row["name"] for row in outside["rows"]] == [row["name"] for row in shown(False)["rows"]]
    assert (outside["rows"][0]["start"], outside["rows"][0]["finish"]) == (0.0, 56.0)
    assert [row["name"] for row in inside["rows"]][:3] == [
        "Tool made or moved", "Waiting for tool room", "Fitting in our tool room",
    ]  # fmt: skip
    assert next(row["work"] for row in inside["rows"] if row["work"]) == "30.0 h at P/tool room"


def test_what_would_bring_it_earlier_names_the_longest_step_that_sets_the_date_and_the_next_behind_it():
    said = earlier(list(stepped((Task("tool", 56.0), Task("sheet", 14.0), Task("forming", 2.0, ("tool", "sheet"))))))

    assert said == (
        "Earlier by a tool that is built sooner: tool made or moved sets the date with 56.0 days; after 42.0 days of "
        "gain sheet from the mill sets it."
    )
