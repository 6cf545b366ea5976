"""Facts of the house rather than of the water: what people did about owners, tubs, invites and messages to many."""

from typing import Literal

from pydantic import Field

from bot.model.record import Record


class SupplySaid(Record):
    """The dealer's offer of another pack of a product, or what was answered to it. `number` counts the packs that this
    tub had, the one in use or in store included.
    """

    kind: Literal["supply"] = "supply"
    product: str
    what: Literal["offered", "wanted", "more", "no"]
    number: int = Field(ge=1)


class OwnersBrought(Record):
    """Owners were brought in from a sheet, by whoever the entry names (nobody: from the command line)."""

    kind: Literal["brought"] = "brought"
    file: str
    digest: str
    """SHA-256 of the file, so that it is known again."""
    new: int
    changed: int
    same: int
    review: int
    rejected: int


class InvitesIssued(Record):
    """Invites were made, or those not used yet were withdrawn."""

    kind: Literal["invites"] = "invites"
    what: Literal["issued", "withdrawn"]
    people: tuple[str, ...]


class RoundAnswered(Record):
    """What an owner said to a message that went to many."""

    kind: Literal["round_answer"] = "round_answer"
    round: str
    answer: Literal["done", "call", "read"]


class RoundOrdered(Record):
    """What one of the dealer's people did with a message to many, and to how many it goes."""

    kind: Literal["round_order"] = "round_order"
    round: str
    order: Literal["start", "pause", "resume", "cancel"]
    people: int = 0


class HouseholdChanged(Record):
    """Somebody came to a tub, left it, or has it from somebody else: the person of the entry."""

    kind: Literal["household"] = "household"
    what: Literal["joined", "left", "took_over"]


class Acted(Record):
    """Something that was done about people, tubs or what is stored, for the trail of who did what."""

    kind: Literal["acted"] = "acted"
    what: Literal["joined", "removed", "invited", "link", "hand_on_link", "merged", "erased", "exported"]
    about: tuple[str, ...] = ()
    """Keys of people and tubs."""
