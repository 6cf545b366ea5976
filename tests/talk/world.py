"""A small world for tests of conversations: the real store, engine, post and ticker on a virtual clock, and phones.

with World() as world:
    ada = world.owner("Ada", volume=1300.0, sanitizer="chlorine")
    ada.says("test")
    ada.answers("fc", "3")
    world.passes(minutes=30)
    assert "in range" in ada.last.text
"""

import asyncio
import tempfile
from collections.abc import Coroutine, Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Self, TypeVar

from bot.app import JOBS, open_store
from bot.channels.rehearsal import REHEARSAL, Phone, RehearsalChannel, buttons_of, phones
from bot.model.conversation import Conversation
from bot.model.dealer import Dealer
from bot.model.event import Answered, Arrival, Began, Event, File, FileKind, GroupNamed, Sent, Tapped, Wrote
from bot.model.fact import Entry, Filled, Plain, StartedUp
from bot.model.group import Place
from bot.model.known import Known, Outcome
from bot.model.message import Button, Message, Parcel
from bot.model.person import Address, Invite, Person, digest_of
from bot.model.tub import Tub
from bot.run.clock import VirtualClock
from bot.run.crowd import Crowd
from bot.run.house import House
from bot.schedule.journal import standing
from bot.talk import stack
from bot.talk.draft import Draft
from bot.talk.step import apologise, step
from bot.talk.turn import Turn

HOUSE = "house"
MORNING = datetime(2027, 3, 1, 9, 0, tzinfo=UTC)
T = TypeVar("T")


class World:
    """One dealer's house. Time stands still until it is told to pass."""

    def __init__(self, now: datetime = MORNING, **dealer: Any) -> None:
        self._runner = asyncio.Runner()
        self._folder = tempfile.TemporaryDirectory()
        self.folder = Path(self._folder.name)
        """Where files lie that people send."""
        self._path = self.folder / "world.sqlite"
        self.clock = VirtualClock(now)
        self.phones = phones()
        self.actors: dict[str, Actor] = {}
        self.sent: list[Parcel] = []
        self.faults: list[Exception] = []
        """What the conversations did wrong; whoever makes something happen that goes wrong is told at once."""
        self._updates = 0
        self.dealer = Dealer(**{"key": HOUSE, "name": "Tidewell Tubs", **dealer})
        self._open()
        self.do(self.store.put_dealer(self.dealer))

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def do(self, work: Coroutine[Any, Any, T]) -> T:
        """Run something of the store's to its end."""
        return self._runner.get_loop().run_until_complete(work)

    def _open(self) -> None:
        self.store = open_store(self._path)
        self.house = House(
            self.store,
            {REHEARSAL: self._channel()},
            self._step,
            apologise,
            jobs=JOBS,
            crowd=self._crowd(),
        )
        self.do(self.store.open())

    def _crowd(self) -> Crowd | None:
        """How often people are answered; None: as often as they want, for here a whole evening is one moment."""
        return None

    def _channel(self) -> RehearsalChannel:
        return RehearsalChannel(self.phones, self._delivered, self.folder)

    def _step(self, known: Known, arrival: Arrival, now: datetime) -> Outcome:
        try:
            return step(known, arrival, now)
        except Exception as fault:
            self.faults.append(fault)
            raise

    async def _delivered(self, parcel: Parcel) -> None:
        self.sent.append(parcel)

    def close(self) -> None:
        """Close the store and forget everything."""
        self.do(self.store.close())
        self._runner.close()
        self._folder.cleanup()

    def restart(self) -> None:
        """Drop everything in memory and begin again from the store."""
        self.do(self.store.close())
        self._open()
        self.do(self.house.settle_down(self.clock.now()))

    # -- who takes part

    def owner(
        self,
        name: str,
        *,
        volume: float | None = 1300.0,
        sanitizer: str | None = "chlorine",
        tub: "Actor | None" = None,
        running: bool = True,
        person: dict[str, Any] | None = None,
        **fields: Any,
    ) -> "Actor":
        """An owner who is in already. `tub`: somebody of the same household; `running`: filled 40 days ago.

        `fields` are the tub's, `person` the person's own.
        """
        key = f"t-{name}".lower()
        its = tub.tub if tub else Tub(key=key, dealer=HOUSE, volume=volume, sanitizer=sanitizer, **fields)  # type: ignore[arg-type]
        actor = self._actor(name, "owner", its, person or {})
        assert its
        self.do(self.store.put(HOUSE, [actor.person], [its], [(actor.person.key, its.key)]))
        if running and tub is None:
            filled = self.clock.now() - timedelta(days=40)
            actor.did(Filled(), at=filled)
            actor.did(StartedUp(), at=filled + timedelta(hours=6))
        return actor

    def staff(self, name: str, role: str = "technician", **person: Any) -> "Actor":
        """One of the dealer's people."""
        actor = self._actor(name, role, None, person)
        self.do(self.store.put(HOUSE, [actor.person], [], []))
        return actor

    def stranger(self, name: str, invite: str | None = None, **tub: Any) -> "Actor":
        """Somebody whom nobody knows; with `invite`, an unused one of that secret and a tub is there for them."""
        if invite:
            its = Tub(key=f"t-{name}".lower(), dealer=HOUSE, **tub)
            expires = self.clock.now() + timedelta(days=30)
            self.do(self.store.put(HOUSE, [], [its], []))
            self.do(
                self.store.put_invite(
                    Invite(digest=digest_of(invite), dealer=HOUSE, name=name, tub=its.key, expires=expires)
                )
            )
        return self._actor(name, "owner", None, {})

    def _actor(self, name: str, role: str, tub: Tub | None, person: dict[str, Any]) -> "Actor":
        fields = {
            "key": f"p-{name}".lower(),
            "dealer": HOUSE,
            "name": name,
            "role": role,
            "agreed_at": self.clock.now(),
        }
        address = Address(channel=REHEARSAL, chat=name)
        whole = Person.model_validate({**fields, "address": address, "quiet": self.dealer.quiet, **person})
        actor = Actor(self, name, whole, tub)
        self.actors[name] = actor
        return actor

    # -- what happens

    def passes(self, **span: float) -> None:
        """Time passes (`minutes=30`, `days=7`); everything due on the way happens at its own time."""
        until = self.clock.now() + timedelta(**span)
        self.do(self.house.pass_time(self.clock, until))
        self._check()

    def _check(self) -> None:
        if self.faults:
            raise self.faults.pop()
        self.check_replay()

    def arrives(self, name: str, event: Event, group: Place | None = None) -> None:
        """Something reaches the house, and everything that can be done at once is done. `name` is the chat."""
        arrival = self.arrival(name, event).model_copy(update={"group": group})
        self.do(self.house.engine.receive(arrival))
        self.do(self.house.settle_down(self.clock.now()))
        self._check()

    def arrival(self, name: str, event: Event) -> Arrival:
        """An arrival from somebody's chat, now."""
        self._updates += 1
        address = Address(channel=REHEARSAL, chat=name)
        now = self.clock.now()
        return Arrival(dealer=HOUSE, address=address, update=f"u{self._updates}", at=now, event=event, name=name)

    @property
    def update(self) -> str:
        """The newest arrival's number."""
        return f"u{self._updates}"

    def write(self, entry: Entry) -> None:
        """Put an entry into a journal from outside."""
        self.do(self.store.write([entry]))

    # -- what is there

    def journal(self, actor: "Actor | None" = None) -> tuple[Entry, ...]:
        """The journal as written, oldest first; of one tub, if somebody of it is named."""
        tub = actor.tub.key if actor and actor.tub else None
        return tuple(entry for _, entry in self.do(self.store.journal(HOUSE, tub=tub)))

    def facts(self, kind: str, actor: "Actor | None" = None) -> list[Any]:
        """The facts of a kind (`reading`, `plan`, `addition`) as they stand after corrections, oldest first."""
        return [entry.fact for entry in standing(self.journal(actor)) if entry.fact.kind == kind]

    def check_replay(self) -> None:
        """Whatever is open anywhere runs again from what is stored, writes nothing, and asks what was asked."""
        for actor in self.actors.values():
            if not actor.acted:
                continue
            draft = actor.draft()
            if draft.person is None or not draft.conversation.flows or draft.conversation.flows[-1].unheard:
                continue
            turn = stack.look(draft)
            assert turn is not None, f"{draft.conversation.flows[-1].flow} of {actor.name} cannot be resumed"
            written = [entry.fact for entry in draft.entries]
            assert not written, f"{turn.open.flow} writes again when it is run again: {written}"
            assert not turn.finished, f"{turn.open.flow} is open and at its end"


class Actor:
    """Somebody with a phone."""

    def __init__(self, world: World, name: str, person: Person, tub: Tub | None) -> None:
        self.world, self.name, self.person, self._tub = world, name, person, tub
        self.acted = False
        """Nothing can be open in the chat of somebody who never did anything."""
        self._seen = 0

    # -- what they do

    def says(self, text: str, *, edited: bool = False, forwarded: bool = False) -> "Actor":
        """Write something."""
        return self._does(Wrote(text=text, edited=edited, forwarded=forwarded))

    def taps(self, label: str) -> "Actor":
        """Tap the button of that label on the newest message that has it."""
        return self._does(Tapped(data=self.button(label).data))

    def taps_data(self, data: str) -> "Actor":
        """Tap an old button that carried this."""
        return self._does(Tapped(data=data))

    def answers(self, asks: str, value: str) -> "Actor":
        """Answer the open question of that name."""
        return self._does(Answered(asks=asks, value=value))

    def opens(self, invite: str | None = None) -> "Actor":
        """Open the chat, perhaps with an invite's secret."""
        return self._does(Began(invite=digest_of(invite) if invite else None))

    def sends(self, what: FileKind, caption: str = "") -> "Actor":
        """Send something that is not text."""
        return self._does(Sent(files=(File(what=what, reference="r"),), caption=caption))

    def does(self, event: Event) -> "Actor":
        """Anything else that can reach the house."""
        return self._does(event)

    def did(self, fact: Plain, *, at: datetime | None = None, ago: timedelta | None = None) -> None:
        """Put a fact into their tub's journal, as if told before."""
        self.world._updates += 1
        moment = at or self.world.clock.now() - (ago or timedelta())
        key = f"{REHEARSAL}:past{self.world._updates}:0"
        tub = self.tub.key if self.tub else None
        self.world.write(
            Entry(key=key, dealer=HOUSE, tub=tub, person=self.person.key, at=moment, via=REHEARSAL, fact=fact)
        )

    def _does(self, event: Event) -> "Actor":
        self._seen, self.acted = len(self.messages), True
        self.world.arrives(self.name, event)
        return self

    def at(self, group: str, case: str = "") -> "Voice":
        """This person in a group; in the topic of a case, or where all of the group talks."""
        return Voice(self, group, case)

    # -- what they see

    @property
    def messages(self) -> list[Message]:
        """Everything on their phone, oldest first."""
        return self.world.phones[self.name].messages

    @property
    def new(self) -> list[Message]:
        """What came since they last did something."""
        return self.messages[self._seen :]

    @property
    def last(self) -> Message:
        """The newest message."""
        assert self.messages, f"{self.name} has received nothing"
        return self.messages[-1]

    @property
    def text(self) -> str:
        """The newest message's text."""
        return self.last.text

    @property
    def buttons(self) -> list[str]:
        """The labels under the newest message."""
        return [button.label for button in buttons_of(self.last)]

    def button(self, label: str) -> Button:
        """The button of that label on the newest message that has it."""
        return self.world.phones[self.name].button(label)

    # -- what is known of them

    @property
    def known(self) -> Known:
        """All that a step would know of them now."""
        return self.world.do(self.world.store.known(self.world.arrival(self.name, Wrote(text=""))))

    @property
    def tub(self) -> Tub | None:
        """Their tub as it is stored now."""
        return self.known.tub if self.name in self.world.actors and self._tub is None else self._tub

    def draft(self) -> Draft:
        """A draft in which nothing has happened yet."""
        known = self.known
        return Draft(known, self.world.arrival(self.name, Wrote(text="")), self.world.clock.now())

    @property
    def conversation(self) -> Conversation:
        """What is open in their chat."""
        return self.known.conversation

    @property
    def turn(self) -> Turn | None:
        """How far the flow on top has come."""
        return stack.look(self.draft())


class Voice:
    """Somebody who speaks in a group."""

    def __init__(self, actor: Actor, group: str, case: str) -> None:
        self.actor, self.group, self.case = actor, group, case
        self._seen = 0

    def names_it(self, *, has_topics: bool = True, may_open: bool = True) -> "Voice":
        """Ask for cases to come to this group."""
        return self.does(GroupNamed(title=self.group, has_topics=has_topics, may_open=may_open))

    def says(self, text: str, *, edited: bool = False) -> "Voice":
        """Write something."""
        return self.does(Wrote(text=text, edited=edited))

    def sends(self, what: FileKind, caption: str = "") -> "Voice":
        """Send something that is not text."""
        return self.does(Sent(files=(File(what=what, reference="r"),), caption=caption))

    def taps(self, label: str) -> "Voice":
        """Tap the button of that label on the group's newest message that has it."""
        return self.does(Tapped(data=self._phone.button(label).data))

    def does(self, event: Event) -> "Voice":
        """Anything else that can come about in a group."""
        thread = self._phone.thread_of(self.case) if self._phone.has_topics else ""
        replied = "" if thread else self.case
        self._seen = len(self._phone.messages)
        self.actor.world.arrives(self.group, event, Place(by=self.actor.name, thread=thread, case=replied))
        return self

    @property
    def new(self) -> list[Message]:
        """What the group was told since this person last did something."""
        return self._phone.messages[self._seen :]

    @property
    def _phone(self) -> Phone:
        return self.actor.world.phones[self.group]


def texts(messages: Iterable[Message]) -> str:
    """Several messages as one text."""
    return "\n\n".join(message.text for message in messages)
