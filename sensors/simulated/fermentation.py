"""One beer as it ferments: the kinetics with a lag before them, a stop if told, and additions."""

from sensors.simulated import kinetics, wort
from sensors.simulated.kinetics import Sugars
from sensors.simulated.scenario import Beer

_GLUCOSE, _MALTOSE, _MALTOTRIOSE = 180.16, 342.30, 504.44
_WORT_MIX = Sugars(70.0, 220.0, 40.0, 0.0)
"""The proportions, in mol/m3, of the wort that the kinetics are checked with."""

_STOPPING_OVER = 0.03
"""A fermentation told to stop slows down over the last three hundredths, as a tiring yeast does."""


class Fermentation:
    """A beer that changes with time. What is fermented is counted in kg of real extract."""

    def __init__(self, beer: Beer) -> None:
        self._beer = beer
        self._kg = wort.wort_kg(beer.litres, beer.og)
        self._original_kg = wort.plato(beer.og) / 100 * self._kg
        fg = 1.0 + (beer.og - 1.0) * (1.0 - beer.attenuation)
        self._can_ferment_kg = max(0.0, wort.fermented_per_kg(beer.og, fg) * self._kg)
        self._fermented_kg = 0.0
        per_litre = self._can_ferment_kg * 1000.0 / beer.litres
        scale = per_litre / _grams_per_litre(_WORT_MIX)
        self._sugars = Sugars(
            _WORT_MIX.glucose * scale, _WORT_MIX.maltose * scale, _WORT_MIX.maltotriose * scale, beer.yeast
        )
        self._warm_hours = 0.0

    @property
    def mass_kg(self) -> float:
        """Mass of what is in the vessel. The gas that leaves is not taken off (a few hundredths)."""
        return self._kg

    @property
    def original_plato(self) -> float:
        """Extract of the wort as pitched, with what was added since, in degrees Plato."""
        return 100.0 * self._original_kg / self._kg

    @property
    def fermented_per_kg(self) -> float:
        """Real extract fermented, kg per kg of wort."""
        return self._fermented_kg / self._kg

    @property
    def share(self) -> float:
        """How much of what can ferment has fermented, 0 to 1."""
        return self._fermented_kg / self._can_ferment_kg if self._can_ferment_kg else 0.0

    def advance(self, temp_c: float, hours: float) -> float:
        """Ferment for a short while at a temperature; the real extract that went, in kg."""
        self._warm_hours += hours * 2.2 ** ((temp_c - 20.0) / 10.0)
        activity = self._activity()
        if activity <= 0.0:
            return 0.0
        before = _grams_per_litre(self._sugars)
        rates = kinetics.rates_at(temp_c)
        self._sugars = kinetics.step(self._sugars, rates, hours * activity, self._beer.yeast)
        gone_kg = (before - _grams_per_litre(self._sugars)) * self._beer.litres / 1000.0
        self._fermented_kg += gone_kg
        return gone_kg

    def add_sugar(self, grams: float) -> None:
        """Add sucrose, which ferments whole, as glucose does.

        Its volume, and the twentieth of weight that it gains when it is split, are left out.
        """
        kg = grams / 1000.0
        self._kg += kg
        self._original_kg += kg
        self._can_ferment_kg += kg
        more = grams / _GLUCOSE / (self._beer.litres / 1000.0)
        self._sugars = self._sugars._replace(glucose=self._sugars.glucose + more)

    def _activity(self) -> float:
        """From 0 in the lag phase to `pace`; warmth shortens the lag as it speeds the yeast."""
        activity = self._beer.pace
        if self._beer.lag_h > 0.0:
            risen = (self._warm_hours / self._beer.lag_h) ** 4
            activity *= risen / (1.0 + risen)
        stop = self._beer.stops_at_share
        if stop is not None:
            activity *= min(1.0, max(0.0, (stop - self.share) / _STOPPING_OVER))
        return activity


def _grams_per_litre(sugars: Sugars) -> float:
    return (
        sugars.glucose * _GLUCOSE + sugars.maltose * _MALTOSE + sugars.maltotriose * _MALTOTRIOSE
    ) / 1000.0
