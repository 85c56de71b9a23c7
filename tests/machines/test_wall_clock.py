"""A plant's clock against another library of time zones."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from dateutil import tz

from machines.calendar import CalendarError
from machines.wall_clock import FIRST, SECOND, moment, shown

ZONES = ("America/Chicago", "America/Detroit", "Europe/Berlin", "America/Phoenix", "Australia/Lord_Howe")


@pytest.mark.parametrize("zone", ZONES)
def test_every_quarter_of_an_hour_of_the_days_of_change_is_taken_as_another_library_says(zone):
    # python-dateutil's own reading of the zone files: whether a time exists, is ambiguous, and its two moments
    other = tz.gettz(zone)
    for day in ("2026-03-08", "2026-11-01", "2026-03-29", "2026-10-25", "2026-04-05", "2026-10-04"):
        for number in range(96):
            wall = datetime.fromisoformat(day) + timedelta(minutes=15 * number)
            text = f"{wall:%Y-%m-%d %H:%M}"
            if not tz.datetime_exists(wall, other):
                with pytest.raises(CalendarError, match="leaps over"):
                    moment("start", text, ZoneInfo(zone))
            elif tz.datetime_ambiguous(wall, other):
                with pytest.raises(CalendarError, match=f"{text} first.*{text} second"):
                    moment("start", text, ZoneInfo(zone))
                for which, fold in ((FIRST, 0), (SECOND, 1)):
                    found = moment("start", f"{text} {which}", ZoneInfo(zone))
                    assert found == tz.enfold(wall.replace(tzinfo=other), fold).astimezone(UTC)
                    assert shown(found, ZoneInfo(zone)) == f"{text} {which}"
            else:
                found = moment("start", text, ZoneInfo(zone))
                assert found == wall.replace(tzinfo=other).astimezone(UTC)
                assert shown(found, ZoneInfo(zone)) == text


@pytest.mark.parametrize("text", ["", "first", "tomorrow", "2026-13-01 06:00", "2026-12-01", "12/01/2026 06:00"])
def test_what_is_no_day_and_time_is_refused_with_the_form_that_is_accepted(text):
    with pytest.raises(CalendarError, match="start: got .*such as 2026-12-05 06:00"):
        moment("start", text, ZoneInfo("America/Chicago"))


def test_the_form_of_a_browsers_own_field_is_taken_too():
    assert moment("start", "2026-12-05T06:00", ZoneInfo("America/Chicago")) == datetime(2026, 12, 5, 12, tzinfo=UTC)
