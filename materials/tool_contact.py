"""What a formed wall meets on its tool: how well the tool takes heat, and how warm it has become in the run."""

from dataclasses import dataclass

import numpy as np

from materials.arrays import as_given
from materials.ranges import Number, OutsideRangeError, holds, not_negative, positive

CONTROLLED_ALUMINIUM, UNCONTROLLED_ALUMINIUM, EPOXY = "controlled aluminium", "uncontrolled aluminium", "epoxy"
TOOL_KINDS = (CONTROLLED_ALUMINIUM, UNCONTROLLED_ALUMINIUM, EPOXY)

# Films and conductivities of tools, each with the range it was taken from: from memory, unverified.
CONTACT_FILM = 400.0  # W/(m2 K), sheet on aluminium under vacuum or pressure; 200 to 1000
ALUMINIUM_CONDUCTIVITY = 150.0  # W/(m K), 120 to 200
EPOXY_CONDUCTIVITY = 1.0  # W/(m K), filled with metal; 0.6 to 2
EPOXY_THICKNESS = 0.020  # m, from the face to the cooling pipes laid in behind it; 12 to 40 mm
PIPE_FILM = 300.0  # W/(m2 K), water in pipes laid into the back, on the area of the face; 100 to 1000
LOSS_FILM = 25.0  # W/(m2 K), what sides, back and platen take from an uncooled tool, on the area of the face; 10 to 60


@dataclass(frozen=True)
class Contact:
    """What the wall meets: ``film`` [W/(m2 K)] to a tool that is held, or has settled, at ``temperature`` [K]."""

    film: Number
    temperature: Number


def tool_film(
    kind: str,
    contact_film: Number = CONTACT_FILM,
    thickness: Number = EPOXY_THICKNESS,
    conductivity: Number = EPOXY_CONDUCTIVITY,
    back_film: Number = PIPE_FILM,
) -> Number:
    """Film coefficient from the wall to what takes the heat: the metal of a tool, or the water behind its shell.

    Aluminium: the contact alone, ``h = h_contact``. Epoxy: ``1/h = 1/h_contact + thickness/k + 1/h_back``.

    Parameters
    ----------
    kind : str
        One of `TOOL_KINDS` [-].
    contact_film : float or array
        Sheet to the face of the tool [W/(m2 K)], above 0.
    thickness, conductivity, back_film : float or array
        Of an epoxy shell [m], [W/(m K)], [W/(m2 K)], above 0; not used for aluminium, which conducts a hundred times
        better than its contact.

    Returns
    -------
    film : float or array
        [W/(m2 K)]

    Raises
    ------
    OutsideRangeError
        The kind is not known, or a value is not above 0.

    References
    ----------
    Resistances in series, textbook. That the sheet lifts off as it shrinks, leaving an air gap, is not in it.

    Examples
    --------
    >>> tool_film("controlled aluminium", 500.0)
    500.0
    >>> round(tool_film("epoxy", 500.0, thickness=0.02, conductivity=1.0, back_film=500.0), 3)
    41.667
    """
    if kind not in TOOL_KINDS:
        raise OutsideRangeError("kind", kind, ", ".join(TOOL_KINDS))
    positive(contact_film=contact_film)
    if kind != EPOXY:
        return contact_film
    positive(thickness=thickness, conductivity=conductivity, back_film=back_film)
    return 1 / (1 / contact_film + thickness / conductivity + 1 / back_film)


def drifted_tool_temperature(
    energy_per_area: Number, cycle_time: Number, loss_film: Number, air_temperature: Number
) -> Number:
    """Temperature at which an uncooled tool settles after many parts: what each brings leaves before the next comes.

    ``T = T_air + q/(h t)``, its mean over a cycle

    Parameters
    ----------
    energy_per_area : float or array
        Heat that one part leaves in the tool, on the area of the face [J/m2], 0 or more.
    cycle_time : float or array
        From one part to the next [s], above 0: heat leaves during the whole of it.
    loss_film : float or array
        From the tool to air and platen, on the area of the face [W/(m2 K)], above 0.
    air_temperature : float or array
        [K], above 0.

    Returns
    -------
    temperature : float or array
        [K]

    Raises
    ------
    OutsideRangeError
        An argument is out of its range.

    Notes
    -----
    A warmer tool takes less from each part, so a heat reckoned for a cold tool gives an upper bound. The swing
    within a cycle, q over the heat capacity of the tool's wall, comes on top.

    References
    ----------
    Periodic steady state of one body, derived here.

    Examples
    --------
    300 kJ/m2 every 240 s into 25 W/(m2 K): 50 K above the air.

    >>> drifted_tool_temperature(300e3, 240.0, 25.0, 298.0)
    348.0
    """
    not_negative(energy_per_area=energy_per_area)
    positive(cycle_time=cycle_time, loss_film=loss_film, air_temperature=air_temperature)
    return air_temperature + energy_per_area / (loss_film * cycle_time)


def shortest_cycle(energy_per_area: Number, warmest_tool: Number, loss_film: Number, air_temperature: Number) -> Number:
    """Cycle below which an uncooled tool drifts above a temperature: ``t = q/(h (T - T_air))``.

    Parameters
    ----------
    energy_per_area : float or array
        Heat that one part leaves in the tool [J/m2], 0 or more.
    warmest_tool : float or array
        What the tool may settle at [K], above the air.
    loss_film : float or array
        [W/(m2 K)], above 0.
    air_temperature : float or array
        [K], above 0.

    Returns
    -------
    time : float or array
        [s]

    Raises
    ------
    OutsideRangeError
        An argument is out of its range.

    Examples
    --------
    >>> shortest_cycle(300e3, 348.0, 25.0, 298.0)
    240.0
    """
    not_negative(energy_per_area=energy_per_area)
    positive(loss_film=loss_film, air_temperature=air_temperature, warmest_tool=warmest_tool)
    if not holds(warmest_tool > air_temperature):
        raise OutsideRangeError("warmest_tool", warmest_tool, f"above the air of {air_temperature} K")
    return energy_per_area / (loss_film * (warmest_tool - air_temperature))


def contact_with(
    kind: str,
    contact_film: Number,
    set_temperature: Number,
    energy_per_area: Number,
    cycle_time: Number,
    air_temperature: Number,
    loss_film: Number = LOSS_FILM,
) -> Contact:
    """What a wall meets on a tool of one kind that has run for a while.

    A controlled tool is held at its set temperature, and so is the water behind an epoxy shell; uncooled aluminium
    drifts to where each cycle takes away what each part brings.

    Parameters
    ----------
    kind : str
        One of `TOOL_KINDS` [-].
    contact_film : float or array
        Sheet to the face of the tool [W/(m2 K)], above 0.
    set_temperature : float or array
        Of the tool, or of its water [K], above 0.
    energy_per_area : float or array
        Heat that one part leaves in the tool [J/m2], 0 or more.
    cycle_time : float or array
        [s], above 0.
    air_temperature : float or array
        [K], above 0.
    loss_film : float or array, optional
        Of an uncooled tool [W/(m2 K)], above 0.

    Returns
    -------
    contact : Contact
        [SI]; where an argument is an array, both of its values are, of the shape that all arguments have together.

    Raises
    ------
    OutsideRangeError
        An argument is out of its range.
    """
    positive(set_temperature=set_temperature)
    film = tool_film(kind, contact_film)
    drifted = drifted_tool_temperature(energy_per_area, cycle_time, loss_film, air_temperature)
    temperature = drifted if kind == UNCONTROLLED_ALUMINIUM else set_temperature
    film, temperature, _, _ = np.broadcast_arrays(film, temperature, set_temperature, drifted)
    return Contact(as_given(film), as_given(temperature))
