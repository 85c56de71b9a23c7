"""From a context to PDF bytes. The only module that knows the renderer, and it lets nothing be fetched."""

from datetime import date

from django.conf import settings
from django.template.loader import render_to_string

from quoting.documents.letter import letter_document
from quoting.documents.quote import quote_document
from quoting.documents.worksheet import worksheet_document

VARIANT = "pdf/ua-1"
# Ever closer settings of the letter, with the characters that one text may have, tried until it is one page.
LETTER_SETTINGS = (("roomy", 500), ("close", 500), ("tight", 300), ("tight", 120), ("tight", 40))


def render_quote(
    snapshot: dict, *, number: str, revision: int, issued_on: date, valid_until: date, prepared_by: str
) -> bytes:
    """The quote of a stored answer as a tagged PDF; parameters as in ``quote_document``."""
    context = quote_document(
        snapshot,
        number=number,
        revision=revision,
        issued_on=issued_on,
        valid_until=valid_until,
        prepared_by=prepared_by,
    )
    return render_pdf(_html("documents/quote.html", context))


def render_letter(snapshot: dict, *, number: str, revision: int, issued_on: date, prepared_by: str) -> bytes:
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
            return laid_out.write_pdf(pdf_variant=VARIANT)
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
    return _laid_out(html).write_pdf(pdf_variant=VARIANT)


def _laid_out(html: str):
    from weasyprint import HTML  # half a second to import, and most requests print nothing
    from weasyprint.urls import URLFetcher

    fetcher = URLFetcher(allowed_protocols=("data",), allow_redirects=False, fail_on_errors=True)
    return HTML(string=html, url_fetcher=fetcher).render(pdf_variant=VARIANT)


def _html(template: str, context: dict) -> str:
    house = {
        "name": settings.COMPANY_NAME,
        "address": settings.COMPANY_ADDRESS,
        "phone": settings.COMPANY_PHONE,
        "email": settings.COMPANY_EMAIL,
    }
    return render_to_string(template, {"house": house, **context})
