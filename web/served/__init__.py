"""The pages as the running service serves them: the desk in the shape the pages ask for."""

from fastapi import APIRouter

from service.actions.desk import Desk
from web.pages import all as pages
from web.served.whole import WholeHouse


def pages_for(desk: Desk) -> APIRouter:
    """All pages on this desk."""
    return pages.router(WholeHouse(desk))
