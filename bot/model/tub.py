"""A tub: what it is, never how its water is (that is computed from the journal)."""

from datetime import date
from typing import Literal

from pydantic import Field

from bot.model.record import Record
from dosing import Kit, Scale

Sanitizer = Literal["chlorine", "bromine"]
Method = Literal["strip", "drops", "meter"]
Past = Literal["factory_new", "wet_tested", "used", "stored"]


class Tub(Record):
    """A hot tub. `None` means: nobody has said yet."""

    key: str
    dealer: str
    name: str = ""
    model: str | None = None
    serial: str | None = None
    built: int | None = Field(None, ge=1950, le=2200)
    """The year of its model."""
    volume: float | None = Field(None, gt=0)
    """Litres up to the level mark."""
    sanitizer: Sanitizer | None = None
    supply: Literal["plug_in", "hard_wired"] | None = None
    pumps: int | None = Field(None, ge=1, le=6)
    filters: int | None = Field(None, ge=1, le=6)
    fill_well: str | None = None
    """Which filter's well is filled through, in the dealer's words ("left")."""
    cartridge: bool | None = None
    """Whether it takes a water-treatment cartridge."""
    purifier: Literal["none", "ozone", "uv", "both"] | None = None
    heater_kw: float | None = Field(None, gt=0, le=30)
    water_source: Literal["mains", "well", "softened"] | None = None
    past: Past | None = None
    delivered: date | None = None
    bathers: int | None = Field(None, ge=1, le=12)
    soaks_per_week: float | None = Field(None, ge=0, le=50)
    kit: Kit | None = None
    """The owner's own products where they differ from the dealer's."""
    scale: Scale | None = None
    method: Method = "strip"
