"""The command line's contract, on the demo scenario."""

import io
import json
import os
import subprocess
import sys
from decimal import Decimal
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from quoting.quotes.stock import catalog_ensure
from tests.quoting.geometry import files, shapes
from tests.quoting.geometry.test_bad_models import BAD

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"
INQUIRIES = sorted((FIXTURES / "demo" / "inquiries").glob("*.json"))
ON = "2026-11-25"
STATUS = {"quote": 0, "not_a_fit": 3, "needs_information": 4, "bad_input": 2}
TOP_KEYS = {
    "decision", "summary", "process", "plant", "machine", "polymer", "blank", "thinning", "heating", "cooling", "cycle",
    "press", "price_breaks", "cost_lines", "tooling", "packing", "candidates", "referral", "metal_comparison",
    "range", "price_advice", "conditions", "missing", "assumptions", "cautions",
    "tool_room", "tooling_options", "tooling_terms", "bottleneck", "trim_ways", "lead_times",
}  # fmt: skip

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module", autouse=True)
def demo_catalog(django_db_setup, django_db_blocker):
    """The demo plants and materials, loaded once for this module and taken out again."""
    with django_db_blocker.unblock(), transaction.atomic():
        catalog_ensure()
        yield
        transaction.set_rollback(True)


@pytest.fixture(scope="module")
def demo_answers(demo_catalog, tmp_path_factory):
    """The answer to each demo inquiry, worked out when first asked for."""
    kept = {}

    def of(path):
        if path not in kept:
            kept[path] = answer(path, tmp_path_factory.getbasetemp())
        return kept[path]

    return of


COVER = {
    "customer": {"company": "Test Pumps", "contact": "A. Tester", "email": "a.tester@example.com"},
    "ship_to": {"postal_code": "60601", "country": "US"},
    "part": {"name": "cover", "length": "40 in", "width": "28 in", "depth": "8 in", "gauge": "0.187 in"},
    "material": {"polymers": ["ABS"]},
    "quantities": {"annual": 1200, "releases": [100, 300, 1200]},
}


def answer(path_or_raw, tmp_path, *options):
    path = path_or_raw
    if not isinstance(path, Path):
        path = tmp_path / "inquiry.json"
        path.write_text(json.dumps(path_or_raw))
    out, err = io.StringIO(), io.StringIO()
    with pytest.raises(SystemExit) as stopped:
        call_command("answer", str(path), "--json", "--on", ON, *options, stdout=out, stderr=err)
    found = json.loads(out.getvalue())
    assert stopped.value.code == STATUS[found["decision"]]
    return found


def changed(**part):
    return COVER | {"part": COVER["part"] | part}


@pytest.mark.parametrize("path", INQUIRIES, ids=lambda path: path.stem)
def test_every_demo_inquiry_keeps_the_rules_of_the_contract(path, demo_answers):
    found = demo_answers(path)
    assert set(found) == TOP_KEYS
    for candidate in found["candidates"]:
        assert candidate["fits"] == all(verdict["passed"] for verdict in candidate["verdicts"])
        assert (candidate["landed_unit_price"] is not None) == candidate["fits"]
    if found["decision"] == "quote":
        for one in found["price_breaks"]:
            lines = [Decimal(x["per_part"]) for x in found["cost_lines"] if x["quantity"] == one["quantity"]]
            assert sum(lines) == Decimal(one["unit_price"])
            assert Decimal(one["unit_price"]) + Decimal(one["freight_per_part"]) == Decimal(one["landed_unit_price"])
        for one, told in zip(found["price_breaks"], found["range"]["releases"], strict=True):
            assert told["quantity"] == one["quantity"]
            assert told["landed_unit_price"]["likely"] == one["landed_unit_price"]
            assert Decimal(told["landed_unit_price"]["low"]) < Decimal(told["landed_unit_price"]["high"])
            assert len(told["matters_most"]) == 3
        assert found["price_breaks"][-1]["landed_unit_price"] in {
            x["landed_unit_price"] for x in found["candidates"] if x["fits"]
        }
    else:
        assert found["range"] is None
    if found["decision"] == "not_a_fit":
        assert found["candidates"] and all(not candidate["fits"] for candidate in found["candidates"])
        assert found["referral"]["process"] and found["referral"]["why"]
    assert (found["decision"] == "needs_information") == bool(found["missing"])


def test_the_demo_scenario_has_quotes_refusals_for_different_reasons_and_questions(demo_answers):
    found = [demo_answers(path) for path in INQUIRIES]
    assert len(found) == 20
    refused = [x for x in found if x["decision"] == "not_a_fit"]
    assert len(refused) >= 6
    assert len({x["summary"] for x in refused}) >= 6
    assert sum(x["decision"] == "quote" for x in found) >= 8
    assert {x["process"] for x in found if x["decision"] == "quote"} == {"vacuum", "pressure", "twin_sheet"}


def test_the_same_input_gives_the_same_answer_byte_for_byte(tmp_path):
    assert json.dumps(answer(COVER, tmp_path)) == json.dumps(answer(COVER, tmp_path))


def test_permuting_plants_machines_and_polymers_does_not_change_the_answer(tmp_path):
    plants = json.loads((FIXTURES / "demo" / "plants.json").read_text())
    materials = json.loads((FIXTURES / "demo" / "materials.json").read_text())
    plants["plants"].reverse()
    for plant in plants["plants"]:
        plant["machines"].reverse()
        plant["trimmers"].reverse()
    materials["polymers"].reverse()
    materials["offers"].reverse()
    (tmp_path / "plants.json").write_text(json.dumps(plants))
    (tmp_path / "materials.json").write_text(json.dumps(materials))
    permuted = answer(
        COVER, tmp_path, "--plants", str(tmp_path / "plants.json"), "--materials", str(tmp_path / "materials.json")
    )
    assert permuted == answer(COVER, tmp_path)


def test_inches_and_millimetres_of_the_same_part_give_the_same_prices(tmp_path):
    metric = changed(length="1016 mm", width="711.2 mm", depth="203.2 mm", gauge="4.7498 mm")
    inches, millimetres = answer(COVER, tmp_path), answer(metric, tmp_path)
    assert inches["price_breaks"] == millimetres["price_breaks"]


def test_a_plain_cover_is_quoted_in_the_asked_polymer(tmp_path):
    found = answer(COVER, tmp_path)
    assert found["decision"] == "quote" and found["polymer"] == "ABS" and found["process"] == "vacuum"
    fitting = [Decimal(x["landed_unit_price"]) for x in found["candidates"] if x["fits"]]
    assert Decimal(found["price_breaks"][-1]["landed_unit_price"]) == min(fitting)


@pytest.mark.parametrize(
    ("part", "rule"),
    [
        ({"depth": "30 in", "draft_angle": "1 deg"}, "ratio"),
        ({"gauge": "0.030 in"}, "gauge"),
        ({"tolerance": "0.001 in"}, "tolerance"),
        ({"service_temperature": "400 degF"}, "temperature"),
    ],
)
def test_a_part_beyond_a_limit_is_refused_with_that_reason(part, rule, tmp_path):
    found = answer(changed(**part), tmp_path)
    assert found["decision"] == "not_a_fit"
    failed = {v["rule"] for candidate in found["candidates"] for v in candidate["verdicts"] if not v["passed"]}
    assert any(rule in name for name in failed)


@pytest.mark.parametrize(
    ("raw", "field"),
    [
        (changed(length="48"), "part.length"),
        (changed(length="-3 in"), "part.length"),
        (changed(length="40 ft"), "part.length"),
        (changed(colour="red"), "part.colour"),
        (COVER | {"quantities": {"annual": 0, "releases": [100]}}, "quantities.annual"),
        (COVER | {"ship_to": {"postal_code": "00000", "country": "US"}}, "ship_to.postal_code"),
        (COVER | {"material": {"polymers": ["unobtainium"]}}, "material.polymers"),
        (COVER | {"needed_by": "2020-01-01"}, "needed_by"),
        (COVER | {"target_price": "1e308"}, "target_price"),
    ],
)
def test_a_bad_field_is_named_with_what_was_given(raw, field, tmp_path):
    found = answer(raw, tmp_path)
    assert found["decision"] == "bad_input"
    assert field in {error["field"].split("[")[0] for error in found["errors"]}
    assert all(error["message"] for error in found["errors"])


@pytest.mark.parametrize(
    "case",
    ["a picture", "zeros", "STL cut off", "STL with NaN", "3MF bomb", "STEP of a thousand bodies", "3MF cut off"],
)
def test_a_bad_model_ends_with_two_and_names_the_model(case, tmp_path):
    content, words = BAD[case]
    (tmp_path / "part.step").write_bytes(content)
    found = answer(COVER | {"part": {"name": "cover", "gauge": "0.187 in", "model": "part.step"}}, tmp_path)
    (error,) = found["errors"]
    assert error["field"] == "part.model"
    assert words in error["message"]


@pytest.mark.parametrize("name", ["../part.stl", "/etc/passwd.stl", "part.exe", "none.stl"])
def test_a_model_elsewhere_ends_with_two_and_names_the_model(name, tmp_path):
    found = answer(COVER | {"part": {"name": "cover", "gauge": "0.187 in", "model": name}}, tmp_path)
    assert [error["field"] for error in found["errors"]] == ["part.model"]


def test_the_measures_of_a_model_go_before_typed_ones_in_the_rules(tmp_path):
    # A straight-walled box of 600 x 400 x 80 mm has no draft, whatever was typed; with the typed value it is quoted.
    (tmp_path / "part.stl").write_bytes(files.stl(files.box()))
    part = {"name": "cover", "gauge": "0.187 in", "model": "part.stl", "draft_angle": "4 deg"}
    found = answer(COVER | {"part": part}, tmp_path)
    assert found["decision"] == "not_a_fit"
    assert all("draft" in failed_rules(one) for one in found["candidates"])
    assert answer(COVER | {"part": part | {"keep_typed": ["draft_angle"]}}, tmp_path)["decision"] == "quote"


def test_unit_body_and_draw_of_a_model_are_taken_from_the_inquiry(tmp_path):
    # By hand: the second body of 5 x 4 x 3 in drawn along x is 5 in deep, its plan 4 x 3 in.
    (tmp_path / "part.obj").write_bytes(
        files.obj(files.joined(files.box((40, 30, 8)), files.box((5, 4, 3), (90, 0, 0))))
    )
    part = {"name": "cover", "gauge": "0.06 in", "model": "part.obj", "model_unit": "in", "model_body": 2,
            "model_draw": "+x", "draft_angle": "3 deg", "keep_typed": ["draft_angle"]}  # fmt: skip
    found = answer(COVER | {"part": part}, tmp_path)
    told = next(one["value"] for one in found["assumptions"] if one["field"] == "part.model")
    assert told.startswith("4.00 in (102 mm) long, 3.00 in (76.2 mm) wide, 5.00 in (127 mm) deep")


def test_a_model_with_undercuts_deeper_than_a_moving_section_frees_is_refused_for_them(tmp_path):
    # A bead that bulges 30 mm out of the wall: more than an inch under pressure, half of one under vacuum.
    surface = shapes.beaded(out=0.03)
    mesh = files.trimesh.Trimesh(surface.vertices * 1000, surface.faces, process=False)
    (tmp_path / "part.stl").write_bytes(files.stl(mesh))
    part = {"name": "cover", "gauge": "0.187 in", "model": "part.stl", "draft_angle": "4 deg", "undercut_depth": "0 in"}
    found = answer(COVER | {"part": part | {"keep_typed": ["draft_angle"]}}, tmp_path)
    assert found["decision"] == "not_a_fit"
    assert all("undercut" in failed_rules(one) for one in found["candidates"])


def failed_rules(candidate: dict) -> set[str]:
    return {verdict["rule"] for verdict in candidate["verdicts"] if not verdict["passed"]}


def test_missing_facts_are_asked_back(tmp_path):
    found = answer({"part": {"name": "cover", "length": "40 in"}}, tmp_path)
    assert found["decision"] == "needs_information"
    assert {"part.width", "part.depth", "quantities.annual"} <= {one["field"] for one in found["missing"]}


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    length=st.integers(6, 150), width=st.integers(6, 100), depth=st.integers(1, 40),
    wall=st.integers(20, 300), texture=st.booleans(), enclosed=st.booleans(), annual=st.integers(1, 50_000),
)  # fmt: skip
def test_any_part_gets_an_answer_that_keeps_the_rules(length, width, depth, wall, texture, enclosed, annual, tmp_path):
    part = {
        "name": "any", "length": f"{length} in", "width": f"{width} in", "depth": f"{depth} in",
        "minimum_wall": f"{wall / 1000} in", "enclosed": enclosed, "texture_depth": "0.004 in" if texture else "0 in",
    }  # fmt: skip
    raw = COVER | {"part": part, "quantities": {"annual": annual, "releases": [max(1, annual // 4), annual]}}
    found = answer(raw, tmp_path)
    assert found["decision"] in ("quote", "not_a_fit")
    for candidate in found["candidates"]:
        assert candidate["fits"] == all(verdict["passed"] for verdict in candidate["verdicts"])
    for one in found["price_breaks"]:
        lines = [Decimal(x["per_part"]) for x in found["cost_lines"] if x["quantity"] == one["quantity"]]
        assert sum(lines) == Decimal(one["unit_price"])


def test_a_pressure_quote_tells_its_stored_energy_among_the_cautions(demo_answers):
    found = demo_answers(next(path for path in INQUIRIES if path.stem == "02-textured-console"))
    assert any("kJ" in caution and "licensed engineer" in caution for caution in found["cautions"])


def test_an_inquiry_is_answered_on_a_database_that_has_no_tables_yet(tmp_path):
    environment = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"} | {
        "DATA_DIR": str(tmp_path)
    }
    command = [sys.executable, "manage.py", "answer", str(INQUIRIES[0]), "--json", "--on", "2026-11-25"]
    done = subprocess.run(
        command, cwd=FIXTURES.parent, env=environment, capture_output=True, text=True, timeout=300, check=False
    )
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["decision"] == "quote"


def test_amortised_tooling_is_in_the_price_and_its_terms_add_up(tmp_path):
    apart = answer(COVER, tmp_path)
    within = answer(COVER | {"amortise_over": 2400}, tmp_path)
    terms = within["tooling_terms"]
    per_part, tooling = Decimal(terms["per_part"]), sum(Decimal(one["price"]) for one in within["tooling"])

    assert apart["tooling_terms"] == {"paid": "separate"}
    assert 2400 * per_part == Decimal(terms["tooling"]) + Decimal(terms["carrying_charge"])
    assert Decimal(terms["tooling"]) == tooling
    for before, after in zip(apart["price_breaks"], within["price_breaks"], strict=True):
        assert Decimal(after["unit_price"]) - Decimal(before["unit_price"]) == per_part
        lines = [Decimal(one["per_part"]) for one in within["cost_lines"] if one["quantity"] == after["quantity"]]
        assert sum(lines) == Decimal(after["unit_price"])


def test_the_bottleneck_is_the_slower_of_former_and_trimmer(tmp_path):
    found = answer(COVER, tmp_path)
    pace = {name: found["bottleneck"][name]["parts_per_hour"] for name in ("former", "trimmer")}

    assert found["bottleneck"]["governs"] == min(pace, key=pace.get)
    assert [one["kind"] for one in found["trim_ways"]] == ["five_axis", "hand"]
    assert [one["used"] for one in found["trim_ways"]] == [True, False]


def test_a_tool_too_large_for_every_machine_is_refused_with_its_figures(tmp_path):
    moved = COVER | {"tooling": "transfer", "tool": {"length": "390 in", "width": "34 in", "height": "13 in"}}
    found = answer(moved, tmp_path)
    refusals = [one for each in found["candidates"] for one in each["verdicts"] if one["rule"] == "tool on platen"]

    assert found["decision"] == "not_a_fit"
    assert not any(one["passed"] for one in refusals)
    assert refusals[0]["measured"] == pytest.approx(390 * 0.0254)
    assert "platen" in refusals[0]["remedy"]
