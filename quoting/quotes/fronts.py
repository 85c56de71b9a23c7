"""The front of an answer: all that an inquiry's page shows at first, without the hundreds of candidates behind it.

It is kept beside the whole answer, so that opening a page need not read and unpack a megabyte.
"""

from dataclasses import dataclass
from functools import cached_property
from hashlib import sha256

from quoting.documents.labels import over_male_tool
from quoting.documents.plant_comparison import plant_rows
from quoting.documents.reasons import closest_candidate, in_the_way
from quoting.quotes.snapshots import packed, unpacked


@dataclass(frozen=True)
class StoredFront:
    """A front as the database keeps it: known by the digest of its text, unpacked only where somebody reads it."""

    text: str

    @cached_property
    def digest(self) -> str:
        return sha256(self.text.encode()).hexdigest()

    def read(self) -> dict:
        return unpacked(self.text)


def stored(front: dict) -> StoredFront:
    return StoredFront(packed(front))


def front_of(snapshot: dict | None) -> dict | None:
    """The answer without its candidates; what the page tells about them is counted here, once."""
    if snapshot is None:
        return None
    kept = {key: value for key, value in snapshot.items() if key != "candidates"}
    candidates = snapshot.get("candidates", ())
    fitting = sum(not in_the_way(priced) for priced in candidates)
    return kept | {
        "compared": {"total": len(candidates), "fitting": fitting},
        "obstacles": obstacles(snapshot) if snapshot.get("decision") == "not_a_fit" else None,
        "plants": _plants(snapshot) if snapshot.get("advice") else None,
    }


def _plants(snapshot: dict) -> list[dict]:
    return [{key: value for key, value in row.items() if key != "order"} for row in plant_rows(snapshot)]


def route(priced: dict) -> dict:
    """Process, plant, machine, polymer and sheet of one candidate, without any of their rates; without cavities and
    trimmer where nothing was worked out for it."""
    planned = priced["judged"]["planned"]
    candidate = planned["candidate"]
    return {
        "process": candidate["process"],
        "over_male_tool": over_male_tool(planned),
        "plant": candidate["plant"]["name"],
        "plant_code": candidate["plant"]["code"],
        "machine": candidate["machine"]["code"],
        "polymer": candidate["polymer"]["name"],
        "offer": candidate["offer"]["name"] if candidate["offer"] else "",
        "gauge": candidate["gauge"],
        "cavities": candidate["layout"]["along"] * candidate["layout"]["across"] if candidate["layout"] else 0,
        "trimmed_at": planned["plan"]["trim"]["plant"] if planned["plan"] else "",
    }


def obstacles(snapshot: dict) -> dict | None:
    """The candidate that came closest (fewest failed rules), what stood in its way, and how often each rule failed."""
    refused = [priced for priced in snapshot.get("candidates", ()) if in_the_way(priced)]
    if not refused:
        return None
    closest = closest_candidate(refused)
    counts: dict[str, int] = {}
    for priced in refused:
        for verdict in in_the_way(priced):
            counts[verdict["rule"]] = counts.get(verdict["rule"], 0) + 1
    return {
        "route": route(closest),
        "verdicts": in_the_way(closest),
        "counts": sorted(counts.items(), key=lambda item: (-item[1], item[0])),
        "tried": len(refused),
    }
