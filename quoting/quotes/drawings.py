"""Model files that customers send: kept under names of our own, read only by the measuring worker."""

import secrets
from pathlib import Path
from typing import BinaryIO

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from quoting.intake.model_file import LARGEST_FILE, SUFFIXES


def drawings_folder() -> Path:
    """Where model files lie."""
    folder = Path(settings.MEDIA_ROOT) / "drawings"
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def drawing_there(name: str) -> bool:
    """Whether a model of that name is kept here; a name that leads elsewhere is none."""
    path = drawings_folder() / name
    return Path(name).name == name and path.suffix in SUFFIXES and not path.is_symlink() and path.is_file()


def drawing_open(name: str) -> BinaryIO | None:
    """A kept model to be sent on as it came; None where it is not kept here."""
    return (drawings_folder() / name).open("rb") if drawing_there(name) else None


def drawing_keep(*, upload: UploadedFile) -> str:
    """Keep an uploaded model and return the name under which the inquiry refers to it.

    Raises ValidationError for another kind of file, an empty one or one above the limit; then nothing is kept.
    """
    suffix = Path(upload.name or "").suffix.lower()
    if suffix not in SUFFIXES:
        raise ValidationError(f"Send a file that ends in {', '.join(sorted(SUFFIXES))}. Sent was {upload.name!r:.60}.")
    if not upload.size or upload.size > LARGEST_FILE:
        raise ValidationError(f"Send a file of 1 byte to 50 MB. Sent were {upload.size} bytes.")
    name = f"{secrets.token_hex(16)}{suffix}"
    with (drawings_folder() / name).open("wb") as kept:
        for chunk in upload.chunks():
            kept.write(chunk)
    return name
