"""The dealer: whose tubs these are, and how this house works."""

from datetime import time
from typing import Literal

from pydantic import Field, field_validator

from bot.model.record import Record
from bot.model.zones import Zone, country_of
from dosing import DEFAULT_KIT, DEFAULT_SCALE, Kit, Scale

MOST_SAID = 1500
"""Characters of an answer: a phone shows it, and so does every channel (common practice)."""


MOST_GREETING = 300


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
    replace: int = Field(365, ge=60, le=1100)
    """A new filter element."""
    cover: int = Field(90, ge=14, le=730)
    """The cover cleaned, dried and proofed."""


class StandingAnswer(Record):
    """An answer that the dealer's people give often, in the dealer's own words."""

    title: str = Field(min_length=1, max_length=20)
    """On the button."""
    text: dict[str, str] = Field(min_length=1)
    """By language. `{name}` stands for the owner's name, `{technician}` for the first name of who sends it."""

    @field_validator("text")
    @classmethod
    def _can_be_filled_in(cls, text: dict[str, str]) -> dict[str, str]:
        for language, said in text.items():
            try:
                filled = said.format(name="", technician="")
            except (KeyError, IndexError, ValueError):
                raise ValueError(f"{language}: in braces only {{name}} and {{technician}} can stand") from None
            if not filled.strip() or len(said) > MOST_SAID:
                raise ValueError(f"{language}: an answer has 1 to {MOST_SAID} characters")
        return text

    def said(self, language: str, fallback: str, *, name: str, technician: str) -> str:
        """The answer in this language, else in the dealer's, else in the first there is."""
        text = self.text.get(language) or self.text.get(fallback) or next(iter(self.text.values()))
        return text.format(name=name, technician=technician)


class Rising(Record):
    """Minutes within which a case goes further. Red flags do not wait for the dealer's hours (common practice)."""

    again: int = Field(30, ge=5, le=1440)
    """Until one that nobody has taken is sent again, and once more until the dealer gets it."""
    answer: int = Field(240, ge=15, le=10080)
    """That an owner waits for an answer before whoever has the case is reminded, and once more before the others are
    told; half an hour at most in a danger."""


class Bulk(Record):
    """Manners of messages to many."""

    days: int = Field(7, ge=0, le=365)
    """Who got one less than so many days ago is left out of the next."""
    confirm_from: int = Field(25, ge=1)
    """From so many recipients on, their number has to be typed before anything is sent."""


class Attention(Record):
    """Days after which the dealer sees that somebody may need them (common practice)."""

    silent: int = Field(14, ge=3, le=120)
    """Without a word about the tub."""
    overdue: int = Field(7, ge=0, le=120)
    """Past the day of a change of water or of the cartridge."""
    unfinished: int = Field(3, ge=1, le=60)
    """Since an owner came in or filled, and the start-up is not done."""


class Supplies(Record):
    """Products that run out."""

    weeks: int = Field(4, ge=1, le=26)
    """Whose pack lasts no longer is on the list for the shop."""
    offer: bool = False
    """Whether such an owner is asked if one shall be put aside."""


class Keep(Record):
    """Days after which words are forgotten (common practice). What the water and the tub went through is kept."""

    messages: int = Field(30, ge=3, le=36500)
    """What came in and went out, since it was handled or sent. A service brings an update again for a day."""
    words: int = Field(730, ge=30, le=36500)
    """Notes: what owners wrote that was no reading, no answer and no case."""
    files: int = Field(365, ge=7, le=36500)
    """By which a photo or a file in a case can be fetched from the service."""
    cases: int = Field(730, ge=30, le=36500)
    """What was said and noted in a case, since it was closed."""
    audit: int = Field(1095, ge=400, le=36500)
    """Who brought in lists, made invites, and sent messages to many, those messages and whom they reached."""


class TubModel(Record):
    """A model that this dealer sells, as far as it is the same for every tub of it. None: it differs."""

    name: str = Field(min_length=1, max_length=80)
    aliases: tuple[str, ...] = ()
    """Other ways in which it is written in lists."""
    volume: float | None = Field(None, ge=200, le=4000)
    """Litres up to the level mark."""
    sanitizer: Literal["chlorine", "bromine"] | None = None
    supply: Literal["plug_in", "hard_wired"] | None = None
    pumps: int | None = Field(None, ge=1, le=6)
    filters: int | None = Field(None, ge=1, le=6)
    heater_kw: float | None = Field(None, gt=0, le=30)
    fill_well: str | None = Field(None, max_length=40)
    cartridge: bool | None = None
    purifier: Literal["none", "ozone", "uv", "both"] | None = None

    def fields(self) -> dict[str, object]:
        """What it says of a tub, by the tub's own names."""
        return {name: value for name, value in self if name not in ("name", "aliases") and value is not None}


class Wording(Record):
    """The dealer's own sentences, by language; in another language the bot's own stand alone."""

    greeting: dict[str, str] = Field(default_factory=dict)
    """Said to a new owner after the bot has said whose program it is."""
    card: dict[str, str] = Field(default_factory=dict)
    """On an invite card, in place of the bot's own sentence."""

    @field_validator("greeting", "card")
    @classmethod
    def _short(cls, said: dict[str, str]) -> dict[str, str]:
        for language, text in said.items():
            if not 1 <= len(text.strip()) <= MOST_GREETING:
                raise ValueError(f"{language}: a sentence of 1 to {MOST_GREETING} characters")
        return said


StartStep = Literal["metal_binder", "cartridge", "oxidiser", "balance", "sanitizer", "buffer", "retest"]
SAFE_START: tuple[StartStep, ...] = ("metal_binder", "cartridge", "balance", "sanitizer", "buffer", "retest")


class Dealer(Record):
    """One dealer and the settings of this house."""

    key: str
    name: str
    zone: Zone = "UTC"
    language: str = "en"
    country: str = Field("", pattern=r"^([A-Z]{2})?$")
    """ISO 3166, two letters; empty: that of the zone."""
    locale: str = "default"
    contacts: Contacts = Contacts()
    intervals: Intervals = Intervals()
    quiet: Quiet = Quiet()
    bulk: Bulk = Bulk()
    kit: Kit = DEFAULT_KIT
    scale: Scale = DEFAULT_SCALE
    start_order: tuple[StartStep, ...] = SAFE_START
    cases: Rising = Rising()
    attention: Attention = Attention()
    keep: Keep = Keep()
    supplies: Supplies = Supplies()
    answers: tuple[StandingAnswer, ...] = Field((), max_length=30)
    """What the dealer's people answer often."""
    models: tuple[TubModel, ...] = Field((), max_length=500)
    words: Wording = Wording()
    open_door: bool = False
    """Whether somebody without an invite may enrol."""

    @property
    def home(self) -> str:
        """The country by which phone numbers, dates and gallons are read; empty where nothing says."""
        return self.country or country_of(self.zone)
