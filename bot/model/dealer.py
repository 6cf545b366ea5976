"""The dealer: whose tubs these are, and how this house works."""

from datetime import time
from typing import Literal

from pydantic import Field

from bot.model.record import Record
from bot.model.zones import Zone
from dosing import DEFAULT_KIT, DEFAULT_SCALE, Kit, Scale


class Quiet(Record):
    """The hours in which nothing but an answer is sent, in the owner's own zone; `start` may be later than `end`."""

    start: time = time(20, 0)
    end: time = time(9, 0)


class Contacts(Record):
    """Whom to call, as this dealer's country has it. Empty where the dealer did not say."""

    emergency: str = ""
    poison: str = ""
    health: str = ""
    dealer: str = ""


class Intervals(Record):
    """Days between one care task and the next, where the journal gives no reason to be sooner (common practice)."""

    test: int = Field(7, ge=1, le=14)
    shock: int = Field(7, ge=1, le=60)
    rinse: int = Field(14, ge=1, le=60)
    soak: int = Field(60, ge=7, le=365)
    refill: int = Field(90, ge=14, le=365)
    cartridge: int = Field(120, ge=14, le=730)


StartStep = Literal["metal_binder", "cartridge", "oxidiser", "balance", "sanitizer", "buffer", "retest"]
SAFE_START: tuple[StartStep, ...] = ("metal_binder", "cartridge", "balance", "sanitizer", "buffer", "retest")


class Dealer(Record):
    """One dealer and the settings of this house."""

    key: str
    name: str
    zone: Zone = "UTC"
    language: str = "en"
    locale: str = "default"
    contacts: Contacts = Contacts()
    intervals: Intervals = Intervals()
    quiet: Quiet = Quiet()
    kit: Kit = DEFAULT_KIT
    scale: Scale = DEFAULT_SCALE
    start_order: tuple[StartStep, ...] = SAFE_START
    open_door: bool = False
    """Whether somebody without an invite may enrol."""
