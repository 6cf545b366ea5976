"""Everybody who can write to the bot, two dealers' people, and what an attempt of theirs would reach.

An attempt is judged by the outcome of its step on what the store knows, which is not settled: the town stays as it is,
and every attempt meets the same one.
"""

from dataclasses import dataclass
from datetime import time, timedelta

from bot.app import JOBS  # noqa: F401  (registers what the dealer can ask for)
from bot.model.dealer import Dealer, Quiet
from bot.model.event import Arrival, Event
from bot.model.fact import CaseOpened
from bot.model.group import Place
from bot.model.known import Known, Outcome
from bot.model.message import Message
from bot.model.person import Address, Invite, Person, Role, digest_of
from bot.model.tub import Tub
from bot.talk.step import step
from tests.talk.world import HOUSE, World

ELSEWHERE = "elsewhere"
CREW = "Crew"
SERIAL = "SN4711"
QUESTION = "May I drain into the quince garden?"
SECRETS = (SERIAL, "quince", "Adaline")
"""What only the household, the dealer and their people may read."""
SHOCK = "I got an electric shock in the water"
INVITES = ("fresh", "used", "expired", "withdrawn", "abroad", "guessed")


@dataclass(frozen=True)
class Who:
    """Somebody with a chat. `dealer`: whose bot they write to; `group`: they speak in that group."""

    chat: str
    dealer: str = HOUSE
    group: bool = False


PEOPLE = {
    "owner": Who("Adaline"),
    "mate": Who("Mo"),
    "owner in danger": Who("Dan"),
    "owner whose case is over": Who("Cal"),
    "other owner": Who("Zoe"),
    "newcomer": Who("Nia"),
    "holder": Who("Tom"),
    "technician": Who("Una"),
    "dealer": Who("Dee"),
    "technician in the group": Who("Una", group=True),
    "dealer in the group": Who("Dee", group=True),
    "removed technician": Who("Rex"),
    "removed dealer": Who("Rhea"),
    "stranger": Who("Zed"),
    "stranger in the group": Who("Zed", group=True),
    "other owner in the group": Who("Zoe", group=True),
    "foreign owner": Who("Fay", ELSEWHERE),
    "foreign technician": Who("Finn", ELSEWHERE),
    "foreign dealer": Who("Flo", ELSEWHERE),
    "foreign stranger": Who("Zed", ELSEWHERE),
}


class Town:
    """Two dealers' houses in one store: cases open, in danger and closed; rounds running, paused and done; invites."""

    def __init__(self) -> None:
        self.world = world = World(quiet=Quiet(start=time(0), end=time(0)))
        ada = world.owner("Adaline", serial=SERIAL)
        world.owner("Mo", tub=ada)
        dan = world.owner("Dan")
        world.owner("Cal")
        world.owner("Zoe")
        world.owner("Nia", person={"agreed_at": None})
        tom, una = world.staff("Tom"), world.staff("Una")
        dee = world.staff("Dee", role="dealer")
        world.staff("Rex", standing="stopped")
        world.staff("Rhea", role="dealer", standing="stopped")
        self._elsewhere()
        self._invites()
        self.done = self._round("Now")
        self.running = self._round("Over 4 hours")
        self.paused = self._round("Over 4 hours")
        dee.taps("Pause")
        self.closed = self._case("Cal", "Is the cover warm?")
        una.taps("Take it").taps("Close it").taps("Solved").taps("Skip")
        self.case = self._case("Adaline", QUESTION)
        tom.taps("Take it")
        ada.says("I put 20 g of pH down in, near the quince garden")
        dan.says(SHOCK)
        self.danger = self._newest()
        dee.at(CREW).names_it()

    def _elsewhere(self) -> None:
        there = Dealer(key=ELSEWHERE, name="Elder Spas")
        roles: dict[str, Role] = {"Fay": "owner", "Finn": "technician", "Flo": "dealer"}
        people = [
            Person(
                key=f"p-{name.lower()}",
                dealer=ELSEWHERE,
                name=name,
                role=role,
                address=Address(channel="rehearsal", chat=name),
                agreed_at=self.world.clock.now(),
            )
            for name, role in roles.items()
        ]
        tub = Tub(key="t-fay", dealer=ELSEWHERE, volume=1000.0, sanitizer="chlorine")
        self.world.do(self.world.store.put_dealer(there))
        self.world.do(self.world.store.put(ELSEWHERE, people, [tub], [("p-fay", "t-fay")]))

    def _invites(self) -> None:
        now, store = self.world.clock.now(), self.world.store
        for name in ("fresh", "used", "expired", "withdrawn", "abroad"):
            invite = Invite(
                digest=digest_of(name),
                dealer=ELSEWHERE if name == "abroad" else HOUSE,
                role="technician",
                name="Ivo",
                expires=now + timedelta(days=-1 if name == "expired" else 30),
                used_by="p-una" if name == "used" else None,
            )
            self.world.do(store.put_invite(invite))
        self.world.do(store.withdraw_invites(HOUSE, [digest_of("withdrawn")], now))

    def _round(self, when: str) -> str:
        dee = self.world.actors["Dee"]
        dee.says("round")
        if "New message to many" in dee.buttons:
            dee.taps("New message to many")
        dee.answers("kind", "safety").says("all").taps("Write the message").says("We are closed next week.")
        dee.taps(when).taps("Send")
        return str(self.world.facts("round_order")[-1].round)

    def _case(self, owner: str, question: str) -> str:
        self.world.actors[owner].says("person").says(question)
        return self._newest()

    def _newest(self) -> str:
        opened = [entry.fact for entry in self.world.journal() if isinstance(entry.fact, CaseOpened)]
        return opened[-1].case

    def tries(self, who: str, event: Event) -> "Attempt":
        """What would come of somebody's doing this now."""
        them, now = PEOPLE[who], self.world.clock.now()
        chat = CREW if them.group else them.chat
        arrival = Arrival(
            dealer=them.dealer,
            address=Address(channel="rehearsal", chat=chat),
            update="attempt",
            at=now,
            event=event,
            name=them.chat,
            group=Place(by=them.chat) if them.group else None,
        )
        known = self.world.do(self.world.store.known(arrival))
        outcome = step(known, arrival, now)
        if outcome.seeks is not None and outcome.seeks.what == "tub":
            known = self.world.do(self.world.store.known(arrival, tub=outcome.seeks.words))
            outcome = step(known, arrival, now)
        elif outcome.seeks is not None:
            found = self.world.do(self.world.store.look_up(them.dealer, outcome.seeks))
            outcome = step(known.model_copy(update={"found": found}), arrival, now)
        return Attempt(known, outcome)


@dataclass(frozen=True)
class Attempt:
    """What was known, and what would come of it."""

    known: Known
    outcome: Outcome

    @property
    def told(self) -> tuple[str, ...]:
        """What would be said to whoever tried."""
        return tuple(message.text for message in self.outcome.messages if self._to_them(message.to))

    @property
    def begun(self) -> set[str]:
        """The conversations that would be begun."""
        new = self.outcome.conversation
        before = {flow.serial for flow in self.known.conversation.flows}
        return {flow.flow for flow in new.flows if flow.serial not in before} if new else set()

    @property
    def reached(self) -> set[str]:
        """All beyond their own chat, tub and person that would be changed, told or shown."""
        out, me = self.outcome, self._me
        tub = self.known.tub.key if self.known.tub else None
        own = {tub, None} if tub else {None}
        seen = " ".join(f"{message.text} {message.file} {message.enclosure}" for message in self._mine)
        household = {one.key for one in self.known.household} | {me}
        mine = tub == "t-adaline"
        return {
            *(f"journal {entry.fact.kind}" for entry in out.entries if entry.tub not in own or entry.person != me),
            *(f"person {one.key}" for one in out.people if one.key != me),
            *(f"tub {one.key}" for one in out.tubs if one.key != tub),
            *(f"link {link}" for link in (*out.links, *out.unlinks)),
            *(f"erased {one}" for one in out.erase if one != me),
            *(f"tells {one.to}" for one in out.messages if not self._to_them(one.to)),
            *(f"due {one.key}" for one in out.set_dues if one.person not in household),
            *(f"round {key} {order}" for key, order in out.round_orders),
            *(f"round {one.key}" for one in out.rounds),
            *(f"errand {one.kind}" for one in out.errands),
            *(["invite"] if out.used_invite else []),
            *(f"shown {secret}" for secret in SECRETS if secret in seen and not mine),
        }

    @property
    def changed(self) -> set[str]:
        """All that would come of it, in their own chat too, but for words."""
        return self.reached | self.begun | {entry.fact.kind for entry in self.outcome.entries} | self._picked

    @property
    def _picked(self) -> set[str]:
        new = self.outcome.conversation
        return {f"writes in {new.case}"} if new and new.case != self.known.conversation.case else set()

    @property
    def _me(self) -> str:
        return self.known.person.key if self.known.person else ""

    @property
    def _mine(self) -> list[Message]:
        return [message for message in self.outcome.messages if self._to_them(message.to)]

    def _to_them(self, to: str) -> bool:
        return to in ("", self._me)
