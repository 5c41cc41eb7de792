"""All pages in one router, for a house that answers what each of them asks."""

from typing import Protocol

from fastapi import APIRouter

from service.brewing.calls import CALLS
from web import static_files
from web.counter import Counter
from web.pages import (
    access,
    alarms,
    batches,
    bench,
    calibration,
    compare,
    curves,
    first_steps,
    home,
    numbers,
    places,
    plans,
    probes,
    questions,
    quiet,
    settings,
    stove,
    tasting,
    vessels,
    writing,
)
from web.rendering import Renderer


class House(
    home.HomeHouse,
    access.AccessHouse,
    alarms.AlarmsHouse,
    batches.BatchesHouse,
    curves.CurvesHouse,
    compare.CompareHouse,
    stove.StoveHouse,
    tasting.TastingHouse,
    questions.QuestionsHouse,
    places.PlacesHouse,
    plans.PlansHouse,
    probes.ProbesHouse,
    calibration.CalibrationHouse,
    vessels.VesselsHouse,
    settings.SettingsHouse,
    quiet.QuietHouse,
    writing.WritingHouse,
    first_steps.FirstStepsHouse,
    Protocol,
):
    """The service as all pages together see it."""


def router(house: House) -> APIRouter:
    """The pages and their static files; the files are read from the package once, here."""
    static = static_files.load()
    render = Renderer(house, static)
    counter = Counter(house, render)
    routes = APIRouter(include_in_schema=False)
    for part in (
        static_files.router(static),
        home.router(house, render),
        access.router(house, render, counter),
        alarms.router(house, render, counter),
        batches.router(house, render, counter),
        curves.router(house),
        compare.router(house, render),
        bench.router(house, render, counter, next(call for call in CALLS if call.name == "priming")),
        stove.router(house, render, counter),
        tasting.router(house, render, counter),
        questions.router(house, counter),
        places.router(house, render, counter),
        plans.router(house, render, counter),
        probes.router(house, render, counter),
        calibration.router(house, render, counter),
        vessels.router(house, render, counter),
        settings.router(house, render, counter),
        quiet.router(house, render, counter),
        writing.router(house, render, counter),
        first_steps.router(house, render),
        numbers.router(house, render, CALLS),
    ):
        routes.include_router(part)
    return routes
