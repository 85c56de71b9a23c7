"""The documents as a reader gets them: printed, then read back."""

from concurrent.futures import ThreadPoolExecutor
from copy import deepcopy
from http.server import BaseHTTPRequestHandler, HTTPServer
from io import BytesIO
from threading import Thread

import pytest
from pypdf import PdfReader
from weasyprint.urls import FatalURLFetchingError

from quoting.documents.pdf import DATA_FILE, render_letter, render_pdf, render_quote
from tests.quoting.documents.conftest import ISSUED, SECRET, VALID, cost, plain

BY = "Jo Marsh, estimating"


def printed_quote(snapshot: dict, **changed) -> PdfReader:
    told = {"number": "Q-2026-0041", "revision": 2, "issued_on": ISSUED, "valid_until": VALID, "prepared_by": BY}
    return PdfReader(BytesIO(render_quote(snapshot, **(told | changed))))


def printed_letter(snapshot: dict) -> PdfReader:
    return PdfReader(BytesIO(render_letter(snapshot, number="Q-7", revision=1, issued_on=ISSUED, prepared_by=BY)))


def text_of(read: PdfReader) -> str:
    return " ".join(" ".join(page.extract_text() for page in read.pages).split())


def filled(tree, text: str):
    """The same tree with every text a customer types replaced."""
    changed = deepcopy(tree)
    request = changed["request"]
    for asked in (request, *(priced["judged"]["planned"]["request"] for priced in _priced(changed))):
        asked["customer"] = dict.fromkeys(asked["customer"], text)
        asked["reference"] = asked["part"]["name"] = asked["ship_to"]["postal_code"] = text
        asked["ship_to"]["place"] = asked["ship_to"]["country"] = text
    for one in changed["assumptions"]:
        one["field"] = one["why"] = text
    return changed


def _priced(tree: dict) -> list[dict]:
    return [one for one in (tree["chosen"], *tree["candidates"]) if one]


def test_a_quote_carries_its_number_prices_tooling_and_validity(quoted):
    said = text_of(printed_quote(quoted))
    for expected in (
        "Q-2026-0041, revision 2", "December 25, 2026", "$68.11", "$74.46", "$86,952.00", "$14,500.00", "$18,600.00",
        "$5.17", "12 weeks", "Meadow Pumps", "PC-1140 rev C", "0.187 in (4.75 mm)", "freight class", BY,
    ):  # fmt: skip
        assert expected.lower() in said.lower(), expected


def test_a_plain_quote_is_two_to_four_letter_pages_each_with_number_revision_and_page(quoted):
    read = printed_quote(quoted)
    assert 2 <= len(read.pages) <= 4
    for number, page in enumerate(read.pages, start=1):
        assert (float(page.mediabox.width), float(page.mediabox.height)) == (612.0, 792.0)
        text = " ".join(page.extract_text().split())
        assert "Quote Q-2026-0041, revision 2" in text
        assert f"Page {number} of {len(read.pages)}" in text


def test_printed_landed_price_times_quantity_is_the_printed_release(quoted):
    said = text_of(printed_quote(quoted))
    assert "300 $67.11 $6.35 $73.46 $22,038.00" in said  # 300 x 73.46


def test_no_internal_amount_line_basis_or_rate_reaches_the_quote(quoted):
    read = printed_quote(quoted)
    hidden = repr(read.metadata) + text_of(read)
    for word in (SECRET, "77,777", "secret", "margin", "overhead", "9.9"):
        assert word not in hidden, word


def test_a_letter_says_measured_limit_remedy_and_where_to_go_on_one_page(refused):
    read = printed_letter(refused)
    said = text_of(read)
    assert len(read.pages) == 1
    for expected in ("The part has 1 skin; this process makes 2.", "A closed hollow part.", "Injection moulding", BY,
                     "No delivery date is given, since as it stands no way of making it here passes."):  # fmt: skip
        assert expected in said, expected


def test_the_deciding_verdict_of_the_answer_goes_before_our_own_choice(refused):
    refused["deciding"] = deepcopy(refused["candidates"][0]["judged"]["verdicts"][0]) | {"status": "fails"}
    assert "The drawn depth is 0.29 times the smaller side" in text_of(printed_letter(refused))


def test_long_names_and_texts_of_every_kind_keep_the_letter_on_its_page(refused):
    for text in ("word " * 100, "W" * 500, "Насос и крышка " * 30, "Καπάκι αντλίας " * 30, "<b>bold</b>" * 40):
        long = filled(refused, text)
        long["summary"]["text"] = long["referral"]["why"]["text"] = text
        for verdict in long["candidates"][0]["judged"]["verdicts"]:
            verdict["reason"]["text"] = verdict["remedy"]["text"] = verdict["basis"] = text
            verdict["status"] = "fails"
        assert len(printed_letter(long).pages) == 1, text[:20]


def test_twelve_releases_and_sixty_assumptions_repeat_their_heads_and_lose_no_row(quoted):
    landed = plain(cost(tuple(range(100, 1300, 100))))
    quoted["chosen"]["cost"] = landed
    quoted["assumptions"] = [quoted["assumptions"][0] | {"why": f"reason number {n}."} for n in range(60)]
    read = printed_quote(quoted)
    said = text_of(read)
    assert all(f"Reason number {n}." in said for n in range(60))
    assert all(f"{one['quantity']:,} ${one['unit_price']}" in said for one in landed["breaks"])
    assert said.count("Taken as") >= 2


def test_html_in_customer_text_is_printed_as_it_was_typed(quoted):
    changed = filled(quoted, '<i>n</i> & "x"')
    named = changed["chosen"]["judged"]["planned"]["request"]
    named["customer"] = {key: f"<i>{key}</i>&" for key in named["customer"]}
    said = text_of(printed_quote(changed))
    for typed in ('<i>n</i> & "x"', "<i>company</i>&", "<i>contact</i>&", "<i>email</i>&"):
        assert typed in said, typed
    assert said.count("<i>company</i>&") == 2  # addressee and acceptance


def test_greek_and_cyrillic_names_can_be_read_back(quoted):
    for name in ("Насос и крышка", "Καπάκι αντλίας", "Ødegård & Müller"):
        assert name in text_of(printed_quote(filled(quoted, name)))


def test_direction_and_control_marks_cannot_turn_the_line_around(quoted):
    said = text_of(printed_quote(filled(quoted, "pump\u202e cover\u0000\nnew")))
    assert "pump cover new" in said


def test_a_word_of_five_hundred_letters_stays_inside_the_page(quoted):
    read = printed_quote(filled(quoted, "W" * 500))
    assert text_of(read).replace(" ", "").count("W" * 500) >= 3
    for page in read.pages:
        starts: list[float] = []
        page.extract_text(visitor_text=noting_where_a_text_starts(starts))
        assert all(start < 612 - 0.7 * 72 for start in starts)


def noting_where_a_text_starts(starts: list[float]):
    def note(text, page_matrix, text_matrix, _font, _size):
        if text.strip():
            starts.append(page_matrix[0] * text_matrix[4] + page_matrix[4])

    return note


@pytest.mark.parametrize("kind", ["file", "http"])
def test_nothing_named_in_a_text_field_is_ever_fetched(quoted, refused, tmp_path, kind):
    canary = tmp_path / "canary.txt"
    canary.write_text("CANARY-9F2C")
    with listening() as (address, seen):
        target = canary.as_uri() if kind == "file" else address
        hostile = (
            f'"><link rel="attachment" href="{target}"><img src="{target}"><style>@import url({target});</style>'
            f'<svg><image href="{target}"/></svg>'
        )
        for document in (printed_quote(filled(quoted, hostile)), printed_letter(filled(refused, hostile))):
            assert set(document.attachments) <= {DATA_FILE}, "only the figures that we attach ourselves"
            assert "CANARY-9F2C" not in text_of(document)
        assert seen == []


@pytest.mark.parametrize(
    "markup", ['<link rel="attachment" href="{}">', '<img src="{}" alt="x">', "<style>@import url({});</style>"]
)
def test_a_page_that_refers_to_a_file_is_refused_outright(tmp_path, markup):
    canary = tmp_path / "canary.png"
    canary.write_text("CANARY-9F2C")
    page = f"<html lang=en><title>t</title><body>{markup.format(canary.as_uri())}"
    with pytest.raises(FatalURLFetchingError):
        render_pdf(page)


def test_the_same_snapshot_prints_the_same_bytes(quoted, refused):
    told = {"number": "Q-1", "revision": 1, "issued_on": ISSUED, "prepared_by": BY}
    assert render_quote(quoted, valid_until=VALID, **told) == render_quote(deepcopy(quoted), valid_until=VALID, **told)
    assert render_letter(refused, **told) == render_letter(deepcopy(refused), **told)


def test_a_document_prints_the_same_bytes_whatever_was_printed_before_it_or_beside_it(quoted, refused):
    told = {"number": "Q-1", "revision": 1, "issued_on": ISSUED, "prepared_by": BY}
    other = filled(quoted, "Насос 水泵 Καπάκι مضخة")  # letters that other fonts must lend
    first = render_letter(refused, **told)
    with ThreadPoolExecutor(2) as threads:
        between = threads.submit(render_quote, other, valid_until=VALID, **told)
        beside = threads.submit(render_letter, refused, **told)
        assert beside.result() == first
        between.result()
    render_quote(other, valid_until=VALID, **told)
    assert render_letter(refused, **told) == first


def test_documents_are_tagged_and_name_language_title_and_day_of_issue(quoted):
    told = {"number": "Q-1", "revision": 1, "issued_on": ISSUED, "valid_until": VALID, "prepared_by": BY}
    read = PdfReader(BytesIO(render_quote(quoted, **told)))
    root, metadata = read.root_object, read.root_object["/Metadata"].get_data().decode()
    assert root["/Lang"] == "en"
    assert root["/MarkInfo"]["/Marked"]
    assert read.metadata["/Title"] == "Quote Q-1 revision 1: Pump cover"
    assert read.metadata["/CreationDate"].startswith("D:20261125")
    assert 'pdfuaid:part="1"' in metadata or "<pdfuaid:part>1<" in metadata


class listening:  # noqa: N801  reads as a statement where it is used
    """A server that notes every request it gets."""

    def __enter__(self):
        seen: list[str] = []

        class Noting(BaseHTTPRequestHandler):
            def do_GET(self):  # noqa: N802  the name the library calls
                seen.append(self.path)
                self.send_response(200)
                self.end_headers()

            def log_message(self, *_said):
                pass

        self.server = HTTPServer(("127.0.0.1", 0), Noting)
        Thread(target=self.server.serve_forever, daemon=True).start()
        return f"http://127.0.0.1:{self.server.server_port}/x", seen

    def __exit__(self, *_error):
        self.server.shutdown()
        self.server.server_close()
