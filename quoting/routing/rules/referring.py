"""The other processes a part may be sent to, and which of them suits a part of this size and number."""

from materials.sheet import INCH
from quoting.intake.part import PartRequest

INJECTION, FOAM, ROTATIONAL, BLOW = "injection moulding", "structural foam", "rotational moulding", "blow moulding"
REACTION, LAY_UP, METAL = "reaction injection moulding", "FRP lay-up", "sheet metal"
FABRICATED, THIN_GAUGE = "fabricated plastic sheet", "thin-gauge roll-fed thermoforming"
COMPRESSION = "compression-moulded composite"

# Where one process takes over from another: common practice, no source.
INJECTION_LONGEST = 24 * INCH  # beyond it reaction injection moulding and structural foam compete
REACTION_MOST = 3_000  # parts a year
BLOW_LEAST = 10_000  # parts a year


def moulding_for(request: PartRequest) -> str:
    """The moulding process for a part that thermoforming cannot shape.

    Parameters
    ----------
    request : PartRequest
        [-]

    Returns
    -------
    process : str
        [-]
    """
    part = request.part
    if part.enclosed:
        return BLOW if request.annual >= BLOW_LEAST else ROTATIONAL
    if max(part.length, part.width, part.depth) <= INJECTION_LONGEST:
        return INJECTION
    return REACTION if request.annual <= REACTION_MOST else FOAM


def large_or_few(request: PartRequest) -> str:
    """Where a part goes that is too large, or too few, for a tool of ours: lay-up, or a tank if it is closed.

    Parameters
    ----------
    request : PartRequest
        [-]

    Returns
    -------
    process : str
        [-]
    """
    return ROTATIONAL if request.part.enclosed else LAY_UP
