"""What is counted for many layouts at once is what the rules say of each."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.sheet import INCH
from quoting.intake.part import CustomerTool, PartRequest
from quoting.routing.candidates import candidates
from quoting.routing.plan import PlannedGroup, planned
from quoting.routing.rules.all_rules import RULES_OF_THE_LAYOUT
from quoting.routing.rules.of_layouts import PASSES, blanks_of, failures_of_layouts
from tests.quoting.repricing.demo import ON, house, requests
from tests.quoting.routing.routing_catalog import catalog, machine, planned_all, request
from tests.quoting.routing.test_judging import LARGE_HOUSE, REQUESTS
from tests.quoting.routing.test_referral import box

SIDES = ("female", "male")


def on_tool(asked: PartRequest, side: str) -> PartRequest:
    return replace(asked, part=replace(asked.part, tool_side=side))


def said(groups: tuple[PlannedGroup, ...]) -> list[list[int]]:
    """Failed rules of the layout, by the rules themselves."""
    return [[sum(not rule(one).passed for rule in RULES_OF_THE_LAYOUT) for one in group] for group in groups]


def counted(groups: tuple[PlannedGroup, ...]) -> list[list[int]]:
    found = failures_of_layouts(groups[0].request, [group.candidates for group in groups])
    return [one.tolist() for one in found]


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("name", requests())
def test_failures_of_layouts_are_counted_as_the_rules_say(name, side):
    asked = on_tool(requests()[name], side)
    groups = planned(asked, candidates(asked, house(), ON), house(), ON)

    assert {group.candidates.first.process for group in groups} == {"vacuum", "pressure", "twin_sheet"}
    assert counted(groups) == said(groups)


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("asked", REQUESTS)
def test_failures_are_counted_as_the_rules_say_in_a_house_of_many_frames(asked, side):
    groups = planned_all(on_tool(asked, side), LARGE_HOUSE)

    assert counted(groups) == said(groups)


@pytest.mark.parametrize("tool", [CustomerTool(1.6, 0.9, 0.4), CustomerTool(0.9, 0.7, 0.4), CustomerTool(height=0.4)])
def test_failures_of_a_customers_tool_are_counted_as_the_rules_say(tool):
    small = {"length": 18 * INCH, "width": 12 * INCH, "depth": 4 * INCH, "surface_area": 456 * INCH**2}
    plain = request()
    asked = replace(plain, part=replace(plain.part, **small), tooling="transfer", tool=tool)
    groups = planned_all(asked, catalog(machines=(machine(platen_length=1.2, lock_force=2e5), *LARGE_HOUSE.machines)))

    assert counted(groups) == said(groups)


@given(
    length=st.floats(4, 110),
    width=st.floats(3, 70),
    depth=st.floats(0.5, 25),
    gauge=st.sampled_from([0.060, 0.125, 0.187, 0.375]),
    side=st.sampled_from(SIDES),
    enclosed=st.booleans(),
    texture=st.sampled_from([0.0, 0.0001]),
    base=st.none() | st.floats(0.2, 3.0),
    frame=st.floats(10, 120),
    lock=st.floats(1e4, 5e6),
    clearance=st.floats(0.01, 0.6),
    below=st.floats(0.05, 1.0),
)
@settings(deadline=None, max_examples=15)
def test_failures_are_counted_as_the_rules_say_whatever_is_asked_of_whatever_machine(
    length, width, depth, gauge, side, enclosed, texture, base, frame, lock, clearance, below
):
    part = box(length, width, depth, gauge=gauge * INCH, enclosed=enclosed, texture_depth=texture, tool_side=side)
    tool = CustomerTool() if base is None else CustomerTool(base, base / 2)
    asked = request(part, tool=tool)
    plain = machine()
    odd = machine(
        code="odd",
        smallest_opening_length=frame / 3 * INCH,
        largest_opening_width=frame * INCH,
        lock_force=lock,
        tool_height_below=below,
        oven=replace(plain.oven, clearance_below=clearance),
    )
    groups = planned_all(asked, replace(LARGE_HOUSE, machines=(plain, odd)))

    assert counted(groups) == said(groups)


def test_every_rule_of_the_layout_is_counted_by_itself():
    assert PASSES.keys() == RULES_OF_THE_LAYOUT

    seen = {rule: set() for rule in PASSES}
    for asked in REQUESTS:
        groups = [one for one in planned_all(asked, LARGE_HOUSE) if one.candidates.first.process == "pressure"]
        blanks = blanks_of(asked, "pressure", [one.candidates for one in groups])
        for rule, passes in PASSES.items():
            told = [rule(one).passed for group in groups for one in group]
            assert passes(blanks).tolist() == told, rule.__name__
            seen[rule] |= set(told)
    assert sum(both == {True, False} for both in seen.values()) > 4  # so that not everything passes everywhere


def test_failures_come_group_by_group_in_their_order():
    groups = [one.candidates for one in planned_all(REQUESTS[1], LARGE_HOUSE)]
    found = failures_of_layouts(REQUESTS[1], groups)

    assert [len(one) for one in found] == [len(one) for one in groups]
    for number in (0, len(groups) // 2, -1):
        alone = failures_of_layouts(REQUESTS[1], [groups[number]])
        assert np.array_equal(alone[0], found[number])
