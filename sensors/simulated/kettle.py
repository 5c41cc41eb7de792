"""The twin of a kettle: mash cooling, heating, the boil's plateau, and chilling in a sink."""

from collections.abc import Iterator
from datetime import UTC, datetime
from math import inf
from typing import NamedTuple

from sensors.simulated import chance, wort
from sensors.simulated.grid import Grid
from sensors.simulated.kettle_scene import Chill, Heat, KettleScene, KettleStep, MashIn, Stand, TopUp
from sensors.simulated.moment import Moment
from sensors.simulated.network import Stepper
from sensors.simulated.probe import FollowingTip

STEP_S = 5.0
STEAM_KJ_PER_KG = 2257.0
"""Heat of vaporisation of water at 100 C (from memory)."""

_MALT_SHARE = 0.39
"""Specific heat of malt relative to water (Pauls & Whites 1984/85, as quoted)."""

_WATER_KJ_PER_KG_K = 4.19
_EXTRACT_SHARE = 0.48
"""How much less than water a kg of extract counts: wort of 12 P has 3.95 kJ/(kg K)."""

_SINK_W_PER_K = 6.0
"""What a sink of water loses to the kitchen; an estimate."""

_BOIL_WOBBLE_C = 0.1
"""How much a probe flickers in a rolling boil; an estimate."""


class KettleRow(NamedTuple):
    """The state at one point of the grid: C, W and Plato."""

    wort_c: float
    bath_c: float
    probe_c: float
    watts: float
    plato: float


class Kettle:
    """One scene. Only the flicker of its boil is left to chance, under the seed."""

    def __init__(self, scene: KettleScene, seed: int) -> None:
        self.scene = scene
        rows = _rows(_Pot(scene, seed))
        self._grid = Grid(scene.starts, STEP_S, len(KettleRow._fields), rows.__next__)

    @property
    def starts(self) -> datetime:
        """When the scene begins (aware UTC)."""
        return self.scene.starts

    @property
    def notes(self) -> tuple[str, ...]:
        """None: a kettle is plain arithmetic."""
        return ()

    def at(self, t: datetime) -> Moment:
        """How it is at a time; always the same for the same time, whatever was asked before.

        Raises ValueError for a naive time and for one before the start.
        """
        row, kitchen_c = KettleRow(*self._grid.at(t)), self.scene.kitchen_c
        return Moment(
            at=t.astimezone(UTC),
            air_c=kitchen_c,
            beer_c=row.wort_c,
            top_c=row.wort_c,
            bottom_c=row.wort_c,
            wall_c=row.wort_c,
            probe_c=row.probe_c,
            room_probe_c=kitchen_c,
            bath_c=row.bath_c,
            gravity=wort.gravity(row.plato),
            heat_w=0.0,
            share=0.0,
            pad_w=row.watts,
            fridge_w=0.0,
        )


def mash_c(malt_kg: float, malt_c: float, water_kg: float, water_c: float, slaking_c: float = 2.3) -> float:
    """Temperature of a mash from what goes in, with the heat that malt gives when it is wetted.

    Source: Pauls & Whites 1984/85, as quoted; the slaking heat is for malt of 2 % moisture.
    """
    malt = _MALT_SHARE * malt_kg
    return (malt * malt_c + water_kg * water_c) / (malt + water_kg) + slaking_c


class _Pot:
    """What is in the kettle, and in the sink around it."""

    def __init__(self, scene: KettleScene, seed: int) -> None:
        self.scene = scene
        self._wobble = chance.stream(seed, "boil")
        self._rows = 0
        self._boils = False
        self.water_kg = scene.litres * scene.gravity * wort.WATER_KG_PER_L
        self.malt_kg = 0.0
        self.extract_kg = max(0.0, wort.plato(scene.gravity)) / 100.0 * self.water_kg
        self.wort_c = scene.begins_c
        self.bath_c = scene.kitchen_c
        self.probe = FollowingTip(scene.begins_c)
        self._steppers: dict[tuple[float, ...], Stepper] = {}

    def row(self, watts: float) -> KettleRow:
        plato = 100.0 * self.extract_kg / self.water_kg
        self._rows += 1
        wobble_c = _BOIL_WOBBLE_C * chance.normal(self._wobble, self._rows) if self._boils else 0.0
        return KettleRow(self.wort_c, self.bath_c, self.probe.temp_c + wobble_c, watts, plato)

    def mix(self, kg: float, temp_c: float) -> None:
        self.wort_c = (self._j_per_k() * self.wort_c + kg * _WATER_KJ_PER_KG_K * 1000.0 * temp_c) / (
            self._j_per_k() + kg * _WATER_KJ_PER_KG_K * 1000.0
        )
        self.water_kg += kg

    def mash_in(self, step: MashIn) -> None:
        self.wort_c = mash_c(step.malt_kg, step.malt_c, self.water_kg, self.wort_c, step.slaking_c)
        self.malt_kg += step.malt_kg

    def ahead(self, watts: float, loss_w_per_k: float, sink: Chill | None) -> None:
        """One step: heat, loss, the sink; what would go above the boiling point goes off as steam."""
        before_c, kitchen_c = self.wort_c, self.scene.kitchen_c
        if sink is None:
            wort_j = self._j_per_k()
            stepper = self._stepper((wort_j,), 0.0, (loss_w_per_k,))
            inflow = [(watts + loss_w_per_k * kitchen_c) / wort_j]
            (self.wort_c,) = stepper.ahead((self.wort_c,), inflow, inflow)
            self.bath_c = kitchen_c
        else:
            # In a sink the wall is under water: what the kettle lost to the air it now loses to the bath.
            wort_j, bath_j = self._j_per_k(), sink.bath_litres * _WATER_KJ_PER_KG_K * 1000.0
            stepper = self._stepper((wort_j, bath_j), sink.bath_w_per_k, (0.0, _SINK_W_PER_K))
            inflow = [watts / wort_j, _SINK_W_PER_K * kitchen_c / bath_j]
            self.wort_c, self.bath_c = stepper.ahead((self.wort_c, self.bath_c), inflow, inflow)
        self._boil_off()
        self.probe.ahead(before_c, self.wort_c, STEP_S, self.scene.probe_lag_s)

    def _boil_off(self) -> None:
        over_c = self.wort_c - self.scene.boils_at_c
        self._boils = over_c > 0.0
        if not self._boils:
            return
        steam_kg = over_c * self._j_per_k() / 1000.0 / STEAM_KJ_PER_KG
        # A kettle never boils quite dry here: what is left stays liquid enough to be a wort.
        self.water_kg = max(self.water_kg - steam_kg, 0.05 + 1.3 * self.extract_kg)
        self.wort_c = self.scene.boils_at_c

    def _j_per_k(self) -> float:
        """Heat capacity of wort and malt together."""
        own = _WATER_KJ_PER_KG_K * (
            self.water_kg + _MALT_SHARE * self.malt_kg - _EXTRACT_SHARE * self.extract_kg
        )
        return own * 1000.0

    def _stepper(self, capacities: tuple[float, ...], link: float, outlets: tuple[float, ...]) -> Stepper:
        """Kept while the water boils off until it makes a difference of a thousandth."""
        rounded = tuple(float(f"{capacity:.3g}") for capacity in capacities)
        key = (*rounded, link, *outlets)
        if key not in self._steppers:
            links = {(0, 1): link} if len(rounded) == 2 else {}
            self._steppers[key] = Stepper(capacities, links, outlets, STEP_S)
        return self._steppers[key]


def _rows(pot: _Pot) -> Iterator[KettleRow]:
    for step in pot.scene.steps:
        yield from _during(pot, step)
    while True:
        yield pot.row(0.0)
        pot.ahead(0.0, pot.scene.loss_w_per_k, None)


def _during(pot: _Pot, step: KettleStep) -> Iterator[KettleRow]:
    """The rows of one step; the row at its end belongs to the next."""
    own = pot.scene.loss_w_per_k
    match step:
        case MashIn():
            pot.mash_in(step)
        case TopUp():
            pot.mix(step.litres * wort.WATER_KG_PER_L, step.water_c)
        case Stand():
            for _ in range(_steps(step.lasts_min)):
                yield pot.row(0.0)
                pot.ahead(0.0, own if step.loss_w_per_k is None else step.loss_w_per_k, None)
        case Heat():
            for _ in range(_steps(step.lasts_min)):
                if step.until_c is not None and pot.wort_c >= step.until_c:
                    return
                yield pot.row(step.watts)
                pot.ahead(step.watts, own, None)
        case Chill():
            change_steps = inf if step.change_every_min is None else _steps(step.change_every_min)
            for number in range(_steps(step.lasts_min)):
                if number % change_steps == 0:
                    pot.bath_c = step.water_c
                yield pot.row(0.0)
                pot.ahead(0.0, own, step)


def _steps(minutes: float) -> int:
    return max(1, round(minutes * 60.0 / STEP_S))
