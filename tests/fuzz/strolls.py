"""Somebody walks through the conversations by taps and sensible answers, in one language; nothing hostile."""

import random
from dataclasses import dataclass, field

from bot.schedule.journal import open_plan, standing
from bot.talk.commands import FLOW_OF
from tests.fuzz.manners import Manners
from tests.fuzz.plain_words import Question, stuck
from tests.talk.cases.test_owners import OWNERS
from tests.talk.world import Actor, World

STEPS = 30
ANSWERS = {
    "fc": ("0", "1", "3", "5", "12", "<1", "1-3"), "br": ("0", "2", "6", "15"), "tc": ("3", "6"),
    "ph": ("6.2", "7.0", "7.4", "7.8", "8.4", ">8.4"), "ta": ("20", "60", "80", "120", "180", "240"),
    "ch": ("20", "150", "400"), "cya": ("20", "60", "150"), "soaks": ("0", "4"), "volume": ("1100",), "grams": ("20",),
    "log": ("yes",), "when": (), "bathers": ("3",), "minutes": ("30",), "part": ("0.5",),
}  # fmt: skip
"""What is typed where a question wants a value, by the question's name."""


@dataclass
class Stroll:
    """One walk and what was found on it."""

    language: str
    seed: int
    messages: int = 0
    looked: int = 0
    """How many of their messages were looked at, for who waits does nothing and is sent nothing anew."""
    faults: list[str] = field(default_factory=list)
    asked: set[str] = field(default_factory=set)
    tried: set[Question] = field(default_factory=set)
    """Questions to which plain words have been tried already."""


def stroll(language: str, seed: int, tried: set[Question] | None = None) -> Stroll:
    """Walk with that seed: the same walk for the same seed. `tried` is shared by walks that need not try all again."""
    chance = random.Random(f"{language}{seed}")
    walk = Stroll(language, seed, tried=set() if tried is None else tried)
    sanitizer = chance.choice(("chlorine", "chlorine", "bromine"))
    person = {"language": language, "units": chance.choice(("metric", "us") if language == "en" else ("metric",))}
    with World(language=language) as world:
        world.staff("Tom", language=language)
        if chance.random() < 0.25:
            ada = world.stranger("Ada", invite="let-me-in")
            _look(walk, world, ada.opens("let-me-in"), manners := Manners(language), "invite")
        else:
            running = chance.random() < 0.8
            volume = chance.choice((1300.0, 900.0, None))
            ada = world.owner("Ada", volume=volume, sanitizer=sanitizer, running=running, person=person)
            manners = Manners(language)
            first = _opening(chance, language)
            _look(walk, world, ada.says(first), manners, first)
        for _ in range(STEPS):
            did = _step(chance, world, ada, language)
            _look(walk, world, ada, manners, did)
    return walk


def _opening(chance: random.Random, language: str) -> str:
    own = [owner.text for owner in OWNERS if owner.lang == language]
    return chance.choice(("/" + chance.choice(sorted(FLOW_OF)), chance.choice(own), "/help"))


def _step(chance: random.Random, world: World, ada: Actor, language: str) -> str:
    asks = ada.last.asks or ""
    typed = ANSWERS.get(asks.split(".")[0], ())
    if ada.last.wait_minutes and not ada.buttons:
        world.passes(minutes=ada.last.wait_minutes + 1)
        return "time"
    if typed and chance.random() < 0.6:
        value = chance.choice(typed)
        ada.answers(asks, value)
        return f"{asks}={value}"
    if ada.buttons and chance.random() < 0.85:
        label = chance.choice(ada.buttons)
        ada.taps(label)
        return f"[{label}]"
    if chance.random() < 0.3:
        world.passes(hours=chance.choice((1, 9, 30, 200)))
        return "time"
    said = _opening(chance, language)
    ada.says(said)
    return said


def _look(walk: Stroll, world: World, ada: Actor, manners: Manners, did: str) -> None:
    person = ada.known.person
    found = open_plan(standing(world.journal(ada))) if person else None
    if person is None or person.language != manners.language:
        manners.language = person.language if person else world.dealer.language
        return
    came, walk.looked = ada.messages[walk.looked :], len(ada.messages)
    for message in came:
        walk.messages += 1
        if message.asks:
            walk.asked.add(message.asks.split(".")[0])
        faults = manners.faults(message, found[1].plan_key if found else "")
        walk.faults += [f"{fault} | after {did[:60]!r} | {message.text[:1500]!r}" for fault in faults]
    walk.faults += stuck(world, ada, manners.language, walk.tried)
