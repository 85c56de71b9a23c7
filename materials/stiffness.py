"""Plastic wall against metal sheet: equal stiffness, and what each weighs."""

from dataclasses import dataclass

from materials.ranges import Number, positive

KSI = 6.894757293168e6  # Pa, from the exact pound-force and inch
POUND_PER_CUBIC_INCH = 27679.904710191  # kg/m3, from the exact pound and inch


@dataclass(frozen=True)
class Metal:
    """Sheet metal as it is compared with."""

    name: str
    modulus: float  # Pa
    density: float  # kg/m3


# Moduli and densities from memory, unverified; alloys differ by a few percent.
STEEL = Metal("steel", 29_000 * KSI, 0.284 * POUND_PER_CUBIC_INCH)
STAINLESS = Metal("stainless steel", 28_000 * KSI, 0.290 * POUND_PER_CUBIC_INCH)
ALUMINIUM = Metal("aluminium", 10_000 * KSI, 0.098 * POUND_PER_CUBIC_INCH)
METALS = {metal.name: metal for metal in (STEEL, STAINLESS, ALUMINIUM)}


def equal_stiffness_thickness(modulus_from: Number, thickness: Number, modulus_to: Number) -> Number:
    """Thickness of a flat panel in another material that bends as little, per unit width.

    ``E1 t1^3 = E2 t2^3``

    Parameters
    ----------
    modulus_from : float or array
        Of the panel that is replaced [Pa], above 0.
    thickness : float or array
        Of the panel that is replaced [m], above 0.
    modulus_to : float or array
        Of the other material [Pa], above 0.

    Returns
    -------
    thickness : float or array
        [m]

    Raises
    ------
    OutsideRangeError
        An argument is not above 0.

    Notes
    -----
    Short loads on flat panels. Plastics creep, soften with heat, and win by shape: crown, ribs, flanges.

    References
    ----------
    Plate theory, from memory, unverified.

    Examples
    --------
    Steel of 16 gauge in ABS, both in inches and ksi:

    >>> round(equal_stiffness_thickness(29_000, 0.0598, 300), 3)
    0.274
    """
    positive(modulus_from=modulus_from, thickness=thickness, modulus_to=modulus_to)
    return thickness * (modulus_from / modulus_to) ** (1 / 3)


def stiffness_ratio(modulus: Number, thickness: Number, other_modulus: Number, other_thickness: Number) -> Number:
    """Bending stiffness of a flat panel over that of another, per unit width.

    ``E1 t1^3/(E2 t2^3)``

    Parameters
    ----------
    modulus, other_modulus : float or array
        [Pa], above 0.
    thickness, other_thickness : float or array
        [m], above 0.

    Returns
    -------
    ratio : float or array
        [-]

    Raises
    ------
    OutsideRangeError
        An argument is not above 0.

    Examples
    --------
    >>> stiffness_ratio(2e9, 0.004, 2e9, 0.002)
    8.0
    """
    positive(modulus=modulus, thickness=thickness, other_modulus=other_modulus, other_thickness=other_thickness)
    return modulus / other_modulus * (thickness / other_thickness) ** 3


def panel_mass(area: Number, thickness: Number, density: Number) -> Number:
    """Mass of a flat panel.

    ``m = A t rho``

    Parameters
    ----------
    area : float or array
        [m2], above 0.
    thickness : float or array
        [m], above 0.
    density : float or array
        [kg/m3], above 0.

    Returns
    -------
    mass : float or array
        [kg]

    Raises
    ------
    OutsideRangeError
        An argument is not above 0.

    Examples
    --------
    >>> panel_mass(2.0, 0.5, 1000.0)
    1000.0
    """
    positive(area=area, thickness=thickness, density=density)
    return area * thickness * density
