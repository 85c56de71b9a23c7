"""What a backup holds, written down so that a restore can prove that all of it came back."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import file_digest, sha256
from pathlib import Path

from django.core.management.base import CommandError

from quoting.contract import digest
from quoting.quotes.models import Quote

MANIFEST, FORMAT = "manifest.json", 1


@dataclass(frozen=True)
class Issued:
    """One issued document: the digests kept with it, and what its content gives when asked anew."""

    name: str
    kept: str
    pdf_kept: str
    found: str
    pdf_found: str

    @property
    def is_intact(self) -> bool:
        return (self.kept, self.pdf_kept) == (self.found, self.pdf_found)


def issued() -> Iterator[Issued]:
    """Every issued document of the database, its digests computed anew from its content."""
    for quote in Quote.objects.order_by("number", "revision").iterator(chunk_size=10):
        yield Issued(
            f"{quote.number} revision {quote.revision}", quote.digest, quote.pdf_digest, digest(quote.snapshot),
            sha256(bytes(quote.pdf)).hexdigest(),
        )  # fmt: skip


def files_of(folder: Path) -> dict[str, str]:
    """SHA-256 of every file below the folder but the manifest, by its path."""
    digests = {}
    for path in sorted(folder.rglob("*")):
        if path.is_file() and path != folder / MANIFEST:
            with path.open("rb") as file:
                digests[str(path.relative_to(folder))] = file_digest(file, "sha256").hexdigest()
    return digests


def write(folder: Path, content: dict) -> None:
    whole = {"format": FORMAT, **content, "files": files_of(folder)}
    (folder / MANIFEST).write_text(json.dumps(whole, indent=1) + "\n", encoding="utf-8")


def checked(folder: Path) -> dict:
    """The manifest of a backup whose files are all there and as they were; else CommandError naming each one."""
    try:
        whole = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
    except (OSError, ValueError) as unreadable:
        raise CommandError(f"{folder} holds no readable {MANIFEST}: {unreadable}") from unreadable
    if not isinstance(whole, dict) or whole.get("format") != FORMAT:
        raise CommandError(f"{folder / MANIFEST} is not of format {FORMAT}")
    told, found = whole["files"], files_of(folder)
    wrong = [f"{name} is missing" for name in sorted(told.keys() - found.keys())]
    wrong += [f"{name} is not of this backup" for name in sorted(found.keys() - told.keys())]
    wrong += [f"{name} is damaged" for name in sorted(told.keys() & found.keys()) if told[name] != found[name]]
    if wrong:
        raise CommandError(f"the backup in {folder} is not whole, nothing was restored: " + "; ".join(wrong))
    return whole
