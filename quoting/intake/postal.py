"""Where a US postal code lies, from the offline list of the package ``zipcodes``."""

import re

import zipcodes

from quoting.intake.part import Destination

# No road leads there from the other states, so that a rate by the mile says nothing; Alaska has one, through Canada.
OVERSEA = frozenset({"AS", "FM", "GU", "HI", "MH", "MP", "PR", "PW", "VI"})

_ZIP = re.compile(r"[0-9]{5}(-[0-9]{4})?")


def place_of(postal_code: str, country: str = "US") -> Destination | None:
    """The destination of a ZIP or ZIP+4 code; None when it is unknown or has no place on the map.

    Military and some retired codes are listed at latitude 0: they cannot be priced by distance.

    Places that no road reaches have none either.

    >>> place_of("44114").place, place_of("96813")
    ('Cleveland, OH', None)
    """
    if country != "US" or is_oversea(postal_code):
        return None
    for entry in _entries(postal_code):
        latitude, longitude = float(entry["lat"]), float(entry["long"])
        if latitude and longitude and entry["country"] == "US":
            return Destination(postal_code, country, latitude, longitude, f"{entry['city']}, {entry['state']}")
    return None


def is_oversea(postal_code: str) -> bool:
    """Whether the code lies where goods go by ship or air: Hawaii, Puerto Rico, Guam and their like.

    >>> is_oversea("96813"), is_oversea("99501"), is_oversea("nonsense")
    (True, False, False)
    """
    return any(entry["state"] in OVERSEA for entry in _entries(postal_code))


def _entries(postal_code: str) -> list[dict]:
    return zipcodes.matching(postal_code) if _ZIP.fullmatch(postal_code) else []
