"""What goes with a quote: conditions and cautions that carry their figures."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from types import SimpleNamespace

import pytest

from machines.press import HEAD_SPACE, PSI
from materials.sheet import INCH
from quoting.answer import NEEDS_INFORMATION, Answer, PricedCandidate
from quoting.contract import to_contract, to_plain
from quoting.costing.lines import Amortised, ToolingOption
from quoting.intake.part import CustomerTool, Secondary
from quoting.management.readable import readable
from quoting.qualifying import cautions, conditions, hazards
from quoting.routing.candidate import JudgedCandidate
from quoting.routing.judging import judge
from quoting.units import spoken
from quoting.words import words
from tests.quoting.routing.routing_catalog import KELVIN, TODAY, changed, one_planned, part, request

NO_COST = SimpleNamespace(excess=(), breaks=(), amortised=None, options=())


def priced(process="vacuum", asked=None, **where):
    planned = one_planned(process, asked or request(part(enclosed=process == "twin_sheet")), **where)
    return PricedCandidate(JudgedCandidate.of(planned, judge(planned)), NO_COST, 1)


def figures(sentence):
    return {figure.name: figure.value for figure in sentence.figures}


def about(sentences, word):
    return next(one for one in sentences if word in one.text)


def said(chosen):
    return [one.what.text for one in conditions(chosen, chosen.judged.planned.request, TODAY)]


def test_the_air_in_a_pressure_box_is_given_in_kilojoules_beside_the_mark_of_high_hazard():
    stored = about(hazards(priced("pressure")), "pressure box")
    volume = 43 * 31 * INCH**2 * (8 * INCH + HEAD_SPACE)

    # Brode: 60 psi x volume/0.4, by hand; the box is 43 x 31 in inside its clamps, the part 8 in deep
    assert figures(stored)["energy"] == pytest.approx(60 * PSI * volume / 0.4)
    assert figures(stored)["volume"] == pytest.approx(volume)
    # 15 psi is where a vessel in general counts as one; 100 kJ is the mark of the safety page
    assert (figures(stored)["vessel"], figures(stored)["mark"]) == (pytest.approx(15 * PSI), 100e3)
    assert "kJ" in spoken(stored) and "licensed engineer" in spoken(stored)


def test_the_air_between_two_sheets_fills_the_part_once():
    stored = about(hazards(priced("twin_sheet")), "two sheets")

    # 40 x 28 x 8 in at the 85 kPa that the vacuum gives
    assert figures(stored)["volume"] == pytest.approx(40 * 28 * 8 * INCH**3)
    assert figures(stored)["energy"] == pytest.approx(85e3 * 40 * 28 * 8 * INCH**3 / 0.4)


def test_a_vacuum_stores_nothing_worth_a_word():
    assert not any("stores" in one.text for one in hazards(priced("vacuum")))


@pytest.mark.parametrize("process", ["vacuum", "pressure", "twin_sheet"])
def test_hot_sheet_and_fumes_are_named_with_their_temperatures(process):
    chosen = priced(process)
    hot, fumes = about(hazards(chosen), "travel hot"), about(hazards(chosen), "fumes")

    assert figures(hot)["skin"] == figures(fumes)["skin"] == chosen.judged.planned.plan.heating.surface_peak
    assert figures(fumes)["limit"] == 185 + KELVIN
    assert "{" not in "".join(spoken(one) for one in hazards(chosen))


def test_acid_gas_is_named_for_pvc_alone():
    planned = priced().judged.planned
    pvc = changed(planned, polymer={"name": "PVC/acrylic {rigid}"})

    assert "acid gas" in about(hazards(PricedCandidate(JudgedCandidate.of(pvc, ()), NO_COST, 1)), "fumes").text
    assert "acid gas" not in about(hazards(priced()), "fumes").text


def test_a_polyolefin_is_held_in_a_fixture_and_its_tool_cut_larger():
    chosen = priced(polymer="HDPE")
    held = about([one.what for one in conditions(chosen, chosen.judged.planned.request, TODAY)], "cooling fixture")

    # the polymer of the test house shrinks 0.6 % over the longer side of 40 in: 0.24 in, by hand
    assert figures(held)["allowance"] == pytest.approx(0.24 * INCH)
    assert figures(held)["side"] == pytest.approx(40 * INCH)


def test_an_amorphous_part_needs_no_cooling_fixture():
    assert not any("cooling fixture" in what for what in said(priced()))


def test_a_tool_that_comes_from_elsewhere_cannot_be_cut_larger_any_more():
    chosen = priced(asked=replace(request(), tooling="transfer"), polymer="HDPE")

    assert any("must have been cut larger" in what for what in said(chosen))


def test_a_lock_with_little_to_spare_is_a_condition_of_the_quote():
    planned = priced("pressure").judged.planned
    tight = changed(planned, press={"lock_force": 1.05 * 60 * PSI * 43 * 31 * INCH**2})
    chosen = PricedCandidate(JudgedCandidate.of(tight, judge(tight)), NO_COST, 1)

    assert any("times the force that opens it" in what for what in said(chosen))
    assert not any("times the force that opens it" in what for what in said(priced("pressure")))


def with_cost(chosen, **cost):
    return replace(chosen, cost=SimpleNamespace(**(vars(NO_COST) | cost)))


def test_tooling_in_the_part_price_says_what_happens_when_fewer_are_ordered():
    paid = Amortised(2400, Decimal(1), Decimal("0.08"), Decimal(18600), Decimal(744), Decimal("8.06"))
    chosen = with_cost(priced(), amortised=paid)
    (one,) = (one for one in conditions(chosen, chosen.judged.planned.request, TODAY) if "fewer" in one.what.text)

    assert figures(one.what) == {"each": 8.06, "time": 52}
    assert "the rest is billed at once" in one.what.text and "price falls" in one.what.text
    assert "$744.00" in spoken(one.why) and "8.0 %" in spoken(one.why)


def test_likely_repairs_of_a_transferred_tool_are_told_as_an_estimate():
    guess = ToolingOption("likely_repairs", Decimal(435), Decimal(2175), 0.0, "")
    chosen = with_cost(priced(asked=request(tooling="transfer")), options=(guess,))

    assert any("repairs" in what and "not in the price" in what for what in said(chosen))


def test_whether_a_tool_can_be_lifted_is_said_to_be_not_assessed():
    unknown, known = (priced(asked=request(tooling="transfer", tool=CustomerTool(mass=mass))) for mass in (None, 290.0))

    assert any("lift" in what and "not assessed" in what for what in said(unknown))
    assert any("proved before it is moved" in what for what in said(known))
    assert figures(about(hazards(known), "weighs"))["mass"] == 290.0
    assert not any("weighs" in one.text for one in hazards(unknown))
    assert any("Tools are heavy" in one for one in cautions(known))


@pytest.mark.parametrize(
    ("operation", "word"),
    [("solvent_bond", "Solvents"), ("hot_plate_weld", "Hot plates"), ("paint", "spray booth"), ("emi_coat", "mist")],
)
def test_work_that_can_hurt_carries_its_caution_and_defers_to_local_codes(operation, word):
    chosen = priced(asked=request(secondary=(Secondary(operation, 1),)))
    (caution,) = (one for one in cautions(chosen) if word in one)

    assert "local" in caution
    assert not any(word in one for one in cautions(priced()))


def test_sheet_with_a_certificate_takes_regrind_only_as_its_maker_allows():
    chosen = priced(asked=request(needs=("flame_v0",)))

    assert any("regrind goes back" in what for what in said(chosen))
    assert not any("regrind" in what for what in said(priced()))


HAZARD = words("The box stores {energy}.", energy=(310e3, "J"))


def answer_with(*found):
    return Answer(
        decision=NEEDS_INFORMATION, summary=words("none"), answered_on=date(2026, 11, 25), request=None, chosen=None,
        candidates=(), referral=None, metal_comparison=None, conditions=(), missing=(), assumptions=(), doubts=(),
        cautions=("Sharp edges.",), deciding=None, hazards=found,
    )  # fmt: skip


def test_the_command_line_tells_hazards_among_the_cautions_and_the_store_keeps_them_apart():
    answer = answer_with(HAZARD)

    assert to_contract(answer)["cautions"] == ["Sharp edges.", "The box stores 310 kJ."]
    assert "The box stores 310 kJ." in readable(answer)
    assert to_plain(answer)["cautions"] == ["Sharp edges."]
    assert to_plain(answer)["hazards"][0]["figures"][0]["value"] == 310e3


def test_an_answer_without_hazards_says_so_with_an_empty_list():
    assert to_plain(answer_with())["hazards"] == []
