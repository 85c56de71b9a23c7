"""The days of the lead time's bars: one rule of rounding, so that no step begins before the one it waits for ends."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from machines.promise import Placed, Timing, Waits
from quoting.contract import to_plain
from quoting.documents.lead_chart import lead_shown

ORDER = date(2026, 6, 1)
WAITS = {
    "Tool made or moved": (), "Sheet from the mill": (), "First article": ("Tool made or moved",),
    "Forming to packing, as booked": ("First article", "Sheet from the mill", "Tool made or moved"),
    "On the road to you": ("Forming to packing, as booked",),
}  # fmt: skip


def timing(tool=56.0, article=7.0, sheet=14.0, road=3.0, least=4.2, queue=2.0, forming=2.5):
    placed = (Placed("forming", "F1", 20.0, queue, forming), Placed("packing", "bench", 2.0, 0.0, 0.3))
    return Timing(Waits(tool, article, sheet, 0.0, road, 0.0, least), placed)


def rows_of(one, *, inside):
    (shown,) = lead_shown([{"quantity": 300, "timing": to_plain(one)}], ORDER.isoformat(), inside=inside)
    return {row["name"]: row for row in shown["rows"]}, shown


def test_the_road_begins_on_the_day_on_which_packing_ends():
    rows, shown = rows_of(timing(), inside=False)

    # by hand: 56 + 7 + 2 + 2.5 + 4.2 = 71.7 days, so 72 after 1 June; 3 on the road, 74.7, so 75
    made, road = rows["Forming to packing, as booked"], rows["On the road to you"]
    assert (made["ends"], road["begins"], road["ends"]) == ("Aug 12, 2026", "Aug 12, 2026", "Aug 15, 2026")
    assert (road["start"], road["finish"], road["weeks"]) == (72, 75, "0.4")
    assert (shown["leaves"], shown["arrives"]) == ("August 12, 2026", "August 15, 2026")


days = st.floats(0, 90) | st.integers(0, 90).map(float)


@given(st.builds(timing, days, days, days, days, days, days, st.floats(0.01, 60)))
def test_a_step_never_begins_before_the_one_it_waits_for_ends_and_bar_days_and_weeks_agree(one):
    rows, _ = rows_of(one, inside=False)

    for name, row in rows.items():
        assert row["start"] == int(row["start"]) and row["finish"] == int(row["finish"])
        for before in WAITS[name]:
            assert before not in rows or rows[before]["finish"] <= row["start"]
        ends = ORDER + timedelta(days=row["finish"])
        assert row["ends"] == f"{ends:%b} {ends.day}, {ends.year}"
        assert float(row["days"]) == row["finish"] - row["start"]


def test_our_own_people_read_the_same_days_and_the_hours_behind_them():
    rows, _ = rows_of(timing(), inside=True)

    assert rows["On the road to the customer"]["begins"] == "12 Aug 2026"
    assert rows["On the road to the customer"]["start"] == pytest.approx(71.7)
    assert rows["Forming"]["days"] == "2.5"


def test_a_stage_that_ends_on_the_day_on_which_it_begins_takes_less_than_a_day():
    _, shown = rows_of(timing(road=0.2), inside=False)

    words = [shape["words"] for shape in shown["chart"]["shapes"] if shape["kind"] == "text"]
    assert "▶ On the road to you, less than a day" in words
