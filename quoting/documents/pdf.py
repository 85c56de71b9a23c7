"""From a context to PDF bytes. The only module that knows the renderer, and it lets nothing be fetched."""

import json
import threading
from datetime import UTC, date, datetime

from django.conf import settings
from django.template.loader import render_to_string

from quoting.documents.customer_data import customer_data
from quoting.documents.letter import letter_document
from quoting.documents.quote import quote_document
from quoting.documents.worksheet import worksheet_document

# For archives: PDF/A-3, level A, which is tagged and may carry data. For readers with assistive technology the same
# file names PDF/UA-1 as well; the schema beside that name is what PDF/A asks for names of its own kind.
VARIANT = "pdf/a-3a"
UA_NAMED = (
    b'<rdf:Description rdf:about="" xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/" pdfuaid:part="1"/>'
    b'<rdf:Description rdf:about="" xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/" '
    b'xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#" xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#">'
    b'<pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType="Resource">'
    b"<pdfaSchema:schema>PDF/UA identification</pdfaSchema:schema>"
    b"<pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>"
    b"<pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix><pdfaSchema:property><rdf:Seq>"
    b'<rdf:li rdf:parseType="Resource"><pdfaProperty:name>part</pdfaProperty:name>'
    b"<pdfaProperty:valueType>Integer</pdfaProperty:valueType><pdfaProperty:category>internal</pdfaProperty:category>"
    b"<pdfaProperty:description>Part of the standard that is followed</pdfaProperty:description></rdf:li>"
    b"</rdf:Seq></pdfaSchema:property></rdf:li></rdf:Bag></pdfaExtension:schemas></rdf:Description>"
)
DATA_FILE = "quote-data.json"
# Ever closer settings of the letter, with the characters that one text may have, tried until it is one page.
LETTER_SETTINGS = (("roomy", 500), ("close", 500), ("tight", 300), ("tight", 120), ("tight", 40))


def render_quote(
    snapshot: dict, *, number: str, revision: int, issued_on: date, valid_until: date, prepared_by: str,
    digest: str = "",
) -> bytes:  # fmt: skip
    """The quote of a stored answer as a tagged PDF with its data inside; parameters as in ``quote_document``.

    ``digest`` is that of the record which stays with us; the attached data name it.
    """
    context = quote_document(
        snapshot,
        number=number,
        revision=revision,
        issued_on=issued_on,
        valid_until=valid_until,
        prepared_by=prepared_by,
    )
    data = customer_data(
        snapshot, kind="quote", number=number, revision=revision, issued_on=issued_on, valid_until=valid_until,
        digest=digest,
    )  # fmt: skip
    return _written(_laid_out(_html("documents/quote.html", context)), data)


def render_letter(
    snapshot: dict, *, number: str, revision: int, issued_on: date, prepared_by: str, digest: str = ""
) -> bytes:
    """The not-a-fit letter of a stored answer, one page exactly; parameters as in ``letter_document``."""
    for setting, longest in LETTER_SETTINGS:
        context = letter_document(
            snapshot,
            number=number,
            revision=revision,
            issued_on=issued_on,
            prepared_by=prepared_by,
            longest=longest,
        )
        laid_out = _laid_out(_html("documents/letter.html", {**context, "setting": setting}))
        if len(laid_out.pages) == 1:
            data = customer_data(
                snapshot, kind="letter", number=number, revision=revision, issued_on=issued_on, valid_until=None,
                digest=digest,
            )  # fmt: skip
            return _written(laid_out, data)
    raise ValueError(f"letter {number}: its texts do not fit one page")


def render_worksheet(
    snapshot: dict, *, number: str, version: int, printed_on: date, prepared_by: str, model: dict | None = None
) -> bytes:
    """The internal forming worksheet of a stored answer as a tagged PDF; parameters as in ``worksheet_document``.

    ``model`` is what `model_printed` makes of the report on the CAD model, where there is one.
    """
    context = worksheet_document(
        snapshot, number=number, version=version, printed_on=printed_on, prepared_by=prepared_by
    )
    return render_pdf(_html("documents/worksheet.html", {**context, "model": model}))


def render_pdf(html: str) -> bytes:
    """PDF/UA bytes of a page that names its language, title and dates itself.

    Parameters
    ----------
    html : str
        Whole page; anything it refers to must be a data: address [-].

    Returns
    -------
    pdf : bytes
        The same bytes for the same page, fonts and libraries [-].

    Raises
    ------
    weasyprint.urls.FatalURLFetchingError
        The page refers to a file or an address: a document with something missing is never sent.
    """
    return _written(_laid_out(html))


def _written(laid_out, data: dict | None = None) -> bytes:
    """Bytes of a laid out page; ``data`` go into the file as an attachment of their own."""
    from weasyprint import Attachment

    attachments = []
    if data is not None:
        text = json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False, sort_keys=True)
        day = datetime.fromisoformat(data["issued_on"]).replace(tzinfo=UTC)
        attachments.append(
            Attachment(
                string=text,
                name=DATA_FILE,
                description="The figures of this document as data",
                relationship="Data",
                created=day,
                modified=day,
            )  # fmt: skip
        )
    named = laid_out.metadata.generate_rdf_metadata

    def naming_both(*variant: object) -> bytes:
        return named(*variant).replace(b"</rdf:RDF>", UA_NAMED + b"</rdf:RDF>")

    laid_out.metadata.generate_rdf_metadata = naming_both
    return laid_out.write_pdf(pdf_variant=VARIANT, attachments=attachments, finisher=_attached_once)


def _attached_once(_document, pdf) -> None:
    """The renderer lists a file that is attached to the whole document twice among the associated ones."""
    if "AF" in pdf.catalog:
        pdf.catalog["AF"][:] = dict.fromkeys(pdf.catalog["AF"])


def _laid_out(html: str):
    from weasyprint import HTML  # half a second to import, and most requests print nothing
    from weasyprint.urls import URLFetcher

    fetcher = URLFetcher(allowed_protocols=("data",), allow_redirects=False, fail_on_errors=True)
    return HTML(string=html, url_fetcher=fetcher).render(pdf_variant=VARIANT, font_config=_fonts())


_kept = threading.local()  # Pango's table of fonts is not for two threads at once


def _fonts():
    """The fonts of this thread, opened once: no document brings any of its own, so nothing goes from one to another."""
    from weasyprint.text.fonts import FontConfiguration

    if not hasattr(_kept, "fonts"):
        _kept.fonts = FontConfiguration()
    return _kept.fonts


def _html(template: str, context: dict) -> str:
    house = {
        "name": settings.COMPANY_NAME,
        "address": settings.COMPANY_ADDRESS,
        "phone": settings.COMPANY_PHONE,
        "email": settings.COMPANY_EMAIL,
        "zone": settings.TIME_ZONE,
    }
    return render_to_string(template, {"house": house, **context})
