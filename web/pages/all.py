"""All pages in one router, for a house that answers what each of them asks."""

from typing import Protocol

from fastapi import APIRouter

from web import static_files
from web.pages import home
from web.rendering import Renderer


class House(home.HomeHouse, Protocol):
    """The service as all pages together see it."""


def router(house: House) -> APIRouter:
    """The pages and their static files; the files are read from the package once, here."""
    static = static_files.load()
    render = Renderer(house, static)
    routes = APIRouter(include_in_schema=False)
    routes.include_router(static_files.router(static))
    routes.include_router(home.router(house, render))
    return routes
