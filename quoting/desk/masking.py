"""Secrets of private links never reach a log, whoever writes it: addresses are written down by framework and server."""

import logging
import re
from collections.abc import Mapping

# The part after /q/ that is too long for the number of a quote, and 43 characters of URL-safe base64 anywhere.
_SECRET = re.compile(r"(/q/)[^/?#\s\"']{20,}|(?<![\w/-])[A-Za-z0-9_-]{43}(?![\w-])")


def masked(text: str) -> str:
    """
    >>> masked("Not Found: /q/QnJvd3NlcnMgd3JpdGUgdGhpcyBkb3duLi4u/")
    'Not Found: /q/***/'
    >>> masked("GET /q/Q-2026-0001/1/")
    'GET /q/Q-2026-0001/1/'
    """
    return _SECRET.sub(lambda found: f"{found.group(1) or ''}***", text)


def _one_line(value: object) -> object:
    """A text without secret and without control characters, so that one event stays one line."""
    if not isinstance(value, str):
        return value
    return "".join(char if char.isprintable() or char == "\t" else " " for char in masked(value))


def mask_all_logs() -> None:
    """Mask each record as it is made, before any handler sees it. A second call changes nothing."""
    made = logging.getLogRecordFactory()
    if getattr(made, "masks", False):
        return

    def make(*arguments: object, **named: object) -> logging.LogRecord:
        record = made(*arguments, **named)
        if isinstance(record.msg, str):
            record.msg = masked(record.msg)
        if isinstance(record.args, Mapping):
            record.args = {name: _one_line(value) for name, value in record.args.items()}
        elif record.args:
            record.args = tuple(_one_line(value) for value in record.args)
        return record

    make.masks = True
    logging.setLogRecordFactory(make)
