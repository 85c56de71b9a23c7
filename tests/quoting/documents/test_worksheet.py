"""The forming worksheet as the estimator gets it: printed, then read back. And the quote, which gets none of it."""

from copy import deepcopy
from io import BytesIO

import pytest
from PIL import Image
from pypdf import PdfReader

from quoting.contract import to_plain
from quoting.documents.model_sheet import model_printed
from quoting.documents.pdf import render_quote, render_worksheet
from quoting.documents.worksheet import cautions_by_work, worksheet_document
from quoting.qualifying import FUME_CAUTION, GENERAL_CAUTIONS, IN_THE_HOLLOW, PRESSURE_CAUTION, TRIM_CAUTION
from quoting.words import words
from tests.quoting.documents.conftest import ISSUED, SECRET, VALID
from tests.quoting.documents.study_sample import study

TOLD = {"number": "I-2026-0041", "version": 3, "printed_on": ISSUED, "prepared_by": "Jo Marsh"}


@pytest.fixture
def studied(quoted) -> dict:
    quoted["study"] = to_plain(study(20.0))
    quoted["cautions"] = [PRESSURE_CAUTION, TRIM_CAUTION, FUME_CAUTION, *GENERAL_CAUTIONS]
    return quoted


def printed(snapshot: dict) -> PdfReader:
    return PdfReader(BytesIO(render_worksheet(snapshot, **TOLD)))


def text_of(read: PdfReader) -> str:
    return " ".join(" ".join(page.extract_text() for page in read.pages).split())


def test_every_page_says_that_it_is_internal_with_number_version_day_and_page(studied):
    read = printed(studied)
    for number, page in enumerate(read.pages, start=1):
        text = " ".join(page.extract_text().split())
        assert "Internal: not for the customer · Worksheet I-2026-0041, version 3 · November 25, 2026" in text
        assert f"Page {number} of {len(read.pages)}" in text


def test_it_carries_route_recipe_charts_walls_cooling_force_and_verdicts(studied):
    said = text_of(printed(studied))
    for expected in (
        "RO-3, three-station rotary", "Not faster because", "980 °F (527 °C)", "scorch limit", "leaving the oven",
        "corner: thinnest", "Female with plug", "wood pattern", "never cool enough", "demould at", "Forming force",
        "Energy stored in the box", "18.5 kJ", "Both heaters 72 °F", "depth over width", "fits, if", "mid-plane",
    ):  # fmt: skip
        assert expected.lower() in said.lower(), expected


def test_every_number_is_opened_to_its_formula_inputs_and_source(studied):
    said = text_of(printed(studied))
    for one in study().numbers:
        assert one.name.capitalize() in said
        assert one.formula in said
        for given in one.inputs:
            assert given.name in said


def test_each_caution_is_printed_once_before_the_work_it_speaks_of(studied):
    said = text_of(printed(studied)).replace(" ", "")  # a line may break behind a hyphen
    at = {caution: said.index(caution.replace(" ", "")) for caution in studied["cautions"]}
    for caution in studied["cautions"]:
        assert said.count(caution.replace(" ", "")) == 1, caution
    assert said.index("Heatingrecipe") < at[FUME_CAUTION] < said.index("Notfasterbecause")
    assert said.index("Coolingonthetool") < at[PRESSURE_CAUTION] < said.index("Projectedarea")
    assert at[PRESSURE_CAUTION] < at[TRIM_CAUTION] < said.index("Verdicts")


def test_hazards_are_printed_with_their_numbers_before_the_work_they_speak_of(studied):
    air = {"pressure": (86e3, "Pa"), "volume": (0.3, "m3"), "energy": (67.8e3, "J"), "mark": (1e5, "J")}
    stored = words(IN_THE_HOLLOW, **air)
    sheet = words("The skin of the hot sheet reaches {skin} in the oven.", skin=(450.0, "K"))
    studied["hazards"] = [to_plain(stored), to_plain(sheet)]
    said = text_of(printed(studied)).replace(" ", "")
    assert said.index("Heatingrecipe") < said.index("reaches350°F(177°C)intheoven") < said.index("Notfasterbecause")
    assert said.index("Coolingonthetool") < said.index("storesabout67.8kJ") < said.index("Projectedarea")


def test_a_caution_that_speaks_of_nothing_known_is_kept_as_general():
    assert cautions_by_work(["Mind the step"])["general"] == ["Mind the step."]


def test_it_holds_no_rate_margin_or_cost_line(studied):
    said = text_of(printed(studied))
    for word in (SECRET, "77,777", "secret", "margin", "overhead", "$"):
        assert word not in said, word


def test_an_answer_without_a_study_prints_as_a_shorter_worksheet(studied):
    whole = len(printed(studied).pages)
    for changed in (studied | {"study": None}, {key: one for key, one in studied.items() if key != "study"}):
        read = printed(changed)
        said = text_of(read)
        assert len(read.pages) < whole
        assert "Not faster because" in said
        assert "Mean wall" in said
        assert "Appendix" not in said


def test_a_study_of_which_a_part_is_empty_prints_the_rest(studied):
    for key in ("cooling_curve", "walls", "methods", "tools", "sags", "numbers"):
        studied["study"] = studied["study"] | {key: []}
    studied["study"]["heating"] = studied["study"]["heating"] | {"curve": [], "exit_profile": [], "phases": []}
    said = text_of(printed(studied))
    assert "Not faster because" in said
    assert "Forming force" in said


def test_a_refusal_has_no_worksheet(refused):
    with pytest.raises(ValueError, match="has no route"):
        worksheet_document(refused, **TOLD)


def test_it_is_tagged_names_its_language_and_prints_the_same_bytes_again(studied):
    read = printed(studied)
    assert read.root_object["/Lang"] == "en"
    assert read.root_object["/MarkInfo"]["/Marked"]
    assert read.metadata["/Title"] == "Forming worksheet I-2026-0041 version 3: Pump cover"
    assert render_worksheet(studied, **TOLD) == render_worksheet(deepcopy(studied), **TOLD)


def test_every_chart_has_its_words_for_those_who_do_not_see_it(studied):
    def told(node) -> list[str]:
        node = node.get_object()
        if isinstance(node, list):
            return [one for inner in node for one in told(inner)]
        if not isinstance(node, dict):
            return []
        own = [str(node["/Alt"])] if node.get("/S") == "/Figure" and "/Alt" in node else []
        return own + (told(node["/K"]) if "/K" in node else [])

    figures = told(printed(studied).root_object["/StructTreeRoot"])
    for title in ("Blank on the platen", "Time at each station", "Sheet temperature over time", "Cooling of the wall"):
        assert any(one.startswith(title) for one in figures), title


def test_the_customers_quote_is_byte_for_byte_the_same_with_and_without_a_study(quoted):
    told = {"number": "Q-1", "revision": 1, "issued_on": ISSUED, "valid_until": VALID, "prepared_by": "Jo Marsh"}
    assert render_quote(quoted | {"study": to_plain(study())}, **told) == render_quote(quoted, **told)


def test_html_in_a_study_is_printed_as_text(studied):
    studied["study"]["numbers"][0]["formula"] = "<b>Bi</b> = h L / k"
    assert "<b>Bi</b> = h L / k" in text_of(printed(studied))


def test_the_measured_model_is_printed_with_its_pictures_and_only_where_there_is_one(studied):
    # A red square of 2 x 2 px, as a picture of our own would come.
    png = BytesIO()
    Image.new("RGB", (2, 2), "red").save(png, "PNG")
    report = {"pictures": {"wall": "wall.png"}, "found": {"measures": {"length": 1.016}}}
    model = model_printed(report, {"wall": png.getvalue()})
    read = PdfReader(BytesIO(render_worksheet(studied, **TOLD, model=model)))
    assert "The CAD model, as measured" in text_of(read)
    assert "40.0 in (1016 mm)" in text_of(read)
    assert any(page.images for page in read.pages)
    plain = printed(studied)
    assert "The CAD model" not in text_of(plain)
    assert not any(page.images for page in plain.pages)
