"""Which spellings of which units are read for each kind of quantity, and how that is said. Data only."""

# Spelling -> name handed to pint. pint's own "mil" is an angle: a mil of length is its "thou".
_LENGTH = {
    "inch": ("in", "in.", "inch", "inches", '"'), "foot": ("ft", "ft.", "foot", "feet", "'"), "millimeter": ("mm",),
    "centimeter": ("cm",), "meter": ("m",), "micrometer": ("um",), "thou": ("mil", "mils", "thou"),
}  # fmt: skip
UNITS: dict[str, dict[str, tuple[str, ...]]] = {
    "length": _LENGTH,
    "area": {
        "inch**2": ("in2", "in^2", "sq in", "sq. in."), "foot**2": ("ft2", "ft^2", "sq ft", "sq. ft."),
        "meter**2": ("m2", "m^2"), "millimeter**2": ("mm2", "mm^2"), "centimeter**2": ("cm2", "cm^2"),
    },
    "volume": {
        "inch**3": ("in3", "in^3", "cu in"), "foot**3": ("ft3", "ft^3", "cu ft"), "meter**3": ("m3", "m^3"),
        "centimeter**3": ("cm3", "cm^3"), "liter": ("L", "l"),
    },
    "mass": {"pound": ("lb", "lbs", "lb."), "kilogram": ("kg",), "gram": ("g",), "ounce": ("oz",)},
    "temperature": {"degC": ("degC", "°C", "C"), "degF": ("degF", "°F", "F"), "kelvin": ("K",)},
    "temperature_difference": {
        "delta_degC": ("delta_degC", "degC", "°C"), "delta_degF": ("delta_degF", "degF", "°F"),
        "kelvin": ("K", "delta_K"),
    },
    "pressure": {
        "psi": ("psi",), "ksi": ("ksi",), "pascal": ("Pa",), "kilopascal": ("kPa",), "megapascal": ("MPa",),
        "gigapascal": ("GPa",), "bar": ("bar",),
    },
    "force": {
        "pound_force": ("lbf",), "newton": ("N",), "kilonewton": ("kN",), "force_ton": ("ton", "tons", "tonf"),
    },
    "time": {"second": ("s", "sec"), "minute": ("min",), "hour": ("h", "hr")},
    "angle": {"degree": ("deg", "°", "degree", "degrees"), "radian": ("rad",)},
    "speed": {
        "meter/second": ("m/s",), "meter/minute": ("m/min",), "inch/minute": ("in/min", "ipm"),
        "inch/second": ("in/s",), "foot/minute": ("ft/min",), "millimeter/second": ("mm/s",),
    },
    "density": {
        "kilogram/meter**3": ("kg/m^3", "kg/m3"), "pound/inch**3": ("lb/in^3", "lb/in3"),
        "pound/foot**3": ("lb/ft^3", "lb/ft3", "pcf"), "gram/centimeter**3": ("g/cm^3", "g/cm3"),
    },
    "conductivity": {"watt/meter/kelvin": ("W/m/K", "W/(m K)", "W/(m*K)")},
    "specific_heat": {
        "joule/kilogram/kelvin": ("J/kg/K", "J/(kg K)", "J/(kg*K)"),
        "kilojoule/kilogram/kelvin": ("kJ/kg/K", "kJ/(kg K)", "kJ/(kg*K)"),
    },
    "latent_heat": {"kilojoule/kilogram": ("kJ/kg",), "joule/kilogram": ("J/kg",)},
    "film_coefficient": {"watt/meter**2/kelvin": ("W/m^2/K", "W/m2/K", "W/(m2 K)", "W/(m^2*K)")},
    "expansion": {
        "1/kelvin": ("1/K", "/K", "1/degC", "/degC"), "1/delta_degF": ("1/degF", "/degF"),
        "micrometer/meter/kelvin": ("um/m/K",),
    },
    "extinction": {"1/meter": ("1/m", "/m"), "1/millimeter": ("1/mm", "/mm")},
    "energy": {"joule": ("J",), "kilojoule": ("kJ",), "megajoule": ("MJ",), "kilowatt_hour": ("kWh",)},
    "share": {"percent": ("%", "percent")},
    "hours": {"hour": ("h", "hr", "hour", "hours"), "minute": ("min",)},
    "weeks": {"week": ("week", "weeks", "wk"), "day": ("day", "days")},
    "pcf": {"pound/foot**3": ("pcf", "lb/ft^3", "lb/ft3"), "kilogram/meter**3": ("kg/m^3", "kg/m3")},
}  # fmt: skip
TARGET = {
    "length": "meter", "area": "meter**2", "volume": "meter**3", "mass": "kilogram", "temperature": "kelvin",
    "temperature_difference": "kelvin", "pressure": "pascal", "force": "newton", "time": "second", "angle": "radian",
    "speed": "meter/second", "density": "kilogram/meter**3", "conductivity": "watt/meter/kelvin",
    "specific_heat": "joule/kilogram/kelvin", "latent_heat": "joule/kilogram",
    "film_coefficient": "watt/meter**2/kelvin", "expansion": "1/kelvin", "extinction": "1/meter",
    "energy": "joule", "share": "dimensionless",
    "hours": "hour", "weeks": "week", "pcf": "pound/foot**3",
}  # fmt: skip
ACCEPTED = {
    "length": "a length with its unit, such as 48 in, 4 ft 6 in or 1219 mm",
    "area": "an area with its unit, such as 1200 in2, 8.5 ft2 or 0.79 m2",
    "volume": "a volume with its unit, such as 4 ft3 or 0.11 m3",
    "mass": "a mass with its unit, such as 12 lb or 5.4 kg",
    "temperature": "a temperature with its unit, such as 180 degF or 82 degC",
    "temperature_difference": "a temperature difference with its unit, such as 10 delta_degF or 6 delta_degC",
    "pressure": "a pressure with its unit, such as 60 psi, 414 kPa or 2.2 GPa",
    "force": "a force with its unit, such as 40 ton, 9000 lbf or 40 kN",
    "time": "a time with its unit, such as 45 s or 3 min",
    "angle": "an angle with its unit, such as 3 deg",
    "speed": "a speed with its unit, such as 150 in/min or 4 m/min",
    "density": "a density with its unit, such as 1050 kg/m^3 or 65.5 lb/ft^3",
    "conductivity": "a conductivity with its unit, such as 0.18 W/m/K",
    "specific_heat": "a specific heat with its unit, such as 2300 J/kg/K",
    "latent_heat": "a latent heat with its unit, such as 180 kJ/kg",
    "film_coefficient": "a film coefficient with its unit, such as 8 W/m^2/K",
    "expansion": "an expansion with its unit, such as 0.00009 1/K",
    "extinction": "an extinction coefficient with its unit, such as 2000 1/m or 2 1/mm",
    "energy": "an energy with its unit, such as 120 kJ or 2 kWh",
    "share": "a share, such as 85 % or 0.85",
    "hours": "hours with their unit, such as 2 h",
    "weeks": "weeks with their unit, such as 3 weeks",
    "pcf": "a density with its unit, such as 10 pcf",
    "money": "an amount such as 12.50: digits and a decimal point, without sign or currency",
}
