"""Extract and SG: degrees Plato (grams of extract in 100 g) by the density of sucrose solutions.

SG here is what the trade's tables print: the ratio of the densities of solution and water at the same
reference temperature, weighed in air.
"""

from service.brewing.water import water_density_kg_per_m3

SOURCE = (
    "Density of sucrose solutions, ICUMSA polynomial: Bubnik, Kadlec, Urban, Bruhns, "
    "Sugar Technologists Manual (1995) p. 164"
)

_C = (
    (385.1761, 135.3705, 40.9299, -3.9643, 13.4853, -17.2890),
    (-46.2720, -7.1720, 1.1597, 5.1126, 17.5254),
    (59.7712, 7.2491, 12.3630, -35.4791),
    (-47.2207, -21.6977, 27.6301),
    (18.3184, 12.3081),
)

AIR_KG_PER_M3 = 1.2
"""Density of room air; what weighing in air takes off both densities."""


def sucrose_density_kg_per_m3(plato: float, temp_c: float) -> float:
    """Density of a sucrose solution, kg/m3, for -4 to 60 degrees Plato and 0 to 80 C.

    Below 0 the polynomial is continued: a finished beer's apparent extract can lie there, since
    alcohol is lighter than water.
    """
    w = plato / 100
    tau = (temp_c - 20) / 100
    total = 0.0
    for row in reversed(_C):
        by_w = 0.0
        for coefficient in reversed(row):
            by_w = (by_w + coefficient) * w
        total = total * tau + by_w
    return water_density_kg_per_m3(temp_c) + total


def plato_from_density(density_kg_per_m3: float, temp_c: float) -> float:
    """Degrees Plato of the sucrose solution that has this density (kg/m3) at this temperature."""
    low, high = -10.0, 65.0
    plato = (density_kg_per_m3 - water_density_kg_per_m3(temp_c)) / 4.0
    for _ in range(60):
        error = sucrose_density_kg_per_m3(plato, temp_c) - density_kg_per_m3
        if error > 0:
            high = plato
        else:
            low = plato
        slope = (
            sucrose_density_kg_per_m3(plato + 0.01, temp_c) - sucrose_density_kg_per_m3(plato - 0.01, temp_c)
        ) / 0.02
        step = plato - error / slope
        following = step if low < step < high else (low + high) / 2
        if abs(following - plato) < 1e-11:
            return following
        plato = following
    return plato


def density_from_sg(sg: float, reference_c: float = 20.0) -> float:
    """Density in kg/m3 at reference_c of a liquid with this SG at reference_c over water at reference_c."""
    return AIR_KG_PER_M3 + sg * (water_density_kg_per_m3(reference_c) - AIR_KG_PER_M3)


def sg_from_density(density_kg_per_m3: float, reference_c: float = 20.0) -> float:
    """SG over water at reference_c of a liquid of this density (kg/m3) at reference_c."""
    return (density_kg_per_m3 - AIR_KG_PER_M3) / (water_density_kg_per_m3(reference_c) - AIR_KG_PER_M3)


def sg_from_plato(plato: float, reference_c: float = 20.0) -> float:
    """SG at reference_c over water at reference_c of a solution of so many degrees Plato."""
    return sg_from_density(sucrose_density_kg_per_m3(plato, reference_c), reference_c)


def plato_from_sg(sg: float, reference_c: float = 20.0) -> float:
    """Degrees Plato of a solution whose SG is given at reference_c over water at reference_c."""
    return plato_from_density(density_from_sg(sg, reference_c), reference_c)


def sg_at_reference(sg: float, *, from_c: float, to_c: float) -> float:
    """The SG of the same solution on another reference temperature (say 15.56/15.56 to 20/20)."""
    return sg_from_plato(plato_from_sg(sg, from_c), to_c)
