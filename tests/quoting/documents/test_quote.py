"""What the quote says, before it is printed."""

from copy import deepcopy
from itertools import pairwise
from pathlib import Path

import pytest

from quoting.documents.blank_drawing import blank_drawing
from quoting.documents.cautions import caution_sentences
from quoting.documents.letter import deciding_verdict, letter_document
from quoting.documents.quote import quote_document
from quoting.documents.reasons import other_ways, why_this_way
from quoting.documents.tolerances import formed_tolerance, tolerance_rows, trimmed_tolerance
from tests.quoting.documents.conftest import ISSUED, SECRET, VALID

ROOT = Path(__file__).resolve().parents[3]
CLAIMS = ("nsf listed", "ul rated", "ul listed", "ul recognized", "fda approved", "nsf certified", "nsf approved")
INCH = 0.0254


def context(snapshot: dict) -> dict:
    return quote_document(
        snapshot, number="Q-1", revision=1, issued_on=ISSUED, valid_until=VALID, prepared_by="Jo Marsh"
    )


def test_the_context_holds_no_internal_amount(quoted):
    shown = repr(context(quoted))
    assert SECRET not in shown
    assert "secret" not in shown


def test_the_snapshot_is_left_as_it_was(quoted):
    before = deepcopy(quoted)
    context(quoted)
    assert quoted == before


@pytest.mark.parametrize(
    ("process", "side", "said"),
    [("vacuum", "male", "Vacuum forming over a male tool"), ("vacuum", "female", "Vacuum forming"),
     ("vacuum", None, "Vacuum forming"), ("twin_sheet", "male", "Twin-sheet forming")],
)  # fmt: skip
def test_a_part_over_a_male_tool_is_said_to_be_formed_so(quoted, process, side, said):
    planned = quoted["chosen"]["judged"]["planned"]
    planned["candidate"]["process"], planned["request"]["part"]["tool_side"] = process, side
    if side is None:  # an answer stored before there was a choice
        del planned["request"]["part"]["tool_side"]
    assert dict(context(quoted)["route"])["Process"] == said


def test_a_snapshot_without_a_price_is_refused(refused):
    with pytest.raises(ValueError, match="not_a_fit"):
        context(refused)


def test_a_letter_without_a_failed_verdict_is_refused(refused):
    refused["candidates"] = []
    with pytest.raises(ValueError, match="no verdict failed"):
        letter_document(refused, number="Q-1", revision=1, issued_on=ISSUED, prepared_by="Jo Marsh")


def test_the_closest_candidate_decides_the_letter(refused):
    worse = deepcopy(refused["candidates"][0])
    for verdict in worse["judged"]["verdicts"]:
        verdict["status"] = "fails"
    refused["candidates"] = [worse, *refused["candidates"]]
    assert deciding_verdict(refused)["rule"] == "skins"


def test_a_verdict_on_what_the_part_does_not_have_is_no_reason(quoted):
    verdict = quoted["chosen"]["judged"]["verdicts"][0]
    assert any("drawn depth" in reason for reason in why_this_way(quoted))
    verdict["measured"] = 0.0
    assert not any("drawn depth" in reason for reason in why_this_way(quoted))


def test_other_processes_are_named_with_what_stands_in_their_way(quoted):
    assert other_ways(quoted) == [
        "Twin-sheet forming was judged and does not fit: the part has 1 skin; this process makes 2."
    ]


# "Thermoforming Dimensions and Tolerances", a thermoformer: cast aluminium .030 in for the first 12 in, .001 in for
# each further inch; machined .020 in. Worked by hand for 40 in.
@pytest.mark.parametrize(("machined", "expected"), [(False, 0.058), (True, 0.048)])
def test_a_formed_length_of_forty_inches_is_held_as_the_trade_prints(machined, expected):
    assert formed_tolerance(40 * INCH, machined=machined, shrinking=False) / INCH == pytest.approx(expected)


def test_semicrystalline_sheet_doubles_the_formed_tolerance():
    assert formed_tolerance(40 * INCH, machined=False, shrinking=True) / INCH == pytest.approx(0.116)


# The same page: trimmed edge to edge .030 in, .001 in for each inch to 48 in, .002 in beyond. 60 in by hand.
def test_a_trimmed_length_gains_faster_beyond_forty_eight_inches():
    assert trimmed_tolerance(60 * INCH, by_hand=False) / INCH == pytest.approx(0.030 + 0.036 + 0.024)


def test_hole_tolerances_are_printed_only_for_a_part_with_holes(quoted):
    planned = quoted["chosen"]["judged"]["planned"]
    assert any("Hole" in feature for feature, _ in tolerance_rows(planned, []))
    planned["request"]["part"]["holes"] = 0
    assert not any("Hole" in feature for feature, _ in tolerance_rows(planned, []))


def test_food_and_flame_cautions_leave_listing_to_the_certifier(quoted):
    said = caution_sentences(quoted)
    food = next(text for text in said if text.startswith("Food"))
    flame = next(text for text in said if text.startswith("Flame"))
    assert "sheet whose maker states" in food
    assert "must come from the certifier" in food
    assert "0.058 in (1.47 mm)" in flame


def test_a_caution_that_the_answer_already_gives_is_not_said_twice(quoted):
    quoted["cautions"] = ["Food contact: listing is for the certifier.", "Flame class: ask the certifier."]
    assert sum("food" in text.lower() for text in caution_sentences(quoted)) == 1


def test_no_template_or_text_of_ours_claims_an_approval(quoted):
    files = [*(ROOT / "templates/documents").iterdir(), *(ROOT / "quoting/documents").glob("*.py")]
    texts = [path.read_text().lower() for path in files] + [repr(context(quoted)).lower()]
    assert len(files) > 10
    assert not [claim for claim in CLAIMS for text in texts if claim in text]


def test_templates_of_documents_hold_no_long_text_of_a_reason():
    for path in (ROOT / "templates/documents").glob("*.html"):
        assert len(path.read_text().splitlines()) < 120, path.name


def test_the_drawing_is_to_one_scale_and_says_its_sizes(quoted):
    planned = quoted["chosen"]["judged"]["planned"]
    svg = blank_drawing(planned["candidate"], planned["plan"])
    sides = rectangles(svg)
    platen, opening, blank, inside, cavity = sides[:5]
    scale = platen[0] / 72
    for (width, height), inches in (
        (platen, (72, 60)), (opening, (70, 58)), (blank, (45, 33)), (inside, (43, 31)), (cavity, (40, 28)),
    ):  # fmt: skip
        assert width / scale == pytest.approx(inches[0], abs=0.05)
        assert height / scale == pytest.approx(inches[1], abs=0.05)
    assert "40.00 × 28.00 in (1016 × 711 mm)" in svg
    assert 'role="img"' in svg
    assert "<title>" in svg
    assert "<desc>" in svg
    assert "style=" not in svg


def test_the_drawing_shows_every_cavity_apart_by_the_gap(quoted):
    planned = quoted["chosen"]["judged"]["planned"]
    layout = planned["candidate"]["layout"]
    layout.update(along=3, across=2, part_along=15 * INCH, part_across=10 * INCH, gap=2 * INCH)
    svg = blank_drawing(planned["candidate"], planned["plan"])
    assert len(rectangles(svg)) == 4 + 6 + 5  # outlines, cavities, samples of the legend
    scale = rectangles(svg)[0][0] / 72
    lefts = sorted({left for (left,) in rectangles(svg, ("x",))[4:10]})
    steps = [(after - before) / scale for before, after in pairwise(lefts)]
    assert steps == pytest.approx([15 + 2, 15 + 2], abs=0.02)
    assert "6 cavities" in svg


def test_a_blank_that_outgrows_the_platen_stays_inside_the_drawing(quoted):
    planned = quoted["chosen"]["judged"]["planned"]
    planned["candidate"]["layout"]["blank_length"] = 120 * INCH
    svg = blank_drawing(planned["candidate"], planned["plan"])
    assert "larger than the opening" in svg
    width = float(svg.split('viewBox="0 0 ')[1].split()[0])
    assert all(side[0] < width for side in rectangles(svg))


def test_a_machine_code_with_markup_is_escaped_in_the_drawing(quoted):
    planned = quoted["chosen"]["judged"]["planned"]
    planned["candidate"]["machine"]["code"] = '"><script>'
    assert "<script>" not in blank_drawing(planned["candidate"], planned["plan"])


def rectangles(svg: str, sides: tuple[str, ...] = ("width", "height")) -> list[tuple[float, ...]]:
    parts = [" " + part.split("/>")[0] for part in svg.split("<rect ")[1:]]
    return [tuple(float(part.split(f' {side}="')[1].split('"')[0]) for side in sides) for part in parts]


def test_what_can_hurt_people_at_the_machine_is_not_told_to_the_customer(quoted):
    quoted["hazards"] = [
        {"text": "The box stores {energy}.", "figures": [{"name": "energy", "value": 3e5, "unit": "J"}]}
    ]
    assert "The box stores" not in repr(context(quoted))


def amortised(quoted: dict) -> dict:
    quoted["chosen"]["cost"]["amortised"] = {
        "parts": 2400, "years": "1", "rate": "0.08", "tooling": "18600.00", "carrying": "744.00", "per_part": "8.06",
    }  # fmt: skip
    return quoted


def test_amortised_tooling_is_told_as_paid_in_the_unit_price_with_its_carrying_charge(quoted):
    said = context(amortised(quoted))

    assert said["tooling"]["amortised"] == {
        "parts": "2,400", "per_part": "$8.06", "carrying": "$744.00", "rate": "8.0 %", "paid": "$19,344.00",
    }  # fmt: skip
    assert "paid through the unit price" in dict(said["terms"])["Tooling"]


def test_tooling_billed_by_itself_keeps_its_terms(quoted):
    said = context(quoted)

    assert said["tooling"]["amortised"] is None
    assert "50 % with order" in dict(said["terms"])["Tooling"]


def test_options_and_estimates_stand_beside_the_tooling_and_leave_its_sum(quoted):
    total = context(quoted)["tooling"]["total"]
    quoted["chosen"]["cost"]["options"] = [
        {"name": "likely_repairs", "low": "435", "high": "2175", "lead_time_weeks": 0.0, "basis": "", "inputs": []},
        {"name": "prototype", "low": "3500", "high": "3500", "lead_time_weeks": 2.0, "basis": "", "inputs": []},
    ]
    table = context(quoted)["tooling"]

    assert [one["price"] for one in table["options"]] == ["$435.00 to $2,175.00", "$3,500.00"]
    assert table["total"] == total


def test_a_quote_stored_before_there_were_options_still_prints(quoted):
    for name in ("amortised", "options"):
        quoted["chosen"]["cost"].pop(name)

    assert context(quoted)["tooling"]["options"] == []
