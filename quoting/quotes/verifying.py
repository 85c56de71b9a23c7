"""Whether an issued document is still what was issued, and whether its figures come out again from its own data."""

import io
import json
from dataclasses import dataclass, field
from datetime import date

from quoting.quotes import master_data
from quoting.quotes.answers import catalog_digest, outcome
from quoting.quotes.code_version import code_version
from quoting.quotes.differences import Line, answer_lines
from quoting.quotes.models import Quote
from quoting.quotes.steps import overridden


@dataclass
class Verified:
    """What was found about one document. ``faults``: something stored is not what it was; that is always wrong.

    ``differences`` are figures that come out otherwise now; with the code that issued it there may be none.
    """

    quote: str
    faults: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    differences: tuple[Line, ...] = ()
    same_code: bool = False

    @property
    def good(self) -> bool:
        return not self.faults and not (self.same_code and self.differences)


def verified(quote: Quote) -> Verified:
    """Digests of the stored parts, the data inside the PDF, and the answer once more from the kept master data."""
    found = Verified(str(quote), faults=[f"{part} is not that of its digest" for part in quote.faults()])
    if quote.record is None:
        found.notes.append("issued before records were kept: only answer and PDF were checked")
        return found
    _attachment(quote, found)
    _reopened(quote, found)
    return found


def _attachment(quote: Quote, found: Verified) -> None:
    import pikepdf

    from quoting.documents.pdf import DATA_FILE

    with pikepdf.open(io.BytesIO(bytes(quote.pdf))) as pdf:
        if DATA_FILE not in pdf.attachments:
            found.faults.append("the PDF holds no data file")
            return
        data = json.loads(pdf.attachments[DATA_FILE].get_file().read_bytes())
    told = {"number": quote.number, "revision": quote.revision, "record_sha256": quote.record_digest}
    found.faults += [f"the data inside the PDF have another {key}" for key, value in told.items() if data[key] != value]


def _reopened(quote: Quote, found: Verified) -> None:
    record = quote.record
    plain = master_data.kept_plain(record["catalog_digest"])
    if plain is None:
        found.faults.append("the master data behind it are not kept")
        return
    now = code_version()
    found.same_code = all(record["code"][key] == now[key] for key in ("code", "libraries"))
    try:
        catalog = master_data.reopened(plain)
    except master_data.CannotReopenError as error:
        found.notes.append(f"the master data cannot be reopened with this code: {error}")
        return
    if catalog_digest(catalog) != record["catalog_digest"]:
        (found.faults if found.same_code else found.notes).append("the master data are not those of their digest")
    raw = overridden(record["typed"], tuple((one["field"], one["new"]) for one in record["overrides"]))
    again = outcome(raw, catalog, date.fromisoformat(record["answered_on"]))
    if again.digest != record["answer_digest"]:
        found.differences = answer_lines(quote.snapshot, again.snapshot)
