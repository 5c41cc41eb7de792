"""How long a dying fermentation goes on, against the published kinetics of Gee & Ramirez."""

import math

import pytest

from service.brewing.steadiness import days_that_matter

# Computed from the growth model of Gee & Ramirez (second-hand, three transcriptions agree), from
# 70/220/40 mol/m3 of glucose, maltose and maltotriose: hours to half and to 95 % of the sugar gone.
# The model was fitted at 4 to 16 C: 18 to 22 C is an extrapolation.
SUGAR_GONE_H = ((18.0, 44.3, 153.7), (20.0, 34.2, 115.9), (22.0, 26.6, 88.2))


@pytest.mark.parametrize(("temp_c", "half_h", "most_h"), SUGAR_GONE_H)
def test_the_days_that_matter_are_the_time_constant_of_the_sugar_left(
    temp_c: float, half_h: float, most_h: float
) -> None:
    time_constant_days = (most_h - half_h) / math.log(0.5 / 0.05) / 24

    assert days_that_matter(temp_c) == pytest.approx(time_constant_days, rel=0.01)
