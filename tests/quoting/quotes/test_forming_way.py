"""How the answer forms a part, as a thickness map is told it."""

import pytest

from quoting.quotes.forming_way import PLAIN, forming_way

INCH = 0.0254


def answered(along: int, across: int, gap: float = 4 * INCH, plug: bool = False, gauge: float = 0.187 * INCH) -> dict:
    layout = {"along": along, "across": across, "gap": gap, "margin": 2.5 * INCH}
    planned = {
        "request": {"part": {"length": 40 * INCH, "width": 28 * INCH}},
        "candidate": {"layout": layout, "gauge": gauge, "process": "vacuum"},
        "plan": {"thinning": {"plug": plug}},
    }
    return {"chosen": {"judged": {"planned": planned}}}


@pytest.mark.parametrize(
    ("along", "across", "gap", "web", "toward"),
    [
        # one cavity: 2.5 in of margin less the 1 in that the clamp takes at this gauge (common practice, no source)
        (1, 1, 4.0, 1.5, "clamp"),
        # several: half of the gap to the next, where that is narrower
        (2, 1, 2.0, 1.0, "next"),
        (1, 3, 4.0, 1.5, "clamp"),
    ],
)
def test_the_web_is_the_narrowest_strip_around_a_cavity(along, across, gap, web, toward):
    way = forming_way(answered(along, across, gap * INCH))
    assert way["web"] == pytest.approx(web * INCH, abs=1e-6)
    assert way["toward"] == toward
    assert (way["along"], way["across"], way["process"]) == (along, across, "vacuum")


def test_a_plug_of_the_answer_is_a_plug_of_the_map():
    assert forming_way(answered(1, 1, plug=True))["plug"] is True
    assert forming_way(answered(1, 1))["plug"] is False


@pytest.mark.parametrize("snapshot", [None, {}, {"chosen": None}])
def test_without_a_route_the_sheet_is_clamped_at_the_rim(snapshot):
    assert forming_way(snapshot) == PLAIN
