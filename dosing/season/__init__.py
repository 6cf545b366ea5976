"""A tub over its season: what it uses up, the owner's routine, when to test and when to change the water."""

from dosing.season.ahead import Forecast
from dosing.season.card import Card
from dosing.season.due import Due
from dosing.season.look import Fleet, look, look_many
from dosing.season.season import Books, Dose, Learned, Season
from dosing.season.tub import Away, Estimate, Tub

__all__ = ["Away", "Books", "Card", "Dose", "Due", "Estimate", "Fleet", "Forecast", "Learned", "Season", "Tub", "look", "look_many"]
