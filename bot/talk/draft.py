"""An outcome while it is being written."""

from dataclasses import dataclass, field
from datetime import datetime

from bot.model.conversation import Conversation
from bot.model.due import Due
from bot.model.enclosure import Enclosure
from bot.model.errand import Errand
from bot.model.event import Arrival, File
from bot.model.fact import Entry, Fact
from bot.model.group import GROUP_KEY, Topic
from bot.model.known import Handing, Known, Outcome
from bot.model.message import Button, Dose, Lane, Message
from bot.model.person import Person
from bot.model.round import Round, RoundOrder
from bot.model.sought import Found, Seek
from bot.model.tub import Tub
from bot.schedule.journal import standing
from bot.talk.tub_names import named
from bot.talk.words import Line, Words, line

WHICH_TUB = "which_tub"
"""The conversation that asks which of several tubs is meant."""


@dataclass
class Draft:
    """Collects what one arrival changes. `person` and `tub` are as changed so far."""

    known: Known
    arrival: Arrival
    now: datetime
    person: Person | None = field(init=False)
    tub: Tub | None = field(init=False)
    conversation: Conversation = field(init=False)
    entries: list[Entry] = field(default_factory=list)
    messages: list[Message] = field(default_factory=list)
    people: dict[str, Person] = field(default_factory=dict)
    tubs: dict[str, Tub] = field(default_factory=dict)
    links: list[tuple[str, str]] = field(default_factory=list)
    unlinks: list[tuple[str, str]] = field(default_factory=list)
    handing: Handing | None = None
    erase: list[str] = field(default_factory=list)
    used_invite: tuple[str, str] | None = None
    set_dues: dict[str, Due] = field(default_factory=dict)
    cancel_dues: set[str] = field(default_factory=set)
    seeks: Seek | None = None
    errands: list[Errand] = field(default_factory=list)
    rounds: list[Round] = field(default_factory=list)
    round_orders: list[tuple[str, RoundOrder]] = field(default_factory=list)
    topic: Topic | None = None
    """The topic of the group that is talked in."""
    lane: Lane = "reply"
    """How what is said to whoever is talking goes out: a reminder begins a conversation that nobody asked for."""
    _farewell: Words | None = None

    def __post_init__(self) -> None:
        self.person = self.known.person
        self.tub = self.known.tub
        self.conversation = self.known.conversation

    @property
    def journal(self) -> tuple[Entry, ...]:
        """The journal as it stands, with what has been recorded here."""
        return standing((*self.known.journal, *self.entries))

    @property
    def household(self) -> tuple[Person, ...]:
        """Everybody who stays on the tub, in the order in which they came; whoever is talking as changed so far."""
        gone = {person for person, _ in self.unlinks} | set(self.erase)
        people = {one.key: one for one in self.known.household}
        comes = self.tub is not None and self.person is not None and (self.person.key, self.tub.key) in self.links
        if self.person and (self.person.key in people or comes):
            people[self.person.key] = self.person
        return tuple(one for key, one in people.items() if key not in gone)

    @property
    def names_tub(self) -> bool:
        """Whether whoever is talking has several tubs, so that it has to be said which one is meant."""
        return self.tub is not None and len({one.key for one in (*self.known.tubs, self.tub)}) > 1

    def turn_to(self, tub: str) -> bool:
        """Whether this is about that tub. If not and it is theirs, the step is taken once more with what is known
        around it: nothing else may be done before.
        """
        if self.tub is not None and self.tub.key == tub:
            return True
        if any(one.key == tub for one in self.known.tubs):
            self.seeks = Seek(what="tub", words=tub)
        return False

    @property
    def in_group(self) -> bool:
        """Whether this came about in a group."""
        return self.arrival.group is not None

    @property
    def group(self) -> Person | None:
        """The group of the dealer's people as changed so far, while cases come to it."""
        group = self.people.get(GROUP_KEY, self.known.group)
        return group if group and group.standing == "active" else None

    @property
    def words(self) -> Words:
        """The words of the person who is talking; before anybody is known, those of the sender's app or the dealer."""
        if self.person:
            return Words.of(self.person)
        if self._farewell:
            return self._farewell
        return Words(self.arrival.language or self.known.dealer.language)

    def record(
        self, fact: Fact, *, at: datetime | None = None, tub: str | None = None, person: str | None = None
    ) -> str:
        """Write a fact; returns the entry's key, which is made from the arrival, so that it is written once.

        `person`: of whom it is told, where that is not whoever is talking.
        """
        key = f"{self.arrival.address.channel}:{self.arrival.update}:{len(self.entries)}"
        entry = Entry(
            key=key,
            dealer=self.known.dealer.key,
            tub=tub or (self.tub.key if self.tub else None),
            person=person or (self.person.key if self.person else None),
            at=at or self.now,
            via=self.arrival.address.channel,
            fact=fact,
        )
        self.entries.append(entry)
        return key

    def change_person(self, **values: object) -> None:
        """Change what is known of the person who is talking."""
        assert self.person
        self.person = Person.model_validate({**self.person.model_dump(), **values})
        self.people[self.person.key] = self.person

    def forget_person(self) -> None:
        """Forget whoever is talking; a farewell still reaches the chat, in their language."""
        assert self.person
        self._farewell = self.words
        self.erase.append(self.person.key)
        self.people.pop(self.person.key, None)
        self.conversation = Conversation(serial=self.conversation.serial, version=self.conversation.version)
        self.person = None

    def change_tub(self, **values: object) -> None:
        """Change what is known of the tub."""
        assert self.tub
        self.tub = Tub.model_validate({**self.tub.model_dump(), **values})
        self.tubs[self.tub.key] = self.tub

    def say(
        self,
        what: Line,
        buttons: tuple[tuple[Button, ...], ...] = (),
        *,
        lane: Lane | None = None,
        asks: str | None = None,
        dose: Dose | None = None,
        wait_minutes: int | None = None,
        enclosure: Enclosure | None = None,
    ) -> None:
        """Say something to whoever is talking, where they talk. Who has several tubs is told which one it is about."""
        flows = self.conversation.flows
        if self.names_tub and self.tub and not (flows and flows[-1].flow == WHICH_TUB):
            what = named(self.tub, (*self.known.tubs, self.tub), what)
        self.messages.append(
            Message(
                to=self.person.key if self.person else "",
                lane=lane or self.lane,
                text=self.words.text(what),
                buttons=buttons,
                asks=asks,
                dose=dose,
                instead=self.words.text(line("danger.paused")) if dose else "",
                wait_minutes=wait_minutes,
                enclosure=enclosure,
                unmade=self.words.text(line("enclosure.unmade")) if enclosure else "",
                address=None if self.person and not self.in_group else self.arrival.address,
                topic=self.topic,
            )
        )

    def tell(
        self,
        person: Person,
        what: Line,
        buttons: tuple[tuple[tuple[Line, str], ...], ...] = (),
        lane: Lane = "alert",
        file: File | None = None,
        enclosure: Enclosure | None = None,
        topic: Topic | None = None,
    ) -> None:
        """Say something to somebody else, in that person's words; to a group in this topic."""
        tub = self._tub_named_to(person)
        if tub is not None and (tub.name or tub.model):
            what = named(tub, (tub,), what)
        words = Words.of(person)
        rows = tuple(tuple(Button(label=words.text(label), data=data) for label, data in row) for row in buttons)
        self.messages.append(
            Message(
                to=person.key,
                lane=lane,
                text=words.text(what),
                file=file,
                enclosure=enclosure,
                unmade=words.text(line("enclosure.unmade")) if enclosure else "",
                buttons=rows,
                topic=topic,
            )
        )

    def _tub_named_to(self, person: Person) -> Tub | None:
        """The tub whose name somebody with several has to read: the one that is talked about, or that of their case."""
        if self.tub is not None:
            return self.tub if person.key in self.known.of_several else None
        theirs = [one.tub for one in self.known.cases if one.owner and one.owner.key == person.key]
        several = any(person.key in one.of_several for one in self.known.cases)
        return theirs[0] if len(theirs) == 1 and several else None

    def found(self, seek: Seek) -> Found | None:
        """What is looked up; None at first: then this step is taken once more, with it."""
        found = self.known.found
        if found is not None and found.what == seek.what:
            return found
        self.seeks = seek
        return None

    def set_due(self, due: Due) -> None:
        """Set something that falls due."""
        self.set_dues[due.key] = due
        self.cancel_dues.discard(due.key)

    def cancel_due(self, key: str) -> None:
        """Take something off the table of what falls due."""
        self.set_dues.pop(key, None)
        self.cancel_dues.add(key)

    def outcome(self) -> Outcome:
        """The outcome as written so far. Whoever is talking is answered before others are told of it."""
        changed = self.conversation != self.known.conversation
        talking = {"", self.known.person.key if self.known.person else ""}
        first = self.messages if self.in_group else sorted(self.messages, key=lambda one: one.to not in talking)
        return Outcome(
            entries=tuple(self.entries),
            people=tuple(self.people.values()),
            tubs=tuple(self.tubs.values()),
            links=tuple(self.links),
            unlinks=tuple(self.unlinks),
            handing=self.handing,
            erase=tuple(self.erase),
            used_invite=self.used_invite,
            conversation=self.conversation if changed else None,
            messages=tuple(first),
            seeks=self.seeks,
            set_dues=tuple(self.set_dues.values()),
            cancel_dues=tuple(sorted(self.cancel_dues)),
            errands=tuple(self.errands),
            rounds=tuple(self.rounds),
            round_orders=tuple(self.round_orders),
        )
