"""Which code gave an answer: its fingerprint, its commit where known, the tables and the libraries it stood on."""

import os
import platform
from functools import cache
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path

from django.conf import settings
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder

PACKAGES = ("materials", "machines", "quoting")
LIBRARIES = ("django", "numpy", "scipy", "pint", "weasyprint")  # what figures or bytes may depend on
TABLES = ("materials", "machines", "planning", "quotes")


def code_version() -> dict:
    """Equal ``code`` and ``libraries``: equal figures from equal data."""
    return {
        "code": fingerprint(),
        "commit": commit(),
        "tables": tables(),
        "python": platform.python_version(),
        "libraries": libraries(),
    }


@cache
def _versions() -> tuple[tuple[str, str], ...]:
    return tuple((name, version(name)) for name in LIBRARIES)


def libraries() -> dict[str, str]:
    return dict(_versions())


@cache
def fingerprint() -> str:
    """SHA-256 over every source file that an answer or a document passes through."""
    found = sha256()
    for package in PACKAGES:
        for file in sorted((Path(settings.BASE_DIR) / package).rglob("*.py")):
            if "migrations" not in file.parts:
                found.update(f"{file.relative_to(settings.BASE_DIR)}\n".encode() + file.read_bytes())
    return found.hexdigest()


@cache
def commit() -> str:
    """The commit that was checked out, as said by the environment or by the repository; empty where neither knows."""
    said = os.environ.get("QUOTING_COMMIT", "")
    if said:
        return said[:40]
    git = Path(settings.BASE_DIR) / ".git"
    try:
        if git.is_file():
            git = Path(git.read_text().partition("gitdir: ")[2].strip())
        head = (git / "HEAD").read_text().strip()
        if not head.startswith("ref: "):
            return head
        common = git / "commondir"
        root = (git / common.read_text().strip()).resolve() if common.exists() else git
        return (root / head.removeprefix("ref: ")).read_text().strip()
    except OSError:
        return ""  # installed without its repository; the fingerprint still says which code it is


def tables() -> dict[str, str]:
    """The last migration of each of our tables."""
    rows = MigrationRecorder(connection).migration_qs.filter(app__in=TABLES).order_by("app", "name")
    return dict(rows.values_list("app", "name"))
