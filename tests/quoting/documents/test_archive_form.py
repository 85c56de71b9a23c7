"""That a document is PDF/A-3a and PDF/UA-1 as it says, as far as can be shown without a validator of those parts."""

import io

import pikepdf
import pytest
from defusedxml.ElementTree import fromstring

from quoting.documents.pdf import DATA_FILE, render_letter, render_pdf, render_quote
from tests.quoting.documents import archive
from tests.quoting.documents.conftest import ISSUED, VALID, plain, quoted_answer, refused_answer

TOLD = {"number": "Q-2026-0041", "revision": 1, "issued_on": ISSUED, "prepared_by": "Jo Marsh"}
SHEET = (
    '<html lang="en"><title>A sheet</title><h1>Head</h1><p>Text with a <b>bold</b> word.</p>'
    "<table><tr><th scope='col'>a</th></tr><tr><td>1</td></tr></table>"
)
KINDS = {
    "quote": lambda: render_quote(plain(quoted_answer()), valid_until=VALID, **TOLD),
    "letter": lambda: render_letter(plain(refused_answer()), **TOLD),
    "sheet": lambda: render_pdf(SHEET),
}
validator = pytest.mark.skipif(
    not archive.has_validator(),
    reason="apt-get install default-jre-headless libpdfbox2-java libactivation-java libjaxb-api-java",
)


@pytest.fixture(scope="module", params=KINDS)
def printed(request) -> bytes:
    return KINDS[request.param]()


@pytest.fixture
def pdf(printed):
    with pikepdf.open(io.BytesIO(printed)) as opened:
        yield opened


def test_the_syntax_is_sound(pdf):
    # qpdf's own check, as `qpdf --check` runs it
    assert pdf.check_pdf_syntax() == []


def test_it_names_what_it_follows_and_can_be_told_apart(pdf):
    said = {name: value for one in fromstring(pdf.Root.Metadata.read_bytes()).iter() for name, value in one.items()}
    archive_form, accessible = "{http://www.aiim.org/pdfa/ns/id/}", "{http://www.aiim.org/pdfua/ns/id/}"
    assert (said[f"{archive_form}part"], said[f"{archive_form}conformance"]) == ("3", "A")
    assert said[f"{accessible}part"] == "1"
    assert len(pdf.trailer.ID) == 2
    assert not pdf.is_encrypted


def test_colours_have_a_meaning_of_their_own(pdf):
    (intent,) = pdf.Root.OutputIntents
    profile = intent.DestOutputProfile.read_bytes()
    assert intent.S == "/GTS_PDFA1"
    # ICC.1:2010, 7.2: bytes 16 to 19 are the colour space, 36 to 39 the signature
    assert (profile[16:20], profile[36:40]) == (b"RGB ", b"acsp")
    used = [str(one) for one in pdf.objects if isinstance(one, pikepdf.Name) and "CMYK" in str(one)]
    assert used == []


def test_every_font_is_in_the_file_and_every_letter_has_its_character(pdf):
    found = archive.fonts(pdf)
    assert found
    for font in found:
        (drawn,) = font.DescendantFonts
        assert {"/FontFile2", "/FontFile3"} & set(drawn.FontDescriptor.keys())
        assert "/ToUnicode" in font


def test_nothing_in_it_acts_or_looks_outside(pdf):
    forbidden = {"/JavaScript", "/Launch", "/ImportData", "/SubmitForm", "/GoToR", "/Sound", "/Movie", "/RichMedia"}
    for one in pdf.objects:
        if isinstance(one, (pikepdf.Dictionary, pikepdf.Stream)):
            assert one.get("/S") not in forbidden
            assert "/FFilter" not in one, "a stream that lies in another file"
    assert "/AcroForm" not in pdf.Root
    assert "/OpenAction" not in pdf.Root


def test_all_that_is_painted_is_tagged_or_an_artifact(pdf):
    assert archive.untagged(pdf) == []
    assert pdf.Root.MarkInfo.Marked
    assert str(pdf.Root.Lang) == "en"
    assert pdf.Root.ViewerPreferences.DisplayDocTitle
    assert {str(page.Tabs) for page in pdf.pages} == {"/S"}


def test_headings_go_down_by_one_figures_have_words_and_cells_name_their_heads(pdf):
    levels = [1]
    for one in archive.elements(pdf):
        kind = str(one.S)
        if kind in ("/H1", "/H2", "/H3", "/H4", "/H5", "/H6"):
            levels.append(int(kind[2]))
        if kind == "/Figure":
            assert str(one.Alt).strip()
        if kind == "/Table":
            cells = list(archive.elements_below(one))
            heads = {str(cell.ID) for cell in cells if cell.S == "/TH"}
            named = [set(map(str, cell.A.Headers)) for cell in cells if cell.S == "/TD"]
            assert heads
            assert all(some and some <= heads for some in named)
    assert all(after - before <= 1 for before, after in zip(levels, levels[1:], strict=False)), levels


def test_the_figures_are_attached_once_and_their_part_in_the_document_is_told():
    with pikepdf.open(io.BytesIO(KINDS["quote"]())) as pdf:
        (attached,) = pdf.Root.AF
        named = pdf.Root.Names.EmbeddedFiles.Names
        assert [str(named[0]), named[1].objgen] == [DATA_FILE, attached.objgen]
        assert attached.AFRelationship == "/Data"
        assert (str(attached.F), str(attached.UF)) == (DATA_FILE, DATA_FILE)
        assert attached.EF.F.Subtype == "/application/json"
        assert str(attached.EF.F.Params.ModDate).startswith("D:20261125")


@validator
def test_a_validator_of_part_1_finds_only_what_part_3_allows(printed, tmp_path):
    file = tmp_path / "printed.pdf"
    file.write_bytes(printed)
    assert archive.complaints(file) == {}


def _without_its_font(pdf):
    for font in archive.fonts(pdf):
        del font.DescendantFonts[0].FontDescriptor["/FontFile2"]


def _without_its_intent(pdf):
    del pdf.Root["/OutputIntents"]


def _with_a_script(pdf):
    pdf.Root.OpenAction = pikepdf.Dictionary(S=pikepdf.Name.JavaScript, JS=pikepdf.String("1"))


@validator
@pytest.mark.parametrize("spoil", [_without_its_font, _without_its_intent, _with_a_script])
def test_the_validator_sees_what_is_spoilt(spoil, tmp_path):
    file = tmp_path / "spoilt.pdf"
    with pikepdf.open(io.BytesIO(KINDS["letter"]())) as pdf:
        spoil(pdf)
        pdf.save(file)
    assert archive.complaints(file) != {}
