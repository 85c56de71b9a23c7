"""The board as arrays, against plain sums; and what on it cannot be."""

from collections import defaultdict
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from machines.board import Resource, board, share
from machines.clashes import clashes as clashes_of
from machines.loads import Load, LoadError, Loads

MONDAY = date(2026, 6, 1)
ROWS = (Resource("F1", "forming", "N"), Resource("F2", "forming", "N"), Resource("R1", "router", "N"))
HOURS, NONE = np.full((3, 4), 40.0), Loads.of(())


def load(resource: str, hours: float, week: int = 0, firm: bool = True, **more: str) -> Load:
    return Load(resource, MONDAY + timedelta(weeks=week), hours, firm, **more)


def made(*loads: Load, chances: dict | None = None):
    return board(ROWS, HOURS, Loads.of(loads), chances or {}, MONDAY)


def clashes(found, loads):
    return clashes_of(found, Loads.of(loads))


def test_firm_work_counts_whole_and_quoted_work_by_its_chance():
    # Worked loading example: 78 h booked, quotes of 40 h at .6 and 60 h at .2 are 36 h, together 114 h.
    found = made(load("F1", 78), load("F1", 40, firm=False, quote="A"), load("F1", 60, firm=False, quote="B"),
                 chances={"A": 0.6, "B": 0.2})  # fmt: skip

    assert found.booked[0, 0] == 78
    assert found.quoted[0, 0] == 100
    assert found.weighted[0, 0] == pytest.approx(36)
    assert found.expected[0, 0] == pytest.approx(114)
    assert found.free[0, 0] == 40 - 78


loads_of_any_kind = st.lists(
    st.builds(
        lambda row, day, hours, firm, quote: Load(row, MONDAY + timedelta(days=day), hours, firm, quote=quote),
        st.sampled_from(["F1", "F2", "R1", "gone"]), st.integers(-10, 40), st.floats(0, 100), st.booleans(),
        st.sampled_from(["A", "B", "unknown"]),
    )
)  # fmt: skip


@given(loads_of_any_kind)
def test_the_arrays_hold_what_plain_sums_hold_and_no_hour_is_lost(loads):
    chances, plain = {"A": 0.25, "B": 0.75}, defaultdict(float)
    for each in loads:
        week = (each.week - MONDAY).days // 7
        plain[each.resource, week, "firm" if each.firm else "quoted"] += each.hours
        if not each.firm:
            plain[each.resource, week, "weighted"] += each.hours * chances.get(each.quote, 1.0)

    found = made(*loads, chances=chances)

    for row, resource in enumerate(ROWS):
        for week in range(4):
            assert found.booked[row, week] == pytest.approx(plain[resource.code, week, "firm"])
            assert found.quoted[row, week] == pytest.approx(plain[resource.code, week, "quoted"])
            assert found.weighted[row, week] == pytest.approx(plain[resource.code, week, "weighted"])
    shown = found.booked.sum() + found.quoted.sum() + found.outside + sum(each.hours for each in found.stranded)
    assert shown == pytest.approx(sum(each.hours for each in loads))


def test_work_of_a_retired_machine_is_shown_as_stranded():
    old = load("F0", 12, label="Q-7 cover")
    found = made(old)

    assert found.stranded == (old,)
    (clash,) = clashes(found, [old])
    assert (clash.kind, clash.where, clash.measured, clash.labels) == ("stranded", "F0", 12, ("Q-7 cover",))


def test_a_week_booked_beyond_its_hours_names_its_work():
    loads = [load("F1", 30, label="a"), load("F1", 11, label="b"), load("F1", 40, week=1), load("F1", 9, firm=False)]

    (clash,) = clashes(made(*loads), loads)

    assert (clash.kind, clash.where, clash.week, clash.measured, clash.limit) == ("overbooked", "F1", MONDAY, 41, 40)
    assert clash.labels == ("a", "b")


def test_a_tool_may_move_within_a_week_but_not_be_in_two_machines_at_once():
    apart = [load("F1", 20, tool="T1"), load("F2", 20, tool="T1")]
    at_once = [load("F1", 30, tool="T1", label="a"), load("F2", 20, tool="T1", label="b")]
    routed = [load("F1", 30, tool="T1"), load("R1", 30, tool="T1")]

    assert clashes(made(*apart), apart) == ()
    assert clashes(made(*routed), routed) == ()
    (clash,) = clashes(made(*at_once), at_once)
    assert (clash.kind, clash.where, clash.measured, clash.limit) == ("tool_twice", "T1", 50, 40)


def test_the_same_work_booked_twice_is_named():
    twice = [load("F1", 5, quote="Q1", label="a"), load("F1", 6, quote="Q1", label="a")]

    assert [each.kind for each in clashes(made(*twice), twice)] == ["booked_twice"]


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: made(load("F1", -1, label="Q-9")), "hours"),
        (lambda: made(load("F1", float("nan"))), "hours"),
        (lambda: made(load("F1", float("inf"))), "hours"),
        (lambda: made(chances={"A": 1.2}), "chance"),
        (lambda: board(ROWS, HOURS[:2], NONE, {}, MONDAY), "available"),
        (lambda: board(ROWS, -HOURS, NONE, {}, MONDAY), "available"),
        (lambda: board((ROWS[0], ROWS[0]), HOURS[:2], NONE, {}, MONDAY), "resource"),
        (lambda: board((Resource("X", "lathe", "N"),), HOURS[:1], NONE, {}, MONDAY), "kind"),
        (lambda: board(ROWS, HOURS, NONE, {}, MONDAY + timedelta(days=2)), "monday"),
    ],
)
def test_a_board_that_cannot_be_is_refused_by_field(make, field):
    with pytest.raises(LoadError) as refused:
        make()
    assert refused.value.field == field


def test_share_of_a_week_without_hours():
    assert share(10, 40) == 0.25
    assert share(0, 0) == 0
    assert share(1, 0) == float("inf")
    with pytest.raises(LoadError):
        share(-1, 40)
