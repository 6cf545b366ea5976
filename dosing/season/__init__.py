"""A tub over its season: what it uses up, the owner's routine, when to test and when to change the water."""

from dosing.season.ahead import Forecast
from dosing.season.books import FINDING_CODES, Books, Finding
from dosing.season.card import Card, Dose
from dosing.season.due import REFILL_CODES, TEST_CODES, Due
from dosing.season.learned import Learned
from dosing.season.look import Fleet, look, look_many
from dosing.season.season import Season
from dosing.season.tub import Away, Estimate, Tub

__all__ = [
    "FINDING_CODES",
    "REFILL_CODES",
    "TEST_CODES",
    "Away",
    "Books",
    "Card",
    "Dose",
    "Due",
    "Estimate",
    "Finding",
    "Fleet",
    "Forecast",
    "Learned",
    "Season",
    "Tub",
    "look",
    "look_many",
]
