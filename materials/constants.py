"""Constants of nature, each with its vintage."""

# W/(m2 K4). Exact since 2019: follows from the SI values of k, h and c (CODATA 2018, all digits that it prints).
STEFAN_BOLTZMANN = 5.670374419e-8

# m/s2, exact by definition (3rd CGPM, 1901).
STANDARD_GRAVITY = 9.80665

# Pa, exact by definition (10th CGPM, 1954).
STANDARD_ATMOSPHERE = 101325.0

# K, exact: 0 degC.
ZERO_CELSIUS = 273.15
