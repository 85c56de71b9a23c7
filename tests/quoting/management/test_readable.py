"""The command line's answer as a person reads it: plain words, money with its sign, no code with an underscore."""

import io
import json
import re
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import transaction

from quoting.quotes.stock import catalog_ensure

DEMO = Path(__file__).resolve().parents[3] / "fixtures" / "demo" / "inquiries"
ON = "2026-11-25"

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module", autouse=True)
def demo_catalog(django_db_setup, django_db_blocker):
    """The demo plants and materials, loaded once for this module and taken out again."""
    with django_db_blocker.unblock(), transaction.atomic():
        catalog_ensure()
        yield
        transaction.set_rollback(True)


def read(path, *options):
    """Standard output, standard error and exit status."""
    out, err = io.StringIO(), io.StringIO()
    with pytest.raises(SystemExit) as stopped:
        call_command("answer", str(path), "--on", ON, *options, stdout=out, stderr=err)
    return out.getvalue(), err.getvalue(), stopped.value.code


def changed(tmp_path, name, **groups):
    raw = json.loads((DEMO / name).read_text())
    path = tmp_path / name
    path.write_text(json.dumps({key: value | groups.get(key, {}) if isinstance(value, dict) else value
                                for key, value in raw.items()}))  # fmt: skip
    return path


@pytest.mark.parametrize("name", ["04-pump-guard-for-steel.json", "05-transferred-tool.json", "11-deep-hopper.json"])
def test_a_person_reads_words_and_no_codes(name):
    text, _, _ = read(DEMO / name)
    codes = re.findall(r"\b[a-z]+_[a-z_]+\b", re.sub(r"\b(part|material|quantities|tool)\.[a-z_]+", "", text))
    assert codes == []


def test_a_part_that_replaces_metal_is_compared_with_it():
    text, _, _ = read(DEMO / "04-pump-guard-for-steel.json")
    assert "Against the part in steel" in text
    assert re.search(r"The plastic part is \d+ % (lighter|heavier) than the steel part", text)


def test_a_refusal_says_what_the_other_trade_does_well_and_what_would_change_it():
    text, _, status = read(DEMO / "11-deep-hopper.json")
    assert status == 3
    assert "It makes large parts with thick and thin walls" in text
    # 26 in deep over 12 in of width: 1.0 is the most
    assert "What would change it: widen the part to 26.0 in (660 mm), or make it 12.00 in (305 mm) deep" in text
    assert "for each sheet" not in text  # the hopper is formed of one


def test_a_pdf_that_cannot_be_written_is_bad_input_that_names_the_option(tmp_path):
    _, err, status = read(DEMO / "11-deep-hopper.json", "--pdf", str(tmp_path / "nowhere" / "letter.pdf"))
    assert status == 2
    assert err.startswith("--pdf: got ")
    assert "a folder that is there" in err


@pytest.mark.parametrize("code", ["96813", "00901", "96910"])  # Honolulu, San Juan, Hagatna
def test_a_place_that_no_truck_reaches_gets_no_price_by_the_mile(code, tmp_path):
    path = changed(tmp_path, "01-equipment-cover.json", ship_to={"postal_code": code, "country": "US"})
    _, err, status = read(path)
    assert status == 2
    assert err.startswith("ship_to.postal_code: ")
    assert "port or forwarder on the mainland" in err


def test_every_wrong_release_is_named_at_once(tmp_path):
    path = changed(tmp_path, "01-equipment-cover.json", quantities={"releases": [500, 0, -3, "40"]})
    _, err, status = read(path)
    assert status == 2
    assert err.startswith('quantities.releases: got 0, -3, "40"; accepted is whole numbers')


def test_polymers_too_soft_for_the_heat_are_answered_with_one_that_stands_it(tmp_path):
    # the demo's polycarbonate deflects at 140 degC (284 degF), its HIPS at 85 degC (185 degF)
    path = changed(
        tmp_path, "01-equipment-cover.json", part={"service_temperature": "240 degF"}, material={"polymers": ["HIPS"]}
    )
    text, _, status = read(path)
    assert status == 3
    assert "Please check\n  - material.polymers: would PC do?" in text
