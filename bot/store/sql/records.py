"""Rows and records: what a column holds, and what a record becomes in one.

Times are integers: milliseconds since 1970 in UTC. What is asked for by SQL is a column; the rest of a record is JSON.
Entries, dealers and tubs are frozen, so parsing one is remembered by what was parsed.
"""

from datetime import UTC, datetime, timedelta
from functools import lru_cache
from json import loads

from pydantic import TypeAdapter

from bot.model.conversation import Conversation
from bot.model.dealer import Dealer
from bot.model.due import Due
from bot.model.event import Arrival
from bot.model.fact import Entry, Fact
from bot.model.message import LANES, Message, Parcel
from bot.model.person import Address, Invite, Person
from bot.model.tub import Tub
from bot.store.sql.unit import Row, Values

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_FACT: TypeAdapter[Fact] = TypeAdapter(Fact)
_REMEMBERED = 20_000


def to_ms(moment: datetime) -> int:
    """Milliseconds since 1970; what is finer is cut off."""
    return (moment - EPOCH) // timedelta(milliseconds=1)


def from_ms(milliseconds: int) -> datetime:
    """The moment, in UTC."""
    return EPOCH + timedelta(milliseconds=milliseconds)


def address_of(row: Row) -> Address:
    """The address in the columns `channel` and `chat`."""
    return Address(channel=row["channel"], chat=row["chat"])


@lru_cache(maxsize=256)
def dealer_from(body: str) -> Dealer:
    """A dealer from its JSON."""
    return Dealer.model_validate_json(body)


@lru_cache(maxsize=4096)
def tub_from(body: str) -> Tub:
    """A tub from its JSON."""
    return Tub.model_validate_json(body)


def fact_from(body: str) -> Fact:
    """A fact from its JSON."""
    return _FACT.validate_json(body)


def fact_json(fact: Fact) -> str:
    """A fact as JSON."""
    return _FACT.dump_json(fact).decode()


def person_row(person: Person) -> Values:
    """A person as a row of `people`."""
    address = person.address
    return {
        "dealer": person.dealer,
        "key": person.key,
        "role": person.role,
        "standing": person.standing,
        "channel": address.channel if address else None,
        "chat": address.chat if address else None,
        "body": person.model_dump_json(exclude={"dealer", "key", "role", "standing", "address"}),
    }


def person_from(row: Row) -> Person:
    """A person from a row of `people`."""
    columns = {name: row[name] for name in ("dealer", "key", "role", "standing")}
    address = None if row["chat"] is None else address_of(row)
    return Person.model_validate({**loads(row["body"]), **columns, "address": address})


def invite_row(invite: Invite) -> Values:
    """An invite as a row of `invites`."""
    return {
        "dealer": invite.dealer,
        "digest": invite.digest,
        "tub": invite.tub,
        "expires": to_ms(invite.expires),
        "used_by": invite.used_by,
        "person": invite.person,
        "body": invite.model_dump_json(include={"role", "name", "hands_on"}),
    }


def invite_from(row: Row) -> Invite:
    """An invite from a row of `invites`."""
    columns = {name: row[name] for name in ("dealer", "digest", "tub", "used_by", "person")}
    return Invite.model_validate({**loads(row["body"]), **columns, "expires": from_ms(row["expires"])})


def entry_row(entry: Entry) -> Values:
    """An entry as a row of `journal`."""
    return {
        "dealer": entry.dealer,
        "key": entry.key,
        "tub": entry.tub,
        "person": entry.person,
        "at": to_ms(entry.at),
        "via": entry.via,
        "kind": entry.fact.kind,
        "body": fact_json(entry.fact),
    }


def entry_from(row: Row) -> Entry:
    """An entry from a row of `journal`."""
    return _entry(row["dealer"], row["key"], row["tub"], row["person"], row["at"], row["via"], row["body"])


@lru_cache(maxsize=_REMEMBERED)
def _entry(dealer: str, key: str, tub: str | None, person: str | None, at: int, via: str, body: str) -> Entry:
    return Entry(dealer=dealer, key=key, tub=tub, person=person, at=from_ms(at), via=via, fact=fact_from(body))


def due_row(due: Due) -> Values:
    """A due row as it is stored."""
    return {**due.model_dump(exclude={"at"}), "at": to_ms(due.at)}


def due_from(row: Row) -> Due:
    """A due row as the model has it."""
    columns = {name: row[name] for name in ("dealer", "key", "kind", "what", "person", "tub")}
    return Due.model_validate({**columns, "at": from_ms(row["at"])})


def arrival_row(arrival: Arrival) -> Values:
    """An arrival as a row of `inbox`."""
    return {
        "dealer": arrival.dealer,
        "channel": arrival.address.channel,
        "chat": arrival.address.chat,
        "update_id": arrival.update,
        "at": to_ms(arrival.at),
        "rests_until": 0 if arrival.rests_until is None else to_ms(arrival.rests_until),
        "body": arrival.model_dump_json(include={"event", "raw", "name", "language", "group"}),
    }


def arrival_from(row: Row) -> Arrival:
    """An arrival from a row of `inbox`."""
    columns = {"dealer": row["dealer"], "update": row["update_id"], "at": from_ms(row["at"])}
    return Arrival.model_validate({**loads(row["body"]), **columns, "address": address_of(row)})


def conversation_json(conversation: Conversation) -> str:
    """A conversation as JSON, without its version, which is a column."""
    return conversation.model_dump_json(exclude={"version"})


def conversation_from(row: Row | None) -> Conversation:
    """A conversation from a row of `conversations`; an empty one where there is none."""
    if row is None:
        return Conversation()
    return Conversation.model_validate_json(row["body"]).model_copy(update={"version": row["version"]})


def parcel_from(row: Row) -> Parcel:
    """A parcel from a row of `outbox`."""
    return Parcel(
        number=row["number"],
        dealer=row["dealer"],
        address=address_of(row),
        message=Message.model_validate_json(row["body"]),
        at=from_ms(row["at"]),
        attempts=row["attempts"],
        doubts=row["doubts"],
    )


def lane_number(message: Message) -> int:
    """The place of a message's lane: the lower, the sooner it leaves."""
    return LANES.index(message.lane)
