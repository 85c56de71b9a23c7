"""Text to SI and SI to text. The only file that imports pint; nothing a person typed ever reaches pint's parser.

A small strict grammar reads the number and names the unit from a short list; pint then converts (number, unit).
"""

import re
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction

import pint

from quoting.words import Words

_registry = pint.UnitRegistry(cache_folder=None)
LONGEST_TEXT = 40

_LENGTH = {
    "in": "inch", "inch": "inch", "inches": "inch", '"': "inch", "ft": "foot", "foot": "foot", "feet": "foot",
    "'": "foot", "mm": "millimeter", "cm": "centimeter", "m": "meter", "um": "micrometer", "mil": "thou",
    "thou": "thou",
}  # fmt: skip
_PRESSURE = {"psi": "psi", "ksi": "ksi", "pa": "pascal", "kpa": "kilopascal", "mpa": "megapascal",
             "gpa": "gigapascal", "bar": "bar"}  # fmt: skip
_TIME = {"s": "second", "sec": "second", "min": "minute", "h": "hour", "hr": "hour", "hours": "hour"}

# kind -> (SI unit, accepted unit spellings in lower case -> pint unit, an accepted form)
_KINDS: dict[str, tuple[str, dict[str, str], str]] = {
    "length": ("meter", _LENGTH, "a length with its unit, such as 48 in, 4 ft 6 in, 3/16 in or 1219 mm"),
    "area": (
        "meter**2",
        {"in2": "inch**2", "in^2": "inch**2", "sq in": "inch**2", "ft2": "foot**2", "ft^2": "foot**2",
         "sq ft": "foot**2", "mm2": "millimeter**2", "mm^2": "millimeter**2", "cm2": "centimeter**2",
         "cm^2": "centimeter**2", "m2": "meter**2", "m^2": "meter**2"},
        "an area with its unit, such as 2208 in2, 15 ft2 or 1.4 m2",
    ),
    "volume": ("meter**3", {"in3": "inch**3", "in^3": "inch**3", "ft3": "foot**3", "ft^3": "foot**3",
                            "m3": "meter**3", "m^3": "meter**3", "l": "liter"},
               "a volume with its unit, such as 750 ft3 or 2 m3"),
    "mass": ("kilogram", {"lb": "pound", "lbs": "pound", "kg": "kilogram", "g": "gram", "oz": "ounce"},
             "a mass with its unit, such as 2000 lb or 900 kg"),
    "temperature": (
        "kelvin",
        {"degc": "degC", "°c": "degC", "c": "degC", "degf": "degF", "°f": "degF", "f": "degF", "k": "kelvin"},
        "a temperature with its unit, such as 80 degC or 176 degF",
    ),
    "temperature_difference": (
        "kelvin",
        {"delta_degc": "delta_degC", "delta_degf": "delta_degF", "k": "kelvin"},
        "a temperature difference with its unit, such as 6 delta_degC or 10 K",
    ),
    "pressure": ("pascal", _PRESSURE, "a pressure with its unit, such as 120 psi or 830 kPa"),
    "force": ("newton", {"lbf": "force_pound", "n": "newton", "kn": "kilonewton", "ton": "force_ton"},
              "a force with its unit, such as 110 ton, 216000 lbf or 960 kN"),
    "time": ("second", _TIME, "a time with its unit, such as 45 s or 2 min"),
    "hours": ("hour", _TIME, "a time with its unit, such as 4 h"),
    "weeks": ("week", {"week": "week", "weeks": "week", "wk": "week", "day": "day", "days": "day"},
              "a time in weeks, such as 3 weeks"),
    "angle": ("radian", {"deg": "degree", "degree": "degree", "degrees": "degree", "°": "degree", "rad": "radian"},
              "an angle with its unit, such as 3 deg"),
    "speed": ("meter/second", {"m/min": "meter/minute", "m/s": "meter/second", "mm/s": "millimeter/second",
                               "in/min": "inch/minute", "ft/min": "foot/minute"},
              "a speed with its unit, such as 5 m/min or 200 in/min"),
    "density": ("kilogram/meter**3",
                {"kg/m^3": "kilogram/meter**3", "kg/m3": "kilogram/meter**3", "g/cm^3": "gram/centimeter**3",
                 "g/cm3": "gram/centimeter**3", "lb/in^3": "pound/inch**3", "lb/in3": "pound/inch**3",
                 "lb/ft^3": "pound/foot**3", "lb/ft3": "pound/foot**3"},
                "a density with its unit, such as 1050 kg/m^3 or 0.0379 lb/in^3"),
    "pcf": ("pound/foot**3", {"lb/ft^3": "pound/foot**3", "lb/ft3": "pound/foot**3", "pcf": "pound/foot**3"},
            "a density in pounds per cubic foot, such as 6 lb/ft3"),
    "conductivity": ("watt/meter/kelvin", {"w/m/k": "watt/meter/kelvin", "w/(m k)": "watt/meter/kelvin"},
                     "a conductivity with its unit, such as 0.19 W/m/K"),
    "specific_heat": ("joule/kilogram/kelvin",
                      {"j/kg/k": "joule/kilogram/kelvin", "kj/kg/k": "kilojoule/kilogram/kelvin"},
                      "a specific heat with its unit, such as 1900 J/kg/K"),
    "latent_heat": ("joule/kilogram", {"j/kg": "joule/kilogram", "kj/kg": "kilojoule/kilogram"},
                    "a latent heat with its unit, such as 190 kJ/kg"),
    "film_coefficient": ("watt/meter**2/kelvin", {"w/m^2/k": "watt/meter**2/kelvin", "w/m2/k": "watt/meter**2/kelvin"},
                         "a film coefficient with its unit, such as 8 W/m^2/K"),
    "expansion": ("1/kelvin", {"1/k": "1/kelvin", "1/degc": "1/kelvin", "1/degf": "1/delta_degF"},
                  "an expansion coefficient with its unit, such as 0.00009 1/K"),
    "energy": ("joule", {"j": "joule", "kj": "kilojoule", "kwh": "kilowatt_hour"},
               "an energy with its unit, such as 400 kJ"),
    "share": ("dimensionless", {"%": "percent", "": "dimensionless"}, "a share, such as 85 % or 0.85"),
}  # fmt: skip

_NUMBER = r"(?:\d{1,12}(?:\.\d{0,12})?|\.\d{1,12})"
_MIXED = re.compile(rf"(?:(?P<whole>\d{{1,9}})[ -])?(?P<top>\d{{1,6}})/(?P<bottom>\d{{1,6}})|(?P<plain>{_NUMBER})")
_QUANTITY = re.compile(
    rf"(?P<sign>-)?(?P<number>\d{{1,9}}[ -]\d{{1,6}}/\d{{1,6}}|\d{{1,6}}/\d{{1,6}}|{_NUMBER}) ?"
    r"(?P<unit>(?:1/|[^\d\s.,+-]).*)?"
)
_FEET_INCHES = re.compile(
    rf"(?P<feet>\d{{1,6}}) ?(?:ft|feet|foot|') ?-? ?"
    rf"(?P<inches>\d{{1,6}}[ -]\d{{1,6}}/\d{{1,6}}|\d{{1,6}}/\d{{1,6}}|{_NUMBER}) ?(?:in|inch|inches|\")"
)
_LOOKALIKES = str.maketrans({"“": '"', "”": '"', "″": '"', "’": "'", "‘": "'", "′": "'", "–": "-", "\u00a0": " ",
                             "²": "2", "³": "3", "µ": "u", "μ": "u"})  # fmt: skip
_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}


class UnitError(ValueError):
    """The text is no quantity of the kind asked for."""

    def __init__(self, given: object, accepted: str):
        self.given = shortened(given)
        self.accepted = accepted
        super().__init__(f"got {self.given}; accepted is {accepted}")


def shortened(given: object) -> str:
    """What was given, as a short quoted text for a message [-].

    Parameters
    ----------
    given : object
        Anything typed [-].

    Returns
    -------
    text : str
        At most 60 characters [-].
    """
    text = repr(given) if not isinstance(given, str) else f'"{given[:60]}"'
    return text if len(text) <= 60 else text[:57] + '..."'


def accepted(kind: str) -> str:
    """The form accepted for a kind of quantity, in words [-].

    Parameters
    ----------
    kind : str
        One of the kinds, such as length or pressure [-].

    Returns
    -------
    text : str
        [-]
    """
    return _KINDS[kind][2]


def _normalised(text: str) -> str:
    text = text.strip().translate(_LOOKALIKES)
    for sign, fraction in _VULGAR.items():
        if sign in text:
            text = re.sub(rf"(\d) ?{sign}", rf"\1 {fraction}", text).replace(sign, fraction)
    return re.sub(r"\s+", " ", text)


def _exact(number: str) -> Fraction:
    match = _MIXED.fullmatch(number)
    if match is None:
        raise ValueError(number)
    if match["plain"]:
        return Fraction(Decimal(match["plain"]))
    return int(match["whole"] or 0) + Fraction(int(match["top"]), int(match["bottom"]))


def read(text: object, kind: str) -> float:
    """Read a typed quantity.

    Parameters
    ----------
    text : object
        What was typed, at most 40 characters: a number (decimal, fraction, mixed) and a unit [-].
    kind : str
        What kind of quantity it must be [-].

    Returns
    -------
    value : float
        In SI; hours for 'hours', weeks for 'weeks', lb/ft3 for 'pcf'.

    Raises
    ------
    UnitError
        Not a quantity of this kind in an accepted form.

    Examples
    --------
    >>> read("4'-6 1/2\\"", "length")
    1.3843
    >>> round(read("120 psi", "pressure"))
    827371
    """
    target, spellings, form = _KINDS[kind]
    if not isinstance(text, str) or len(text) > LONGEST_TEXT:
        raise UnitError(text, form)
    typed = _normalised(text)
    try:
        if kind == "length" and (match := _FEET_INCHES.fullmatch(typed.lower())):
            return float((int(match["feet"]) * 12 + _exact(match["inches"])) * Fraction("0.0254"))
        match = _QUANTITY.fullmatch(typed)
        if match is None or (match["sign"] and kind != "temperature"):
            raise UnitError(text, form)
        unit = spellings.get((match["unit"] or "").strip().lower())
        if unit is None:
            raise UnitError(text, form)
        number = _exact(match["number"])
    except (ValueError, ZeroDivisionError) as error:
        raise UnitError(text, form) from error
    value = _converted(-number if match["sign"] else number, unit, target)
    if kind == "temperature" and value <= 0:
        raise UnitError(text, form)
    return value


def _converted(number: Fraction, unit: str, target: str) -> float:
    if unit in _EXACT_LENGTHS and target == "meter":
        return float(number * _EXACT_LENGTHS[unit])
    return float(_registry.Quantity(float(number), unit).to(target).magnitude)


# Exact by definition, so that a fraction of an inch becomes the nearest float once.
_EXACT_LENGTHS = {
    "inch": Fraction("0.0254"), "foot": Fraction("0.3048"), "millimeter": Fraction("0.001"),
    "centimeter": Fraction("0.01"), "meter": Fraction(1), "thou": Fraction("0.0000254"),
    "micrometer": Fraction("0.000001"),
}  # fmt: skip

_MONEY = re.compile(r"\d{1,9}(?:\.\d{1,4})?")
MONEY_FORM = 'an amount of money as text, digits with at most four decimals, such as "12.50"'


def read_money(text: object) -> Decimal:
    """Read an amount of money.

    Parameters
    ----------
    text : object
        Digits, at most four decimals, below 1e9, no sign and no exponent [-].

    Returns
    -------
    amount : Decimal
        [$]

    Raises
    ------
    UnitError
        Anything else.

    Examples
    --------
    >>> read_money("12.50")
    Decimal('12.50')
    """
    if not isinstance(text, str) or len(text) > LONGEST_TEXT or not text.isascii():
        raise UnitError(text, MONEY_FORM)
    bare = text.strip().removeprefix("$").strip()
    if not _MONEY.fullmatch(bare):
        raise UnitError(text, MONEY_FORM)
    return Decimal(bare)


# Figure unit -> ((pint unit shown in US, suffix, decimals), (pint unit shown in SI, suffix, decimals))
_SHOWN = {
    "m2": (("meter**2", "foot**2", "ft2", 2), ("meter**2", "meter**2", "m2", 3)),
    "m3": (("meter**3", "foot**3", "ft3", 1), ("meter**3", "meter**3", "m3", 2)),
    "kg": (("kilogram", "pound", "lb", 1), ("kilogram", "kilogram", "kg", 2)),
    "K": (("kelvin", "degF", "degF", 0), ("kelvin", "degC", "degC", 0)),
    "delta_K": (("kelvin", "delta_degF", "degF difference", 0), ("kelvin", "kelvin", "K", 0)),
    "Pa": (("pascal", "psi", "psi", 1), ("pascal", "kilopascal", "kPa", 0)),
    "N": (("newton", "force_ton", "ton-force", 1), ("newton", "kilonewton", "kN", 0)),
    "rad": (("radian", "degree", "deg", 1), ("radian", "degree", "deg", 1)),
    "J": (("joule", "kilojoule", "kJ", 0), ("joule", "kilojoule", "kJ", 0)),
}
_PLAIN = {"s": ("s", 0), "h": ("h", 1), "weeks": ("weeks", 1), "-": ("", 2), "count": ("", 0),
          "pcf": ("lb/ft3", 2)}  # fmt: skip


def _length(value: float, system: str) -> str:
    inches, millimetres = value / 0.0254, value * 1000
    us = f"{inches:,.3f} in" if abs(inches) < 1 else f"{inches:,.2f} in" if abs(inches) < 24 else f"{inches:,.1f} in"
    si = f"{millimetres:,.2f} mm" if abs(millimetres) < 25 else f"{millimetres:,.0f} mm"
    return {"us": us, "si": si}.get(system) or f"{us} ({si})"


def show(value: float, unit: str, system: str = "both") -> str:
    """Write an SI value for a reader.

    Parameters
    ----------
    value : float
        In the SI unit named [-].
    unit : str
        'm', 'm2', 'm3', 'kg', 'K', 'delta_K', 'Pa', 'N', 'rad', 'J', 's', 'h', 'weeks', '-', 'count', 'share', 'pcf'
        or '$'.
    system : str
        'us', 'si' or 'both' [-].

    Returns
    -------
    text : str
        [-]

    Raises
    ------
    KeyError
        The unit is not known.

    Examples
    --------
    >>> show(0.0047498, "m")
    '0.187 in (4.75 mm)'
    >>> show(338.15, "K", "si")
    '65 degC'
    """
    if unit == "m":
        return _length(value, system)
    if unit == "share":
        return f"{value * 100:.1f} %"
    if unit == "$":
        return f"${Decimal(str(value)):,.2f}"
    if unit in _PLAIN:
        suffix, decimals = _PLAIN[unit]
        return f"{value:,.{decimals}f} {suffix}".strip()
    us, si = (_one_system(value, *shown) for shown in _SHOWN[unit])
    if us == si:
        return us
    return {"us": us, "si": si}.get(system) or f"{us} ({si})"


def _one_system(value: float, source: str, target: str, suffix: str, decimals: int) -> str:
    shown = _registry.Quantity(float(value), source).to(target).magnitude
    return f"{shown:,.{decimals}f} {suffix}"


def spoken(sentence: Words, system: str = "both") -> str:
    """The sentence with its figures written in the reader's units.

    Parameters
    ----------
    sentence : Words
        Text with {name} for each figure [-].
    system : str
        'us', 'si' or 'both' [-].

    Returns
    -------
    text : str
        [-]
    """
    figures = {figure.name: show(figure.value, figure.unit, system) for figure in sentence.figures}
    return _filled(sentence.text, figures)


def spoken_plain(sentence: Mapping, system: str = "both") -> str:
    """The same for a sentence as it is stored in a snapshot: {"text": ..., "figures": [...]}.

    Parameters
    ----------
    sentence : Mapping
        The stored form of Words [-].
    system : str
        'us', 'si' or 'both' [-].

    Returns
    -------
    text : str
        [-]
    """
    figures = {figure["name"]: show(figure["value"], figure["unit"], system) for figure in sentence["figures"]}
    return _filled(sentence["text"], figures)


def _filled(text: str, figures: Mapping[str, str]) -> str:
    # Only names that are figures are replaced: braces that a person typed stay as they are.
    return re.sub(r"\{(\w+)\}", lambda match: figures.get(match[1], match[0]), text)
