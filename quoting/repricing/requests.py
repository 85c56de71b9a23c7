"""A request as plain JSON values and back, so that an inquiry need not be read again when only rates have changed."""

from dataclasses import asdict
from datetime import date
from decimal import Decimal
from typing import Any

from quoting.intake.part import (
    Coat,
    Customer,
    CustomerTool,
    Destination,
    MetalPart,
    Part,
    PartRequest,
    Pocket,
    Secondary,
)


def plain_request(request: PartRequest) -> dict[str, Any]:
    """A request as plain JSON values.

    Parameters
    ----------
    request : PartRequest
        [SI]

    Returns
    -------
    plain : dict
        Texts, numbers, lists and mappings [SI].
    """
    plain = asdict(request)
    plain["needed_by"] = None if request.needed_by is None else request.needed_by.isoformat()
    plain["target_price"] = None if request.target_price is None else str(request.target_price)
    return plain


def request_from(plain: dict[str, Any]) -> PartRequest:
    """The request that ``plain_request`` wrote.

    Parameters
    ----------
    plain : dict
        [SI]

    Returns
    -------
    request : PartRequest
        Equal to the one that was written [SI].

    Raises
    ------
    TypeError
        A field is missing or unknown.
    """
    metal, needed, target = plain["replaces_metal"], plain["needed_by"], plain["target_price"]
    kept = plain | {
        "customer": Customer(**plain["customer"]),
        "ship_to": Destination(**plain["ship_to"]),
        "part": _part(plain["part"]),
        "secondary": tuple(_secondary(one) for one in plain["secondary"]),
        "replaces_metal": None if metal is None else MetalPart(**metal),
        "needed_by": None if needed is None else date.fromisoformat(needed),
        "target_price": None if target is None else Decimal(target),
        "tool": CustomerTool(**plain["tool"]),
    }
    lists = {name: tuple(plain[name]) for name in ("polymers", "needs", "releases", "tooling_options")}
    return PartRequest(**(kept | lists))


def _secondary(plain: dict[str, Any]) -> Secondary:
    coat = plain["coat"]
    return Secondary(**(plain | {"coat": None if coat is None else Coat(**coat)}))


def _part(plain: dict[str, Any]) -> Part:
    pocket = plain["pocket"]
    return Part(**(plain | {"pocket": None if pocket is None else Pocket(**pocket)}))
