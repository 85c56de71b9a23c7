"""Where a part goes that we do not make, and the verdict that decided it."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.sheet import INCH
from quoting.routing.judging import judged
from quoting.routing.referral import ASK_THE_MILL, closeness, deciding_verdict, referral
from tests.quoting.routing.routing_catalog import (
    abs_polymer,
    catalog,
    machine,
    part,
    planned_all,
    request,
    twin_machine,
)


def all_judged(asked, house=None):
    return tuple(one for group in judged(planned_all(asked, house)) for one in group)


def box(length, width, depth, **more):
    surface = (length * width + 2 * (length + width) * depth) * INCH**2
    sizes = {"length": length * INCH, "width": width * INCH, "depth": depth * INCH, "surface_area": surface}
    return part(**{**sizes, **more})


TANK = {"enclosed": True}

REFERRED = [
    (request(part(gauge=0.04 * INCH)), "least gauge of the trade", "thin-gauge roll-fed thermoforming"),
    (request(part(gauge=0.75 * INCH)), "most gauge of the trade", "fabricated plastic sheet"),
    (request(box(150, 100, 10)), "blank in clamp frame", "FRP lay-up"),
    (request(box(150, 100, 10, **TANK)), "blank in clamp frame", "rotational moulding"),
    (request(box(12, 10, 14)), "depth over width", "injection moulding"),
    (request(box(40, 20, 24)), "depth over width", "reaction injection moulding"),
    (request(box(40, 20, 24), annual=4000), "depth over width", "structural foam"),
    (request(part(undercut_depth=1.5 * INCH)), "undercut", "reaction injection moulding"),
    (request(part(draft_angle=0.001)), "draft", "injection moulding"),
    (request(part(smallest_radius=0.01 * INCH)), "smallest radius", "injection moulding"),
    (request(part(tolerance=0.01 * INCH)), "tolerance", "injection moulding"),
    (request(part(service_temperature=400.0)), "service temperature", "compression-moulded composite"),
    (request(part(service_temperature=480.0)), "service temperature", "sheet metal"),
    (request(annual=10), "parts over the programme", "fabricated plastic sheet"),
    (request(annual=100_000), "yearly quantity", "structural foam"),
    (request(box(5, 4, 1), annual=50_000), "small part in large numbers", "injection moulding"),
    (request(needs=("transparent",)), "polymer needs", ASK_THE_MILL),
    (request(colour="natural"), "sheet offered", ASK_THE_MILL),
]


@pytest.mark.parametrize(("asked", "rule", "process"), REFERRED, ids=[f"{row[1]}-{row[2]}" for row in REFERRED])
def test_a_part_that_is_no_fit_is_sent_where_it_belongs_and_told_why(asked, rule, process):
    found = all_judged(asked)
    sent = referral(found, asked)

    assert not any(one.fits for one in found)
    assert deciding_verdict(found).rule == rule
    assert sent.process == process
    assert {"measured", "limit"} <= {figure.name for figure in sent.why.figures}


def test_a_part_that_fits_somewhere_is_sent_nowhere():
    found = all_judged(request())

    assert deciding_verdict(found) is None
    assert referral(found, request()) is None


def test_the_machine_that_comes_closest_speaks_for_all():
    house = catalog(
        machines=tuple(
            machine(code=f"M{inches}", largest_opening_length=inches * INCH, largest_opening_width=72 * INCH)
            for inches in (60, 80, 70)
        )
    )
    found = all_judged(request(box(90, 30, 10, gauge=0.187 * INCH)), house)

    assert deciding_verdict(found).limit == pytest.approx(80 * INCH)


def test_where_no_rule_fails_everywhere_the_candidates_with_the_fewest_failures_speak():
    textured = request(part(texture_depth=0.0001, draft_angle=0.2))
    house = catalog(machines=(machine(pressure_capability=0.0),), polymers=(abs_polymer(),))
    found = all_judged(textured, house)

    # vacuum fails on texture alone, pressure forming on its missing box alone
    assert deciding_verdict(found).rule == "texture"


def test_ways_to_make_another_number_of_skins_have_no_say():
    # each half of a twin-sheet would be shallow enough, but the part has one skin
    house = catalog(machines=(twin_machine(draw_depth_above=10 * INCH, draw_depth_below=10 * INCH),))
    found = all_judged(request(box(40, 28, 14, gauge=0.187 * INCH)), house)

    assert deciding_verdict(found).rule == "draw depth"


def test_every_part_without_a_polymer_in_the_table_is_sent_to_ask_the_mill():
    assert referral((), request()).process == ASK_THE_MILL


def test_closeness_is_nothing_at_the_limit():
    verdict = all_judged(request())[0].verdicts[0]

    assert closeness(verdict) > 0
    assert closeness(type(verdict)("r", "fits", 2.0, 2.0, "m", verdict.says, "b")) == 0


@given(
    length=st.floats(min_value=3, max_value=200),
    width=st.floats(min_value=3, max_value=200),
    depth=st.floats(min_value=0.5, max_value=60),
    gauge=st.floats(min_value=0.02, max_value=1.0),
    annual=st.integers(min_value=1, max_value=200_000),
    enclosed=st.booleans(),
    texture=st.sampled_from([0.0, 0.0001]),
)
@settings(deadline=None, max_examples=40)
def test_whatever_is_asked_either_fits_or_is_referred_with_figures(
    length, width, depth, gauge, annual, enclosed, texture
):
    wanted = box(length, width, depth, gauge=gauge * INCH, enclosed=enclosed, texture_depth=texture)
    asked = request(wanted, annual=annual)
    found = all_judged(asked, catalog(machines=(machine(),), polymers=(abs_polymer(),)))

    if any(one.fits for one in found):
        assert referral(found, asked) is None
    else:
        assert all(any(not verdict.passed for verdict in one.verdicts) for one in found)
        assert referral(found, asked).process
        assert {"measured", "limit"} <= {figure.name for figure in referral(found, asked).why.figures}
