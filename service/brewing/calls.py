"""The numbers that need no batch: each computation declared once, in the order in which a page shows them."""

from service.brewing.call import Call
from service.brewing.calls_beer import BEER
from service.brewing.calls_brew_day import BREW_DAY

CALLS: tuple[Call, ...] = (*BREW_DAY, *BEER)
