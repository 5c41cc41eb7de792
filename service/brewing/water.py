"""Plain water: density, vapour pressure and boiling point.

Densities are at 101 325 Pa; temperatures in degrees Celsius.
"""

import math

ATMOSPHERE_BAR = 1.01325
"""One standard atmosphere in bar (ISO 2533)."""


def water_density_kg_per_m3(temp_c: float) -> float:
    """Density of air-free water at one atmosphere, kg/m3, for 0 to 100 C.

    Kell 1975, J. Chem. Eng. Data 20:97, with the coefficients restated for the temperature scale of
    1990 as they stand in Bubnik, Kadlec, Urban, Bruhns, Sugar Technologists Manual (1995) p. 164.
    Within 0.01 kg/m3 of IAPWS-95 from 4 to 80 C.
    """
    t = temp_c
    top = 999.83952 + t * (
        16.952577 + t * (-7.9905127e-3 + t * (-46.241757e-6 + t * (105.84601e-9 - t * 281.03006e-12)))
    )
    return top / (1 + 16.887236e-3 * t)


_N = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849e0,
    0.65017534844798e3,
)
"""Coefficients of the saturation line, IAPWS-IF97 region 4."""


def vapour_pressure_bar(temp_c: float) -> float:
    """Pressure of water's vapour over water, bar, for 0 to 110 C (IAPWS-IF97, region 4)."""
    kelvin = temp_c + 273.15
    theta = kelvin + _N[8] / (kelvin - _N[9])
    a = theta * theta + _N[0] * theta + _N[1]
    b = _N[2] * theta * theta + _N[3] * theta + _N[4]
    c = _N[5] * theta * theta + _N[6] * theta + _N[7]
    return 10 * float((2 * c / (-b + math.sqrt(b * b - 4 * a * c))) ** 4)


def boiling_temp_c(pressure_bar: float) -> float:
    """Temperature at which water boils under an absolute pressure in bar (IAPWS-IF97, region 4, backward)."""
    beta = (pressure_bar / 10) ** 0.25
    e = beta * beta + _N[2] * beta + _N[5]
    f = _N[0] * beta * beta + _N[3] * beta + _N[6]
    g = _N[1] * beta * beta + _N[4] * beta + _N[7]
    d = 2 * g / (-f - math.sqrt(f * f - 4 * e * g))
    kelvin = (_N[9] + d - math.sqrt((_N[9] + d) ** 2 - 4 * (_N[8] + _N[9] * d))) / 2
    return float(kelvin - 273.15)
