"""The stage of a rehearsal: a store, the whole machinery on a virtual clock, and the phones of those who take part."""

import hashlib
import secrets
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from bot.app import build_house, open_store
from bot.channels.rehearsal import REHEARSAL, RehearsalChannel, phones
from bot.command.cast import (
    DEALER_TRAITS,
    GROUP_TRAITS,
    OWNER_WORDS,
    PERSON_TRAITS,
    TUB_TRAITS,
    checked,
    day,
    history_fact,
    read_traits,
    refuse_unknown,
)
from bot.command.files import attached
from bot.command.script import BadLine
from bot.command.voices import Voice, voice_of
from bot.model.dealer import Dealer
from bot.model.event import Answered, Arrival, Began, Blocked, Event, Sent, Tapped, Unblocked, Wrote
from bot.model.fact import CaseOpened, Entry, Filled, Plain, StartedUp, TestWanted
from bot.model.group import GROUP_KEY, Place
from bot.model.message import Message, Parcel
from bot.model.person import Address, Invite, Person, digest_of
from bot.model.tub import Tub
from bot.model.zones import zone
from bot.run.clock import VirtualClock
from bot.talk.understand import language

HOUSE = "house"
NAME_OF_HOUSE = "Tidewell Tubs"
OnEntry = Callable[[Entry], None]
OnMessage = Callable[[Parcel], None]


class Stage:
    """Plays one rehearsal. Hears of every entry and every delivered message in the order in which they come about."""

    def __init__(
        self, database: Path, start: datetime, zone_name: str, on_entry: OnEntry, on_message: OnMessage, run: str = ""
    ) -> None:
        self._database = database
        self.clock = VirtualClock(start)
        self.dealer = Dealer(key=HOUSE, name=NAME_OF_HOUSE, zone=zone_name)
        self.zone = zone(zone_name)
        self._on_entry, self._on_message = on_entry, on_message
        self._run = run
        self.phones = phones()
        self._invites: dict[str, str] = {}
        self._names: set[str] = set()
        self._staff: set[str] = set()
        self._people: dict[str, str] = {}
        self._owners: dict[str, str] = {}
        self._tubs: dict[str, Tub] = {}
        self._fresh: set[str] = set()
        self._group = ""
        self._cases: dict[str, str] = {}
        self._updates = 0
        self._seen = 0

    # -- opening and closing

    async def open(self) -> None:
        """Open the store and set everything up around it."""
        self._store = open_store(self._database)
        channel = RehearsalChannel(self.phones, self._delivered)
        self._house = build_house(self._store, {REHEARSAL: channel})
        await self._store.open()
        await self._store.take_over()

    async def raise_curtain(self) -> None:
        """Open for the first time: the dealer is there, and what an earlier rehearsal left is not told again."""
        await self.open()
        await self._store.put_dealer(self.dealer)
        self._seen = max((number for number, _ in await self._store.journal(HOUSE)), default=0)

    async def close(self) -> None:
        """Close the store; what was committed stays."""
        await self._store.close()

    async def restart(self) -> None:
        """Drop everything in memory and begin again from the store. The phones are other people's: they stay."""
        await self.close()
        await self.open()
        await self._settle()

    # -- who takes part

    async def cast(self, part: str, name: str, traits: Mapping[str, str]) -> None:
        """Bring somebody in. BadLine says what is wrong with their attributes."""
        if name in self._names:
            raise BadLine(f"{name} takes part already; everybody has a name of their own")
        match part:
            case "dealer":
                await self._cast_dealer(name, traits)
            case "tech":
                await self._cast_person(name, traits, "technician")
            case "owner":
                await self._cast_owner(name, traits)
            case "invited":
                await self._cast_invited(name, traits)
            case "group":
                await self._cast_group(name, traits)
            case _:
                refuse_unknown(traits)
        self._names.add(name)
        if part in ("dealer", "tech"):
            self._staff.add(name)
        await self._tell_entries()

    async def _cast_dealer(self, name: str, traits: Mapping[str, str]) -> None:
        refuse_unknown(traits, DEALER_TRAITS)
        fields = read_traits(traits, DEALER_TRAITS)
        self.dealer = checked(lambda: Dealer.model_validate({**_fields(self.dealer), **fields}))
        await self._store.put_dealer(self.dealer)
        await self._store.put(HOUSE, [self._person(name, {}, "dealer")], [], [])

    async def _cast_person(self, name: str, traits: Mapping[str, str], role: str) -> None:
        refuse_unknown(traits, PERSON_TRAITS)
        await self._store.put(HOUSE, [self._person(name, traits, role)], [], [])

    async def _cast_owner(self, name: str, traits: Mapping[str, str]) -> None:
        shared = traits.get("tub")
        if shared is not None:
            refuse_unknown(traits, PERSON_TRAITS, ("tub",))
            if shared not in self._tubs:
                raise BadLine(f"{shared} has no tub; cast its owner first")
        else:
            refuse_unknown(traits, PERSON_TRAITS, TUB_TRAITS, OWNER_WORDS)
            if missing := [word for word in ("volume", "sanitizer") if word not in traits]:
                raise BadLine(f"the tub of {name} needs {' and '.join(missing)}, as in volume=1300L sanitizer=chlorine")
        tub = self._tubs[shared] if shared else self._tub(name, traits)
        person = self._person(name, traits, "owner")
        state = traits.get("state", "running")
        if state not in ("new", "running"):
            raise BadLine(f"state={state}: a tub is new or running")
        if state == "new" and "filled" in traits:
            raise BadLine("a new tub is not filled yet; leave out filled= or state=new")
        filled = self._at(day(traits["filled"])) if "filled" in traits else None
        if filled and filled > self.clock.now():
            raise BadLine(
                f"filled={traits['filled']} lies ahead of the clock; a tub that is not filled yet is state=new"
            )
        await self._store.put(HOUSE, [person], [tub], [(person.key, tub.key)])
        self._tubs[name] = tub
        self._owners.setdefault(tub.key, name)
        self._fresh.add(name)
        if filled:
            await self._write(name, filled, Filled())
            await self._write(name, min(filled + timedelta(hours=6), self.clock.now()), StartedUp())
        elif state == "running" and not shared:
            first = self.clock.now() + timedelta(days=self.dealer.intervals.test)
            await self._write(name, self.clock.now(), TestWanted(at=first, why="cast"))

    async def _cast_invited(self, name: str, traits: Mapping[str, str]) -> None:
        refuse_unknown(traits, TUB_TRAITS)
        tub = self._tub(name, traits)
        secret = f"{self._run}.{name}.{self._updates}"
        digest = digest_of(secret)
        await self._store.put(HOUSE, [], [tub], [])
        expires = self.clock.now() + timedelta(days=30)
        await self._store.put_invite(Invite(digest=digest, dealer=HOUSE, name=name, tub=tub.key, expires=expires))
        self._invites[name] = digest
        self._tubs[name] = tub
        self._owners[tub.key] = name

    async def _cast_group(self, name: str, traits: Mapping[str, str]) -> None:
        refuse_unknown(traits, GROUP_TRAITS)
        if self._group:
            raise BadLine(f"{self._group} is the dealer's group already; a dealer has one")
        fields = read_traits(traits, GROUP_TRAITS)
        self.phones[name].has_topics = fields.pop("topics", True)
        group = self._person(name, {}, "group").model_copy(update={"key": GROUP_KEY, **fields})
        await self._store.put(HOUSE, [group], [], [])
        self._group = name

    def _tub(self, name: str, traits: Mapping[str, str]) -> Tub:
        fields = read_traits(traits, TUB_TRAITS)
        return checked(lambda: Tub.model_validate({"key": key_of("t", name), "dealer": HOUSE, **fields}))

    def _person(self, name: str, traits: Mapping[str, str], role: str) -> Person:
        fields = {
            "key": key_of("p", name),
            "dealer": HOUSE,
            "name": name,
            "role": role,
            "address": Address(channel=REHEARSAL, chat=name),
            "language": self.dealer.language,
            "zone": self.dealer.zone,
            "quiet": self.dealer.quiet,
            "agreed_at": self.clock.now(),
            **read_traits(traits, PERSON_TRAITS),
        }
        return checked(lambda: Person.model_validate(fields))

    # -- what happened before

    async def history(self, name: str, when: datetime, what: str) -> None:
        """Write something that happened before into the journal of somebody's tub."""
        self._known(name)
        if name not in self._tubs:
            raise BadLine(f"{name} has no tub to keep a journal of")
        moment = self._at(when)
        if moment > self.clock.now():
            raise BadLine(f"{when:%Y-%m-%dT%H:%M} lies ahead of the clock; a journal holds what has happened")
        await self._write(name, moment, history_fact(what, self._tubs[name].kit or self.dealer.kit))
        if name not in self._invites:
            self._fresh.add(name)
        await self._tell_entries()

    def _at(self, moment: datetime) -> datetime:
        return moment if moment.tzinfo else moment.replace(tzinfo=self.zone)

    async def _write(self, name: str, at: datetime, fact: Plain) -> None:
        person = await self._store.person_at(HOUSE, Address(channel=REHEARSAL, chat=name))
        entry = Entry(
            key=f"{REHEARSAL}:{self._next_update()}:0",
            dealer=HOUSE,
            tub=self._tubs[name].key,
            person=person.key if person else None,
            at=at,
            via=REHEARSAL,
            fact=fact,
        )
        await self._store.write([entry])

    # -- what happens

    async def says(self, name: str, text: str) -> None:
        """Somebody writes. The first words of an invited person, and `/start` by anybody, open the chat,
        in the language that they are written in, as a phone would tell it.
        """
        self._known(name)
        invite = self._invites.pop(name, None)
        opens = invite is not None or text.split() == ["/start"]
        await self._arrive(name, Began(invite=invite) if opens else Wrote(text=text), language(text) if opens else None)

    async def taps(self, name: str, label: str) -> None:
        """Somebody taps a button."""
        self._known(name)
        voice = self._voice(name)
        try:
            button = self.phones[voice.chat].button(label, voice.case)
        except LookupError as wrong:
            raise BadLine(f"{name}: {wrong.args[0]}") from None
        await self._arrive(name, Tapped(data=button.data))

    async def answers(self, name: str, key: str, value: str) -> None:
        """Somebody answers the open question of that key."""
        self._known(name)
        await self._arrive(name, Answered(asks=key, value=value))

    async def sends(self, name: str, file: str, caption: str = "") -> None:
        """Somebody sends a file."""
        self._known(name)
        await self._arrive(name, Sent(files=(attached(file),), caption=caption))

    async def blocks(self, name: str, *, blocked: bool) -> None:
        """Somebody blocks the bot, or lets it in again."""
        self._known(name)
        self.phones[name].blocked = blocked
        await self._arrive(name, Blocked() if blocked else Unblocked(), place=Place() if name == self._group else None)

    async def passes(self, span: timedelta) -> None:
        """Time passes; everything due on the way happens at its own time."""
        await self._wake()
        await self._house.pass_time(self.clock, self.clock.now() + span)
        await self._tell_entries()

    def newest(self, name: str) -> Message | None:
        """The message that somebody received last."""
        return self.phones[name].newest

    def name_of(self, entry: Entry) -> tuple[str, str]:
        """Whose an entry is, and who told it, by name: what staff tell of a tub is its owner's."""
        by = self._people.get(entry.person or "", "")
        owner = self._owners.get(entry.tub or "", by)
        return (owner if by in self._staff else by or owner), by

    def _known(self, name: str) -> None:
        if name not in self._names and name.partition("@")[0] not in self._names:
            raise BadLine(f"nobody called {name} takes part; cast them first, as in `cast owner {name} volume=1300L`")

    def _voice(self, name: str) -> Voice:
        return voice_of(name, self._group, self._cases, self.phones)

    async def _arrive(self, name: str, event: Event, spoken: str | None = None, *, place: Place | None = None) -> None:
        await self._wake()
        voice = Voice(name, place) if place else self._voice(name)
        await self._put(voice.chat, voice.said(event, self.phones), spoken, voice.place)
        await self._settle()

    async def _wake(self) -> None:
        """Let the reminders of those who were brought in fall into line with their journals."""
        for name in sorted(self._fresh):
            await self._put(name, Unblocked())
        if self._fresh:
            self._fresh.clear()
            await self._settle()

    async def _put(self, name: str, event: Event, spoken: str | None = None, place: Place | None = None) -> None:
        address = Address(channel=REHEARSAL, chat=name)
        at = self.clock.now()
        await self._house.engine.receive(
            Arrival(
                dealer=HOUSE,
                address=address,
                update=self._next_update(),
                at=at,
                event=event,
                name=name,
                language=spoken,
                group=place,
            )
        )

    async def _settle(self) -> None:
        await self._house.settle_down(self.clock.now())
        await self._tell_entries()

    def _next_update(self) -> str:
        self._updates += 1
        return f"{self._run}{self._updates}"

    async def _delivered(self, parcel: Parcel) -> None:
        await self._tell_entries()
        self._on_message(parcel)

    async def _tell_entries(self) -> None:
        for number, entry in await self._store.journal(HOUSE, after=self._seen):
            self._seen = number
            await self._learn_names(entry)
            if isinstance(entry.fact, CaseOpened):
                self._cases[self.name_of(entry)[1]] = entry.fact.case
            self._on_entry(entry)

    async def _learn_names(self, entry: Entry) -> None:
        """The keys of those who came in through the door are not ours: learn whose they are."""
        for name in sorted(self._names - set(self._people.values())):
            person = await self._store.person_at(HOUSE, Address(channel=REHEARSAL, chat=name))
            if person:
                self._people[person.key] = name
        if entry.tub and entry.person:
            self._owners.setdefault(entry.tub, self._people.get(entry.person, ""))


def key_of(kind: str, name: str) -> str:
    """A key that every name gives, short enough for a button and without its separators."""
    return kind + hashlib.sha256(name.encode()).hexdigest()[:10]


def new_run() -> str:
    """A mark that tells the updates of one rehearsal from those of another on the same database."""
    return secrets.token_hex(4) + "-"


def _fields(record: Dealer) -> dict[str, Any]:
    return {name: getattr(record, name) for name in type(record).model_fields}
