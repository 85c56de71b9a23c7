"""The forms that a page holds, filled in as they stand, as a browser would send them."""

from dataclasses import dataclass, field
from html.parser import HTMLParser

UNSENT = ("submit", "button", "reset", "image", "file")


@dataclass
class PageForm:
    """Where a form goes, by which method, and what it would send if nothing were changed."""

    action: str
    method: str
    fields: dict[str, str] = field(default_factory=dict)


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.forms: list[PageForm] = []
        self.by_id: dict[str, PageForm] = {}
        self.inside: PageForm | None = None
        self.select = self.area = ""

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        found = {name: value or "" for name, value in attributes}
        if tag == "form":
            self.inside = PageForm(found.get("action", ""), found.get("method", "get").upper())
            self.forms.append(self.inside)
            self.by_id[found.get("id", "")] = self.inside
        form, name = self.by_id.get(found.get("form", "-"), self.inside), found.get("name", "")
        if tag == "option" and self.inside and self.select:
            if "selected" in found or self.select not in self.inside.fields:
                self.inside.fields[self.select] = found.get("value", "")
        elif form is None or not name:
            return
        elif tag == "select":
            self.select = name
        elif tag == "textarea":
            self.area = name
            form.fields.setdefault(name, "")
        elif tag == "input" and found.get("type", "text") not in UNSENT:
            is_box = found.get("type") in ("checkbox", "radio")
            if not is_box or "checked" in found:
                form.fields[name] = found.get("value", "on" if is_box else "")
            else:
                form.fields.setdefault(name, "")
        elif tag == "button":
            form.fields[name] = found.get("value", "")

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.inside = None
        elif tag == "select":
            self.select = ""
        elif tag == "textarea":
            self.area = ""

    def handle_data(self, data: str) -> None:
        if self.area and self.inside:
            self.inside.fields[self.area] += data


def forms_on(page: str, address: str) -> list[PageForm]:
    """The forms of ``page``, which stands at ``address``; one without an action goes to the page itself."""
    reader = _Reader()
    reader.feed(page)
    for one in reader.forms:
        one.action = one.action or address
        one.fields.pop("csrfmiddlewaretoken", None)
    return reader.forms
