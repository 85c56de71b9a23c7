"""What needs no heat to be refused is refused before any is marched for it."""

from dataclasses import replace

import pytest

from materials.sheet import INCH
from quoting.answer import NOT_A_FIT, QUOTE
from quoting.contract import to_contract, to_plain
from quoting.documents.plant_comparison import plant_rows
from quoting.documents.reasons import closest_candidate, in_the_way, other_ways, steps_short
from quoting.quotes.fronts import front_of, route
from quoting.routing.candidates import candidates, laid_out, proposals
from quoting.routing.judging import judge, judged
from quoting.routing.plan import planned
from quoting.routing.referral import deciding_verdict, referral
from quoting.routing.refusing import EarlyRules
from quoting.routing.rules.all_rules import (
    READS,
    RULES,
    RULES_OF_THE_LAYOUT,
    RULES_OF_THE_MACHINE,
    RULES_OF_THE_STOCK,
)
from tests.quoting.routing.routing_catalog import TODAY, one_planned
from tests.quoting.test_answering import REQUESTS, answer_to, house, id_of, nobody_can

BEFORE = tuple(rule for rule in RULES if rule in RULES_OF_THE_STOCK or rule in RULES_OF_THE_MACHINE)
WITH_BLANK = tuple(rule for rule in RULES if rule in BEFORE or rule in RULES_OF_THE_LAYOUT)


def unplanned_of(answer):
    return [one for one in answer.candidates if one.judged.planned.plan is None]


@pytest.mark.parametrize("asked", REQUESTS)
def test_where_something_fits_the_others_are_refused_by_rules_that_read_no_heat(asked):
    answer = answer_to(asked)
    refused = unplanned_of(answer)

    assert answer.decision == QUOTE and refused
    names = [verdict.rule for verdict in judge(one_planned("vacuum", asked))]
    for one in refused:
        rules = BEFORE if one.judged.planned.candidate.layout is None else WITH_BLANK
        assert [verdict.rule for verdict in one.judged.verdicts] == [names[RULES.index(rule)] for rule in rules]
        assert not one.judged.fits and one.cost is None
        failed = [verdict for verdict in one.judged.verdicts if not verdict.passed]
        assert failed and all(verdict.reason.text and verdict.remedy.text for verdict in failed)


def test_a_rule_that_is_asked_before_the_plan_reads_nothing_of_it_but_walls_and_later_the_blank():
    for rule in WITH_BLANK:
        known = {"plan.thinning"} if rule in BEFORE else {"plan.thinning", "plan.sag", "plan.press", "candidate.layout"}
        read = {name for name in READS[rule] if name.startswith("plan.") or name == "candidate.layout"}
        assert read <= known


@pytest.mark.parametrize("asked", REQUESTS)
def test_nothing_that_every_rule_would_have_let_through_is_refused_unplanned(asked):
    groups = judged(planned(asked, candidates(asked, house(), TODAY), house(), TODAY))
    fitting = {id_of(group[0]) for group in groups if group.fits}

    assert {id_of(one.judged) for one in answer_to(asked).candidates if one.cost} == fitting


def with_a_small_frame():
    """The house, one of whose machines opens too little for the parts asked for."""
    first, *others = house().machines
    small = replace(first, largest_opening_length=14 * INCH, largest_opening_width=14 * INCH)
    return replace(house(), machines=(small, *others)), small.code


@pytest.mark.parametrize("asked", [*REQUESTS, nobody_can()])
def test_what_is_refused_unplanned_fails_the_same_rules_when_it_is_planned(asked):
    shop, small = with_a_small_frame()
    early, proposed = EarlyRules(asked, TODAY), proposals(asked, shop, TODAY)
    in_full = judged(planned(asked, candidates(asked, shop, TODAY), shop, TODAY))
    refused = early.of_proposals(proposed)
    others = [place for place in range(len(proposed)) if place not in refused]
    laid = dict(zip(others, laid_out(asked, [proposed[place] for place in others]), strict=True))
    by_blank = early.of_blanks(laid)

    assert not set(refused) & set(by_blank)
    assert {place for place in others if proposed[place].machine.code == small} <= set(by_blank)
    for found, rules in ((refused, BEFORE), (by_blank, WITH_BLANK)):
        for place, one in found.items():
            whole = tuple(in_full[place][0].verdicts[RULES.index(rule)] for rule in rules)
            assert one[0].verdicts == whole and one[0].failures == sum(not verdict.passed for verdict in whole)
    for place in set(others) - set(by_blank):
        assert all(in_full[place][0].verdicts[RULES.index(rule)].passed for rule in WITH_BLANK)


def test_a_part_too_large_for_some_frame_is_refused_there_with_its_blank_and_no_heat():
    shop, small = with_a_small_frame()
    answer = answer_to(REQUESTS[0], shop)
    refused = [one for one in unplanned_of(answer) if one.judged.planned.candidate.layout is not None]

    assert answer.decision == QUOTE
    assert {one.judged.planned.candidate.machine.code for one in refused} == {small}
    for one in refused:
        assert "blank in clamp frame" in {verdict.rule for verdict in one.judged.verdicts if not verdict.passed}
        assert len(one.judged.verdicts) == len(WITH_BLANK)
    # nearer than one on the same machine that lacks the process, though that one fails fewer of the rules it was asked
    there = [
        one
        for one in to_plain(answer)["candidates"]
        if one["judged"]["planned"]["candidate"]["machine"]["code"] == small
    ]
    assert "blank in clamp frame" in {verdict["rule"] for verdict in in_the_way(closest_candidate(there))}


def test_where_nothing_fits_all_but_the_wrong_number_of_skins_are_planned_and_judged_by_every_rule():
    answer = answer_to(nobody_can())
    others = [one for one in answer.candidates if one.judged.planned.candidate.process != "twin_sheet"]

    assert answer.decision == NOT_A_FIT and others
    assert {one.judged.planned.candidate.process for one in unplanned_of(answer)} == {"twin_sheet"}
    assert all(len(one.judged.verdicts) == len(RULES) for one in others)


@pytest.mark.parametrize("asked", [nobody_can(), replace(nobody_can(), part=replace(nobody_can().part, enclosed=True))])
def test_what_decides_that_nothing_fits_is_what_decides_among_all_of_them_planned(asked):
    answer = answer_to(asked)
    in_full = judged(planned(asked, candidates(asked, house(), TODAY), house(), TODAY))
    every = tuple(group[0] for group in in_full)

    assert answer.decision == NOT_A_FIT
    assert answer.deciding == deciding_verdict(every) and answer.referral == referral(every, asked)


@pytest.mark.parametrize("asked", REQUESTS)
def test_they_come_last_and_the_closest_is_one_that_was_planned(asked):
    answer = answer_to(asked, with_a_small_frame()[0])
    parts = [(one.judged.planned.plan, one.judged.planned.candidate.layout) for one in answer.candidates]
    short = [(plan is None) + (layout is None) for plan, layout in parts]
    plain = to_plain(answer)["candidates"]
    refused = [one for one in plain if in_the_way(one)]

    assert short == sorted(short) == list(map(steps_short, plain))
    assert any(map(steps_short, refused))
    if not all(map(steps_short, refused)):
        assert not steps_short(closest_candidate(refused))


def test_what_is_told_of_the_others_needs_no_plan_of_them():
    plain = to_plain(answer_to(REQUESTS[0]))
    last = plain["candidates"][-1]

    assert steps_short(last) and route(last)["trimmed_at"] == "" and route(last)["cavities"] == 0
    assert any("twin-sheet" in said.lower() and "1 skin" in said for said in other_ways(plain))
    assert plant_rows(plain) and front_of(plain)["compared"]["total"] == len(plain["candidates"])


def test_every_candidate_of_the_contract_says_why_it_does_not_fit():
    for one in to_contract(answer_to(REQUESTS[0]))["candidates"]:
        assert one["fits"] == all(verdict["passed"] for verdict in one["verdicts"])
        assert one["verdicts"]
