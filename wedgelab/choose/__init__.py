"""Which wedge and swing for a called distance: every option with its chances, ranked by what is wanted."""

from wedgelab.choose.advice import Advice, advise_each
from wedgelab.choose.ask import choose
from wedgelab.choose.flights import Flights, Unreached, find_flights
from wedgelab.choose.limits import Limits
from wedgelab.choose.options import (
    CHEAP_TRADE,
    NEAR_BEST,
    WANTS,
    WORTH_OFFERING,
    Choice,
    Option,
    OutOfReachError,
    Reach,
    Want,
)
from wedgelab.choose.swings import find_reach, swing_for, swings_for

__all__ = [
    "CHEAP_TRADE",
    "NEAR_BEST",
    "WANTS",
    "WORTH_OFFERING",
    "Advice",
    "Choice",
    "Flights",
    "Limits",
    "Option",
    "OutOfReachError",
    "Reach",
    "Unreached",
    "Want",
    "advise_each",
    "choose",
    "find_flights",
    "find_reach",
    "swing_for",
    "swings_for",
]
