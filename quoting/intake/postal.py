"""Where a US postal code lies, from the offline list of the package ``zipcodes``."""

import re

import zipcodes

from quoting.intake.part import Destination

_ZIP = re.compile(r"[0-9]{5}(-[0-9]{4})?")


def place_of(postal_code: str, country: str = "US") -> Destination | None:
    """The destination of a ZIP or ZIP+4 code; None when it is unknown or has no place on the map.

    Military and some retired codes are listed at latitude 0: they cannot be priced by distance.

    >>> place_of("44114").place
    'Cleveland, OH'
    """
    if country != "US" or not _ZIP.fullmatch(postal_code):
        return None
    for entry in zipcodes.matching(postal_code):
        latitude, longitude = float(entry["lat"]), float(entry["long"])
        if latitude and longitude and entry["country"] == "US":
            return Destination(postal_code, country, latitude, longitude, f"{entry['city']}, {entry['state']}")
    return None
