"""Model files that customers send: kept under names of our own, read only by the measuring worker."""

import os
import secrets
from pathlib import Path
from typing import BinaryIO

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from quoting.geometry.files.bodies import UnreadableError
from quoting.geometry.files.kinds import END, check_ends
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

    Raises ValidationError for another kind of file, an empty one, one that is cut off or above the limit; then nothing
    is kept, nor where the disk is full.
    """
    suffix = Path(upload.name or "").suffix.lower()
    if suffix not in SUFFIXES:
        raise ValidationError(f"Send a file that ends in {', '.join(sorted(SUFFIXES))}. Sent was {upload.name!r:.60}.")
    if not upload.size or upload.size > LARGEST_FILE:
        raise ValidationError(f"Send a file of 1 byte to 50 MB. Sent were {upload.size} bytes.")
    refuse_at_a_glance(upload)
    name = f"{secrets.token_hex(16)}{suffix}"
    half = drawings_folder() / f"{name}.half"  # no name of a drawing: what is cut off by a fault is never taken for one
    try:
        with half.open("wb") as kept:
            for chunk in upload.chunks():
                kept.write(chunk)
            kept.flush()
            os.fsync(kept.fileno())
        half.replace(drawings_folder() / name)
    except OSError:
        half.unlink(missing_ok=True)
        raise
    return name


def refuse_at_a_glance(upload: UploadedFile) -> None:
    """ValidationError for what its two ends show to be no model; reading it takes a process of its own, and seconds."""
    upload.seek(0)
    head = upload.read(END)
    upload.seek(max(0, upload.size - END))
    try:
        check_ends(head, upload.read(END), upload.size)
    except UnreadableError as refused:
        raise ValidationError(f"The model cannot be used: {refused}.") from None
