"""Model files that customers send: kept under names of our own, read only by the measuring worker."""

import secrets
from pathlib import Path

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from quoting.intake.model_file import LARGEST_FILE, SUFFIXES


def drawings_folder() -> Path:
    """Where model files lie; nothing in it is ever served."""
    folder = Path(settings.MEDIA_ROOT) / "drawings"
    folder.mkdir(parents=True, exist_ok=True)
    return folder


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
