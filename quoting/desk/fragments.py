"""Parts of a page that rest on a stored answer alone, written once in each process and then kept.

Safe, because what writes such a part is given the stored answer and nothing else: no person, request, clock or row.
Whoever asks for one has shown before that they may see it. The key is the whole content that the part rests on, so
another answer, or the same one changed in any place, is another part; and what is kept ends with the process, and so
with the code and the templates that wrote it.
"""

import marshal
import zlib
from collections.abc import Callable
from hashlib import sha256

from django.core.cache import caches
from django.utils.safestring import SafeString, mark_safe

from quoting.quotes.fronts import StoredFront

Markup = dict[str, str]


def kept(part: str, stored: StoredFront | dict, write: Callable[[dict], str]) -> SafeString:
    """The markup that ``write`` makes of plain stored JSON; ``part`` names the writer."""
    return kept_parts(part, stored, lambda content: ({}, {"": write(content)}))[1][""]


def kept_parts(
    part: str, stored: StoredFront | dict, write: Callable[[dict], tuple[dict, Markup]]
) -> tuple[dict, dict[str, SafeString]]:
    """Several pieces of markup of one writer by name, and beside them some plain facts that a page asks for."""
    key = f"{part}:{_digest(stored)}"
    packed = caches["fragments"].get(key)
    if packed is None:
        content = stored.read() if isinstance(stored, StoredFront) else stored
        facts, markup = write(content)
        whole = marshal.dumps((facts, {name: text.encode() for name, text in markup.items()}))
        packed = zlib.compress(whole, 1)  # the markup of charts packs to a tenth
        caches["fragments"].set(key, packed)
    facts, markup = marshal.loads(zlib.decompress(packed))  # noqa: S302 - written above, and kept in this process alone
    return facts, {name: mark_safe(text.decode()) for name, text in markup.items()}  # noqa: S308 - our templates' own


def _digest(stored: StoredFront | dict) -> str:
    if isinstance(stored, StoredFront):
        return stored.digest
    # The second form of marshal writes equal content equally; a tenth of the time that JSON takes.
    return sha256(marshal.dumps(stored, 2)).hexdigest()
