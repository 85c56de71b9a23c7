"""Rules are asked once for what they read, and that changes no word of theirs."""

from dataclasses import replace
from datetime import timedelta
from functools import cache

import pytest

from materials.sheet import INCH
from quoting.routing.candidates import candidates
from quoting.routing.judging import judge, judged
from quoting.routing.plan import planned
from quoting.routing.recalled import Recalled
from quoting.routing.rules.all_rules import FRAME, READS, RULES
from quoting.routing.rules.frame import blank_in_clamp_frame
from tests.quoting.routing.routing_catalog import (
    TODAY,
    abs_polymer,
    catalog,
    hdpe,
    machine,
    offer,
    part,
    planned_all,
    request,
    twin_machine,
)

SMALL = {"length": 18 * INCH, "width": 12 * INCH, "depth": 4 * INCH, "surface_area": 456 * INCH**2}
PARTS = (
    {},
    SMALL,
    {"enclosed": True},
    {"texture_depth": 0.002 * INCH, "undercut_depth": 0.3 * INCH, "draft_angle": 0.01},
    {"gauge": 0.5 * INCH, "minimum_wall": None},
    {"gauge": None, "minimum_wall": 0.08 * INCH, "tolerance": 0.03 * INCH, "show_side": "both"},
    {"length": 200 * INCH, "width": 150 * INCH, "surface_area": 40000 * INCH**2},
    {"depth": 30 * INCH, "surface_area": 5200 * INCH**2, "smallest_radius": 0.05 * INCH},
)
REQUESTS = (
    *(request(part(**changes)) for changes in PARTS),
    replace(request(part(**SMALL)), needs=("food_contact", "flame_v0", "outdoor_uv"), annual=30000),
    replace(request(part(**SMALL)), colour="custom", tooling="transfer"),
)
LARGE_HOUSE = catalog(
    machines=tuple(
        make(code=f"{make.__name__}-{number}", largest_opening_length=(60 + 12 * number) * INCH)
        for make in (machine, twin_machine)
        for number in range(4)
    ),
    polymers=(abs_polymer(), abs_polymer(name="ABS 2", deflection_temperature=345.0), hdpe()),
    offers=(offer(), offer(name="other mill", longest=50 * INCH), offer("ABS 2", lead_time_weeks=3.0), offer("HDPE")),
)


class Guarded:
    """A candidate that shows only the parts that were named; asking for another one is an error."""

    def __init__(self, shown: object, names: tuple[str, ...], path: str = "") -> None:
        self._shown, self._names, self._path = shown, names, path

    def __getattr__(self, name: str) -> object:
        path = f"{self._path}{name}"
        if path in self._names:
            return getattr(self._shown, name)
        if any(one.startswith(f"{path}.") for one in self._names):
            return Guarded(getattr(self._shown, name), self._names, f"{path}.")
        raise AssertionError(f"{path} is read and not named among {self._names}")


@cache
def every_candidate(asked):
    return [one for group in planned_all(asked, LARGE_HOUSE) for one in group]


@pytest.mark.parametrize("asked", REQUESTS)
def test_what_is_said_once_for_many_is_what_each_rule_says_of_each(asked):
    groups = judged(planned_all(asked, LARGE_HOUSE))

    assert len(groups) == 3 * 8 * (4 if asked.colour == "stock" else 3)
    assert all(one.verdicts == judge(one.planned) for group in groups for one in group)
    assert all(one.failures == sum(not said.passed for said in one.verdicts) for group in groups for one in group)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.__name__)
def test_a_rule_reads_nothing_but_what_it_names(rule):
    for asked in REQUESTS:
        for one in every_candidate(asked)[::5]:
            assert rule(Guarded(one, ("request", "on", *READS[rule]))) == rule(one)


def test_a_rule_that_reads_what_it_does_not_name_is_found_out():
    one = every_candidate(REQUESTS[0])[0]

    assert blank_in_clamp_frame(Guarded(one, ("request", "on", *FRAME))) == blank_in_clamp_frame(one)
    with pytest.raises(AssertionError, match="candidate.layout is read"):
        blank_in_clamp_frame(Guarded(one, ("request", "on", "candidate.machine")))


def test_candidates_of_two_inquiries_and_of_two_days_are_told_apart():
    few, many = planned_all(request(annual=20)), planned_all(request(annual=2400))
    house, day = catalog(), TODAY + timedelta(days=9999)
    later = planned(request(annual=2400), candidates(request(annual=2400), house, TODAY), house, day)

    together = judged(few + many + later)

    assert list(map(list, together)) == list(map(list, judged(few) + judged(many) + judged(later)))
    assert all(one.verdicts == judge(one.planned) for group in together for one in group)


def test_a_rule_is_asked_once_for_what_it_reads(monkeypatch):
    asked, rule = [], blank_in_clamp_frame

    def counted(planned):
        asked.append(planned)
        return rule(planned)

    monkeypatch.setattr("quoting.routing.judging.RULES", tuple(counted if one is rule else one for one in RULES))
    monkeypatch.setitem(READS, counted, READS[rule])
    monkeypatch.setattr("quoting.routing.judging.RULES_OF_THE_LAYOUT", frozenset({counted}))
    groups = judged(planned_all(request(), LARGE_HOUSE))
    assert all(group[number] is group[number] for group in groups for number in range(len(group)))

    seen = [(one.candidate.machine.code, one.candidate.layout) for one in asked]
    assert len(seen) == len(set(seen))


def test_a_result_is_recalled_for_the_same_arguments_only():
    worked_out, recalled = [], Recalled()

    def doubled(value):
        worked_out.append(value)
        return value * 2

    assert [recalled.of(doubled, value) for value in (2.0, 3.0, 2.0)] == [4.0, 6.0, 4.0]
    assert worked_out == [2.0, 3.0]


def test_an_object_that_takes_the_place_of_another_in_memory_is_not_taken_for_it():
    recalled = Recalled()

    assert [recalled.of(len, ["x"] * count) for count in range(200)] == list(range(200))
