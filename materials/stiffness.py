"""Plastic wall against metal sheet: equal stiffness, what each weighs, how warmth and time soften the plastic."""

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
    expansion: float  # 1/K, linear
    poisson: float  # -


# Moduli and densities from memory, unverified; alloys differ by a few percent. Expansion: amesweb.info, "Linear Thermal
# Expansion Coefficient of Steel", AISI 1020 and grade 304; aluminium: engineersedge.com, "Coefficients Linear Thermal
# Expansion", 13.1 microinch per inch and degF. Poisson's ratios from memory, unverified.
STEEL = Metal("steel", 29_000 * KSI, 0.284 * POUND_PER_CUBIC_INCH, 11.7e-6, 0.29)
STAINLESS = Metal("stainless", 28_000 * KSI, 0.290 * POUND_PER_CUBIC_INCH, 17.2e-6, 0.29)
ALUMINIUM = Metal("aluminium", 10_000 * KSI, 0.098 * POUND_PER_CUBIC_INCH, 13.1e-6 * 1.8, 0.33)
METALS = {metal.name: metal for metal in (STEEL, STAINLESS, ALUMINIUM)}

PLASTIC_POISSON = 0.38  # -, of rigid sheet polymers 0.35 to 0.42: from memory, unverified
ROOM = 296.15  # K, 23 degC, at which data sheets give a modulus: common practice, no source
LASTING = 0.4  # -, modulus left after a thousand hours under load, 0.3 to 0.5: common practice, no source

# The bar of ASTM D648: it sags by 0.25 mm under 0.455 MPa in its outer fibre when the deflection temperature is reached
# (summary of the method, standardsclub.mealir.com); 100 mm span and 12.7 mm height from memory, unverified. A bar
# loaded in its middle sags by s L^2/(6 E h), so its modulus is then, whatever the plastic:
DEFLECTED_MODULUS = 0.455e6 * 0.100**2 / (6 * 0.0127 * 0.25e-3)  # Pa, 239 MPa


def warm_modulus(modulus: float, deflection_temperature: float, temperature: float) -> float | None:
    """Modulus at a temperature in use, for loads of minutes: a screening figure, no design value.

    A straight line from the modulus at room temperature to that which a bar of the deflection test has left when it
    has sagged. Amorphous sheet keeps more until close to that point.

    Parameters
    ----------
    modulus : float
        At room temperature [Pa], above 0.
    deflection_temperature : float
        At 0.455 MPa [K], above 0.
    temperature : float
        In use [K].

    Returns
    -------
    modulus : float or None
        None above the deflection temperature, where the sheet carries no load [Pa].

    Raises
    ------
    OutsideRangeError
        An argument is not above 0.

    Examples
    --------
    >>> round(warm_modulus(2.2e9, 363.15, 296.15) / 1e9, 3), warm_modulus(2.2e9, 363.15, 370.0) is None
    (2.2, True)
    """
    positive(modulus=modulus, deflection_temperature=deflection_temperature, temperature=temperature)
    if temperature > deflection_temperature:
        return None
    if temperature <= ROOM:
        return modulus
    share = (temperature - ROOM) / (deflection_temperature - ROOM)
    return modulus - share * (modulus - min(modulus, DEFLECTED_MODULUS))


def expansion_of(length: Number, expansion: Number, rise: Number) -> Number:
    """How much longer a side gets when it is warmed.

    ``dL = alpha L dT``

    Parameters
    ----------
    length : float or array
        [m]
    expansion : float or array
        Linear coefficient [1/K].
    rise : float or array
        Of temperature, below 0 for a fall [K].

    Returns
    -------
    growth : float or array
        [m]

    Examples
    --------
    >>> round(expansion_of(1.0, 11.7e-6, 50.0) * 1000, 3)
    0.585
    """
    return expansion * length * rise


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
